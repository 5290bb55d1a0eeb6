package paper_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"clutchd/alerts"
	"clutchd/daemon/paper"
	"clutchd/incubation/handout"
)

func room(boxes int) handout.Sheet {
	s := handout.Sheet{
		Paper: handout.A4(), Look: handout.Look{Printed: day(3, 14), Site: "Gecko room"},
		URL: "http://192.168.178.24:8080/",
	}
	for k := range 3 {
		c := handout.Cabinet{Name: fmt.Sprintf("Incubator %d", k+1), Plan: handout.Plan{Setpoint: at(28)}}
		if k == 1 {
			c.Steps = []handout.Step{{At: day(3, 20), Celsius: at(32)}}
		}
		for i := range boxes {
			c.Boxes = append(c.Boxes, handout.Stands{
				Name: fmt.Sprintf("Box %d", i+1), Eggs: "Pepper A B, Olive A",
				Hatch: handout.Window{Earliest: day(4, 3), Latest: day(4, 14)},
			})
		}
		s.Incubators = append(s.Incubators, c)
	}
	s.Others = []handout.Kept{{Name: "Terrarium 1", Holds: "Pepper", Low: at(22), High: at(33)}}
	for _, r := range alerts.Rules() {
		if r.About == alerts.PlaceSubject {
			s.Alerts = append(s.Alerts, handout.Meaning{
				Title: r.Title, Severity: string(r.Severity), When: r.Condition(alerts.InCelsius), First: r.Text.First,
			})
		}
	}
	return s
}

func sheet(t *testing.T, s handout.Sheet) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := (paper.Printer{}).Sheet(&out, s); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestSheetSays(t *testing.T) {
	s := room(2)
	s.Call = []string{"Ines 0170 1234567", "Dr. Okafor, vet"}
	p := onPaper(t, sheet(t, s))
	p.holds("Looking after the room", "Gecko room · as of 14 Mar 2026", "Whom to call", "Ines 0170 1234567", "Dr. Okafor, vet",
		"Turn no egg", "Cut no shell", "Pull no eggs apart", "over-temperature cut-out", "Nothing can be heated or cooled from a phone",
		"keep incubators shut and wrap them", "call the vet", "Salmonella",
		"Incubator 2", "set to 28.0 °C; 20 Mar: 32.0 °C", "Pepper A B, Olive A", "hatch 3–14 Apr 2026", "22.0 to 33.0 °C",
		"Any other message")
	for _, m := range s.Alerts {
		p.holds(m.Title)
	}
	if text := p.text(); strings.Contains(text, "Electrician") {
		t.Error("lines to write on are printed though somebody is to be called")
	}
	if s.Call = nil; true {
		onPaper(t, sheet(t, s)).holds("Keeper", "Vet", "Electrician")
	}
}

// The sheet takes two pages at most, on either paper, for a few boxes and for
// more than it can name; and says so where it leaves some out.
func TestSheetFits(t *testing.T) {
	tests := []struct {
		says  string
		boxes int
		paper handout.Paper
		cut   bool
	}{
		{"a small room", 1, handout.A4(), false},
		{"a small room on Letter", 1, handout.Letter(), false},
		{"thirty boxes", 10, handout.A4(), false},
		{"more boxes than a sheet names", 60, handout.Letter(), true},
	}
	for _, tt := range tests {
		t.Run(tt.says, func(t *testing.T) {
			t.Parallel()
			s := room(tt.boxes)
			s.Paper = tt.paper
			p := onPaper(t, sheet(t, s))
			if n := p.pages(); n > 2 {
				t.Errorf("%d pages", n)
			}
			if got := strings.Contains(p.text(), "more boxes: see the pages"); got != tt.cut {
				t.Errorf("boxes left out: %t, want %t", got, tt.cut)
			}
			frame := handout.Rect{X: 10, Y: 10, Width: tt.paper.Width - 20, Height: tt.paper.Height - 20}
			for _, w := range p.words() {
				if !within(w.at, frame) {
					t.Errorf("%q at %.1f, %.1f on page %d lies in the margin", w.text, w.at.X, w.at.Y, w.page)
				}
			}
			for n := range p.pages() {
				if dots := p.ink(n+1, 100).outside([]handout.Rect{frame}); dots > 0 {
					t.Errorf("%d dots on page %d lie in the margin", dots, n)
				}
			}
			if got := p.codes(1, 150, []handout.Rect{{Width: tt.paper.Width, Height: 80}}); got[0] != s.URL {
				t.Errorf("the code says %q, want %q", got, s.URL)
			}
		})
	}
}

func TestSheetTwice(t *testing.T) {
	if !bytes.Equal(sheet(t, room(3)), sheet(t, room(3))) {
		t.Error("the same sheet gave other bytes")
	}
}

// Whatever is typed onto the sheet, it is printed.
func FuzzSheet(f *testing.F) {
	for _, n := range awkward() {
		f.Add(n, n, uint8(3))
	}
	f.Fuzz(func(t *testing.T, name, call string, boxes uint8) {
		s := room(int(boxes % 8))
		s.Call, s.URL, s.Look.Site = []string{call}, name, name
		s.Incubators[0].Name, s.Others[0].Holds, s.Alerts[0].First = name, name, call
		sheet(t, s)
	})
}
