package handout_test

import (
	"math"
	"testing"
	"time"

	"clutchd/incubation/handout"
)

// A stock's labels lie on the sheet, in order, none over another; what may be
// printed on lies inside them and off the sheet's edges; and the margins left
// and right, above and below are alike.
func TestStocks(t *testing.T) {
	for _, s := range handout.Stocks() {
		var before []handout.Rect
		for i := range s.PerSheet() {
			sheet, c := s.Cell(i)
			if sheet != 0 || c.X < -1e-9 || c.Y < -1e-9 || c.X+c.Width > s.Paper.Width+1e-9 || c.Y+c.Height > s.Paper.Height+1e-9 {
				t.Errorf("%s: label %d at %+v lies off the sheet", s.Name, i, c)
			}
			in := s.Inside(c)
			if !inside(in, c) || !inside(in, handout.Rect{X: 5, Y: 5, Width: s.Paper.Width - 10, Height: s.Paper.Height - 10}) {
				t.Errorf("%s: label %d at %+v is printed on in %+v", s.Name, i, c, in)
			}
			if in.Width < 50 || in.Height < 20 {
				t.Errorf("%s: label %d leaves %.1f × %.1f to print on", s.Name, i, in.Width, in.Height)
			}
			for _, b := range before {
				if min(b.X+b.Width, c.X+c.Width)-max(b.X, c.X) > 1e-9 && min(b.Y+b.Height, c.Y+c.Height)-max(b.Y, c.Y) > 1e-9 {
					t.Errorf("%s: label %d at %+v lies over %+v", s.Name, i, c, b)
				}
			}
			before = append(before, c)
		}
		last := before[len(before)-1]
		if right := s.Paper.Width - last.X - last.Width; math.Abs(right-s.Left) > 1e-9 {
			t.Errorf("%s: margins left %.3f, right %.3f", s.Name, s.Left, right)
		}
		if below := s.Paper.Height - last.Y - last.Height; math.Abs(below-s.Top) > 1e-9 {
			t.Errorf("%s: margins above %.3f, below %.3f", s.Name, s.Top, below)
		}
		if on, c := s.Cell(s.PerSheet()); on != 1 || c != before[0] {
			t.Errorf("%s: the label after the last is on sheet %d at %+v", s.Name, on, c)
		}
		if got, ok := handout.StockNamed(s.Name); !ok || got != s {
			t.Errorf("%s is not found under its name", s.Name)
		}
	}
}

func inside(in, out handout.Rect) bool {
	return in.X >= out.X && in.Y >= out.Y && in.X+in.Width <= out.X+out.Width+1e-9 && in.Y+in.Height <= out.Y+out.Height+1e-9
}

func TestDates(t *testing.T) {
	auckland := time.FixedZone("NZDT", 13*3600)
	day := func(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 13, 0, 0, 0, time.UTC) }
	tests := []struct {
		says     string
		look     handout.Look
		from, to time.Time
		want     string
	}{
		{"one month", handout.Look{}, day(2026, 5, 3), day(2026, 5, 14), "3–14_May_2026"},
		{"one day", handout.Look{}, day(2026, 5, 3), day(2026, 5, 3), "3_May_2026"},
		{"two months", handout.Look{}, day(2026, 4, 28), day(2026, 5, 9), "28_Apr_–_9_May_2026"},
		{"two years", handout.Look{}, day(2026, 12, 28), day(2027, 1, 9), "28_Dec_2026_–_9_Jan_2027"},
		{"the room's zone", handout.Look{Zone: auckland}, day(2026, 4, 30), day(2026, 5, 9), "1–10_May_2026"},
		{"another form", handout.Look{Day: "2006-01-02"}, day(2026, 5, 3), day(2026, 5, 14), "2026-05-03_–_2026-05-14"},
		{"no end", handout.Look{}, day(2026, 5, 3), time.Time{}, "not known"},
	}
	for _, tt := range tests {
		if got := underscored(tt.look.Dates(tt.from, tt.to)); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.says, got, tt.want)
		}
	}
	dotted := handout.Look{Printed: day(2026, 3, 1), Day: "2.1.2006", Short: "2.1."}
	if got := dotted.Near(day(2026, 5, 3)); got != "3.5." {
		t.Errorf("a near day with dots is %q", got)
	}
	near := handout.Look{Printed: day(2026, 3, 1)}
	if got := underscored(near.Near(day(2026, 5, 3))); got != "3_May" {
		t.Errorf("a day of the year of printing is %q", got)
	}
	if got := underscored(near.Near(day(2027, 5, 3))); got != "3_May_2027" {
		t.Errorf("a day of another year is %q", got)
	}
}

// underscored shows spaces that do not break.
func underscored(s string) string {
	var out []rune
	for _, r := range s {
		if r == '\u00a0' {
			r = '_'
		}
		out = append(out, r)
	}
	return string(out)
}
