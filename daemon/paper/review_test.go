package paper_test

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/paper"
	"clutchd/incubation"
	"clutchd/incubation/handout"
	"clutchd/incubation/review"
)

// found is when the invented eggs were found; on gives a day after that.
var found = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

func on(days float64) time.Time { return found.Add(time.Duration(days * 24 * float64(time.Hour))) }

// lay is an invented record: a swing around a setpoint that is raised on day
// 20, a warm spell, and a gap.
func lay(days float64) review.Record {
	k := review.Record{
		From: on(-0.25), To: on(days), PointSeconds: 3 * 3600,
		Stays: []review.Stay{
			{Box: "lay", BoxName: "Lay box", From: on(-0.25), To: on(0.1)},
			{Box: "box-1", BoxName: "Box 1", Incubator: "oak", IncubatorName: "Oak", From: on(0.1), To: on(30)},
			{Box: "box-4", BoxName: "Box 4, bottom shelf", Incubator: "oak", IncubatorName: "Oak", From: on(30)},
		},
		Setpoints: []review.Setpoint{{From: on(-0.25), Celsius: 28}, {From: on(20), Celsius: 31.5}},
		Gaps:      []review.Gap{{From: on(33), To: on(34.5), Seconds: 1.5 * 86400}},
		Limits: []review.Limit{
			{Rule: "too-warm", Title: "Too warm", High: true, Celsius: 29.5, From: on(0.1), To: on(20)},
			{Rule: "too-warm", Title: "Too warm", High: true, Celsius: 33, From: on(20), To: on(days)},
			{Rule: "runaway-heat", Title: "Runaway heat", High: true, Celsius: 34.5, From: on(-0.25), To: on(days)},
			{Rule: "heater-off", Title: "Heater off?", Celsius: 22, From: on(-0.25), To: on(days)},
		},
		Excursions: []review.Excursion{{From: on(12), To: on(12.3), Seconds: 0.3 * 86400, High: true, Worst: 31.2}},
	}
	for at := k.From; at.Before(k.To); at = at.Add(3 * time.Hour) {
		d := at.Sub(found).Hours() / 24
		c := 28 + 0.3*math.Sin(2*math.Pi*d)
		switch {
		case d >= 33 && d < 34.5:
			continue
		case d >= 12 && d < 12.3:
			c = 31
		case d < 0.1:
			c = 26.5
		case d >= 20:
			c += 3.5
		}
		k.Points = append(k.Points, review.Point{
			Time: at, Low: incubation.Celsius(c - 0.25), Mean: incubation.Celsius(c), High: incubation.Celsius(c + 0.2), N: 180,
		})
	}
	return k
}

// invented is the review of a clutch whose eggs were told the same and ended
// apart; nothing in it is a claim about geckos.
func invented(records int) handout.Review {
	r := handout.Review{
		Paper: handout.A4(), Look: handout.Look{Printed: on(52), Site: "Back room"},
		URL: "http://192.168.178.24:8080/clutches/saffron-3", Title: "Review of clutch saffron-3",
		About: "Back room · Eublepharis macularius · as of 23 Apr 2026",
		Facts: []handout.Fact{
			{Name: "Dam", Text: "Saffron, hatched 2023, 61 g on 20 Feb"},
			{Name: "Possible sires", Text: "Basalt, paired 4 Feb, 26 days before"},
			{Name: "Laid", Text: "1–2 Mar, in Lay box; last looked 1 Mar 20:00, found 2 Mar 08:00"},
		},
		Cautions: []string{incubation.Caution},
		Said: []string{
			"The estimate of an egg that ended is made from its record alone, by the model as it ships, and has not seen what came of it.",
			"No reading speaks for 3 % of the time; what the eggs lay at then is not known.",
		},
	}
	r.Of = review.Review{Clutch: "saffron-3", Made: on(52), Laid: review.Laid{From: on(-0.5), To: found}}
	rows := []handout.Row{
		{Name: "What came of it"},
		{Name: "Hatch, as estimated", Alike: "likely 17 Apr (90 %: 13–22 Apr)"},
		{Name: "Sex, as estimated", Alike: "more likely male, not sure: male 71 % (48–88 %)"},
		{Name: "Sex, as seen"},
		{Name: "TSP opened", Alike: "19 Mar, day 17 (17–22 Mar)"},
		{Name: "The sex rests on", Alike: "96 % measured, 4 % gap"},
	}
	for i := range 2 * records {
		mark, days := string(rune('A'+i)), 47.2+0.9*float64(i)
		e := review.Egg{
			ID: mark, Mark: mark, State: incubation.Hatched, Record: i / 2, Ended: on(days), Days: days + 0.25,
			TSP: &review.TSPSpan{
				Opens:  review.TimeSpan{Likely: on(17), Low: on(15), High: on(20)},
				Closes: review.TimeSpan{Likely: on(31), Low: on(27), High: on(36)},
			},
			Against: &review.Against{Inside: true},
		}
		for d := 7.0; d < days; d += 7 {
			room := 14 - d/5
			e.Course = append(e.Course, review.Forecast{
				Time: on(d), Day: d, Male: 0.3 + d/110, Low: 0.1 + d/120, High: min(1, 0.7+d/200),
				Hatch: incubation.HatchSpan{Earliest: on(50 - room/2 - d/15), Likely: on(50 - d/15), Latest: on(50 + room - d/15)},
			})
		}
		r.Of.Eggs = append(r.Of.Eggs, e)
		r.Marks = append(r.Marks, "Egg "+mark)
		rows[0].Cells = append(rows[0].Cells, fmt.Sprintf("hatched %s, day %.0f", r.Look.Near(e.Ended), days))
		rows[3].Cells = append(rows[3].Cells, "not looked at")
	}
	r.Rows = rows
	for i := range records {
		r.Of.Records = append(r.Of.Records, lay(48+float64(i)))
		r.Lain = append(r.Lain, handout.Lain{
			Title: fmt.Sprintf("What eggs %s and %s lay at", r.Of.Eggs[2*i].Mark, r.Of.Eggs[2*i+1].Mark),
			Sums:  "Lowest 26.3 °C, mean 29.7 °C, highest 32.0 °C.",
			Excursions: []handout.Excursion{
				{When: "14 Mar 08:00", Lasted: "7.2 h", Worst: "31.2 °C", Limit: "Too warm: from 29.5 °C"},
			},
			More:   "2 more were too short to raise an alert.",
			Stays:  []handout.Line{{When: "2 Mar 10:24 – 1 Apr 08:00", What: "Oak / Box 1"}, {When: "since 1 Apr 08:00", What: "Oak / Box 4, bottom shelf"}},
			Probes: []handout.Line{{When: "since 2 Mar 10:24", What: "w1-28-04b2", Note: "in the substrate, calibrated, right to within 0.2 K"}},
			Gaps:   []handout.Line{{When: "4 Apr 08:00 – 5 Apr 20:00", What: "36.0 h"}},
		})
		r.Courses = append(r.Courses, handout.Course{
			Title: fmt.Sprintf("Eggs %s and %s", r.Of.Eggs[2*i].Mark, r.Of.Eggs[2*i+1].Mark), Egg: 2 * i, Ends: []int{2 * i, 2*i + 1},
		})
	}
	for i := range 4 * records {
		r.Written = append(r.Written, handout.Line{When: r.Look.Near(on(float64(10 * i))), Note: "A", What: "candled: alive, veins"})
	}
	return r
}

func printedReview(t testing.TB, r handout.Review) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := (paper.Printer{}).Review(&out, r); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestReviewSays(t *testing.T) {
	r := invented(1)
	r.Note = "Not over yet: an egg of this clutch still lives."
	p := onPaper(t, printedReview(t, r))
	p.holds("Review of clutch saffron-3", "Not over yet", incubation.Caution[:60], "Basalt, paired 4 Feb", "Egg A", "Egg B",
		"hatched 18 Apr, day 47", "likely 17 Apr (90 %: 13–22 Apr)", "What eggs A and B lay at", "TSP", "A hatched", "B hatched",
		"day 14", "14 Mar 08:00", "7.2 h", "Too warm: from 29.5 °C", "2 more were too short", "Oak / Box 4, bottom shelf",
		"w1-28-04b2", "36.0 h", "The estimate on the way", "Chance of a male", "Hatch, day after laying", "candled: alive, veins",
		"How to read this", "has not seen what came of it", "no readings")
	if got := p.codes(1, 150, []handout.Rect{{X: 100, Width: 110, Height: 60}}); got[0] != r.URL {
		t.Errorf("the code says %q", got)
	}
}

// Two pages at most, on either paper, whatever the clutch; nothing in the
// margin.
func TestReviewFits(t *testing.T) {
	long := invented(1)
	long.Title += strings.Repeat(" of the long name", 12)
	long.Rows[0].Cells[1] = strings.Repeat("lost, collapsed, mould on one side ", 6)
	for i := range 60 {
		long.Lain[0].Excursions = append(long.Lain[0].Excursions, long.Lain[0].Excursions[0])
		long.Written = append(long.Written, handout.Line{When: "1 Apr", Note: "A, B", What: fmt.Sprintf("looked at, %d", i)})
	}
	empty := invented(1)
	empty.Of.Records[0] = review.Record{From: on(0), To: on(40)}
	empty.Of.Eggs[0].Course, empty.Of.Eggs[0].TSP, empty.Lain = nil, nil, nil
	tests := []struct {
		says   string
		review handout.Review
		text   string
	}{
		{"two eggs", invented(1), "day 28"},
		{"eggs that lay apart", invented(2), "What eggs C and D lay at"},
		{"long names and lists", long, "more: in the files"},
		{"no reading at all", empty, "No reading speaks for this time."},
	}
	for _, tt := range tests {
		for _, sheet := range handout.Papers() {
			t.Run(tt.says+" on "+sheet.Name, func(t *testing.T) {
				t.Parallel()
				r := tt.review
				r.Paper, r.Look.Fahrenheit = sheet, sheet.Name == "Letter"
				p := onPaper(t, printedReview(t, r))
				if n := p.pages(); n > 2 {
					t.Errorf("%d pages", n)
				}
				p.holds(tt.text)
				frame := handout.Rect{X: 10, Y: 10, Width: sheet.Width - 20, Height: sheet.Height - 20}
				for n := range p.pages() {
					if dots := p.ink(n+1, 90).outside([]handout.Rect{frame}); dots > 0 {
						t.Errorf("%d dots on page %d lie in the margin", dots, n)
					}
				}
				for _, w := range p.words() {
					if !within(w.at, frame) {
						t.Errorf("%q at %.1f, %.1f on page %d lies in the margin", w.text, w.at.X, w.at.Y, w.page)
					}
				}
			})
		}
	}
}

// The line stops at a gap and does not cross it; where readings are, it is
// there. Looked at dot by dot, in the middle of the chart's height.
func TestReviewShowsAGapAsOne(t *testing.T) {
	r := invented(1)
	r.Of.Records[0].Limits, r.Of.Records[0].Setpoints, r.Of.Records[0].Stays, r.Of.Eggs[0].TSP = nil, nil, nil, nil
	whole := r
	whole.Of.Records = slices.Clone(r.Of.Records)
	k := &whole.Of.Records[0]
	k.Gaps = nil
	black := func(r handout.Review) int {
		n := 0
		for _, d := range onPaper(t, printedReview(t, r)).ink(1, 100).dots {
			if d < 80 {
				n++
			}
		}
		return n
	}
	// Without the gap the same points are joined across it: more ink.
	r.Of.Records[0].Gaps[0].From, r.Of.Records[0].Gaps[0].To = on(33), on(34.5)
	if with, without := black(r), black(whole); without <= with {
		t.Errorf("%d dark dots with a gap, %d without", with, without)
	}
}

func TestReviewTwice(t *testing.T) {
	if !bytes.Equal(printedReview(t, invented(2)), printedReview(t, invented(2))) {
		t.Error("the same review gave other bytes")
	}
}

// Numbers that no room has make no chart that fails.
func FuzzReview(f *testing.F) {
	f.Add("Saffron", 28.0, 47.0, 31.0)
	f.Add("さくら", math.Inf(1), -5.0, math.NaN())
	f.Add("", -273.0, 0.0, 1e300)
	f.Fuzz(func(t *testing.T, name string, celsius, days, limit float64) {
		r := invented(1)
		r.Title, r.Marks[0], r.Facts[0].Text = name, name, name
		k := &r.Of.Records[0]
		k.Points[3].Mean, k.Points[4].High = incubation.Celsius(celsius), incubation.Celsius(celsius)
		k.Limits[0].Celsius, k.Stays[1].BoxName = incubation.Celsius(limit), name
		if math.Abs(days) < 4000 {
			k.To, r.Of.Eggs[0].Ended, r.Of.Eggs[0].Days = on(days), on(days), days
		}
		r.Of.Eggs[0].Course[2].Male = celsius
		printedReview(t, r)
	})
}
