package paper_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/daemon/paper"
	"clutchd/incubation"
	"clutchd/incubation/handout"
)

func day(month time.Month, d int) time.Time {
	return time.Date(2026, month, d, 10, 0, 0, 0, time.UTC)
}

func at(c incubation.Celsius) *incubation.Celsius { return &c }

// awkward are names that a form may send.
func awkward() []string {
	return []string{
		"Pepper", "Olive the Second of Upper Rack Seven, daughter of Marigold and Ajax", "Świętosława",
		"Ἀφροδίτη", "Жемчужина", "さくら", strings.Repeat("Wurmfortsatz", 30), "F-017 🦎 \U0001F468\u200d\U0001F33E",
		"a\tb\nc\x00d\u202ee", "\xff\xfe broken", "نجمة", "", "ﬁligree e\u0301clair",
	}
}

func boxes(n int) []handout.Box {
	var out []handout.Box
	for i := range n {
		b := handout.Box{
			Clutch: fmt.Sprintf("Clutch %d", i+1), Dam: awkward()[i%len(awkward())], Eggs: []string{"A", "B"},
			In:    "Incubator 1 / Box 3",
			Laid:  incubation.Laying{From: day(2, 27), To: day(3, 2)},
			Plan:  handout.Plan{Setpoint: at(28)},
			Hatch: handout.Window{Earliest: day(4, 28), Latest: day(5, 9)},
			URL:   fmt.Sprintf("http://192.168.178.24:8080/clutches/clutch-%d", i+1),
		}
		if i%3 == 0 {
			b.Steps = []handout.Step{{At: day(3, 20), Celsius: at(32)}, {At: day(4, 2), Says: "move to Incubator 2"}}
		}
		out = append(out, b)
	}
	return out
}

func labels(t *testing.T, l handout.Labels) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := (paper.Printer{}).Labels(&out, l); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func stock(t *testing.T, name string) handout.Stock {
	t.Helper()
	s, ok := handout.StockNamed(name)
	if !ok {
		t.Fatalf("there is no stock %s", name)
	}
	return s
}

func TestLabelSays(t *testing.T) {
	l := handout.Labels{
		Stock: stock(t, "A4-2x7"), Look: handout.Look{Printed: day(3, 14)}, Boxes: boxes(1),
		Slots: []handout.Slot{{Name: "Slot 4", Rack: "Rack A", URL: "http://192.168.178.24:8080/slots/slot-4"}},
	}
	p := onPaper(t, labels(t, l))
	p.holds("Pepper", "Eggs A B · Clutch 1", "Laid 27 Feb – 2 Mar 2026", "Set to 28.0 °C; 20 Mar: 32.0 °C",
		"move to Incubator 2", "Hatch 28 Apr – 9 May 2026", "by the record so far, printed 14 Mar 2026",
		"Incubator 1 / Box 3", "Slot 4", "Rack A")
	if n := p.pages(); n != 1 {
		t.Errorf("%d pages for two labels", n)
	}

	l.Look.Fahrenheit, l.Look.Day = true, "01/02/2006"
	l.Boxes[0].Hatch, l.Boxes[0].Dam = handout.Window{}, " "
	p = onPaper(t, labels(t, l))
	p.holds("Set to 82.4 °F; 03/20/2026: 89.6 °F", "Laid 02/27/2026 – 03/02/2026", "Hatch not known yet",
		"printed 03/14/2026", "Clutch 1 Eggs A B")
	if strings.Contains(p.text(), "by the record so far") {
		t.Error("a label without a window says what its window rests on")
	}
}

// Every stock, with names that no label has room for: what is drawn stays in
// the part of each label that can be printed on, as pdftotext measures its
// words and as the dots of the page show, codes and all.
func TestLabelsStayInside(t *testing.T) {
	for _, s := range handout.Stocks() {
		t.Run(s.Name, func(t *testing.T) {
			t.Parallel()
			l := handout.Labels{Stock: s, First: 3, Look: handout.Look{Printed: day(3, 14)}, Boxes: boxes(len(awkward()))}
			p := onPaper(t, labels(t, l))
			cells := map[int][]handout.Rect{}
			for i := range l.Boxes {
				on, c := s.Cell(2 + i)
				cells[on] = append(cells[on], s.Inside(c))
			}
			if n := p.pages(); n != len(cells) {
				t.Errorf("%d pages, want %d", n, len(cells))
			}
			for _, w := range p.words() {
				if !slices.ContainsFunc(cells[w.page], func(r handout.Rect) bool { return within(w.at, r) }) {
					t.Errorf("%q at %.1f, %.1f on page %d lies in no label", w.text, w.at.X, w.at.Y, w.page)
				}
			}
			for on, rects := range cells {
				if n := p.ink(on+1, 100).outside(rects); n > 0 {
					t.Errorf("%d dots on page %d lie in no label", n, on)
				}
			}
		})
	}
}

// within reports whether a word lies in a rectangle. pdftotext measures from
// the typeface's ascent to its descent, which is more than its letters take:
// a fifth of its height is let pass above and below.
func within(w, r handout.Rect) bool {
	const hair = 0.1
	grace := 0.2*w.Height + hair
	return w.X >= r.X-hair && w.X+w.Width <= r.X+r.Width+hair &&
		w.Y >= r.Y-grace && w.Y+w.Height <= r.Y+r.Height+grace
}

func TestLabelCodes(t *testing.T) {
	tests := []struct {
		says, stock string
		labels, dpi int
	}{
		{"thirty of the smallest labels on one sheet", "Letter-3x10", 30, 300},
		{"a sheet that is printed up to its edges", "A4-3x8", 24, 300},
		{"the largest labels, read from afar", "A4-2x4", 8, 110},
	}
	for _, tt := range tests {
		t.Run(tt.says, func(t *testing.T) {
			t.Parallel()
			l := handout.Labels{Stock: stock(t, tt.stock), CutMarks: true, Look: handout.Look{Printed: day(3, 14)}, Boxes: boxes(tt.labels)}
			var want []string
			var cells []handout.Rect
			for i, b := range l.Boxes {
				_, c := l.Stock.Cell(i)
				want, cells = append(want, b.URL), append(cells, c)
			}
			if diff := cmp.Diff(want, onPaper(t, labels(t, l)).codes(1, tt.dpi, cells)); diff != "" {
				t.Errorf("what the codes say (-want +got):\n%s", diff)
			}
		})
	}
}

// A sheet that was begun: labels start where the last ones ended, and go on
// over as many sheets as they need.
func TestLabelsBegin(t *testing.T) {
	s := stock(t, "A4-3x7")
	l := handout.Labels{Stock: s, First: 20, Look: handout.Look{Printed: day(3, 14)}, Boxes: boxes(4), Down: 1.5}
	for i := range l.Boxes {
		l.Boxes[i].Dam = fmt.Sprintf("Dam%d", i)
	}
	p := onPaper(t, labels(t, l))
	if n := p.pages(); n != 2 {
		t.Errorf("%d pages, want 2: two labels are left on the first", n)
	}
	found := 0
	for _, w := range p.words() {
		n := 0
		if _, err := fmt.Sscanf(w.text, "Dam%d", &n); err != nil {
			continue
		}
		found++
		on, c := s.Cell(19 + n)
		if c.Y += l.Down; on != w.page || !within(w.at, c) {
			t.Errorf("%s is on page %d at %.1f, %.1f, want page %d in %+v", w.text, w.page, w.at.X, w.at.Y, on, c)
		}
	}
	if found != 4 {
		t.Errorf("%d labels found, want 4", found)
	}
}

func TestLabelsRefused(t *testing.T) {
	ok := handout.Labels{Stock: stock(t, "A4-3x7"), Boxes: boxes(1)}
	tests := []struct {
		says   string
		change func(*handout.Labels)
	}{
		{"nothing to print", func(l *handout.Labels) { l.Boxes = nil }},
		{"a first label that the sheet does not have", func(l *handout.Labels) { l.First = 22 }},
		{"no stock", func(l *handout.Labels) { l.Stock = handout.Stock{} }},
		{"more than anybody can mean", func(l *handout.Labels) { l.Boxes = boxes(2001) }},
		{"a sheet of no size", func(l *handout.Labels) { l.Stock.Paper.Width = 0 }},
	}
	for _, tt := range tests {
		l := ok
		tt.change(&l)
		var out bytes.Buffer
		if err := (paper.Printer{}).Labels(&out, l); err == nil || out.Len() > 0 {
			t.Errorf("%s: printed %d bytes, error %v", tt.says, out.Len(), err)
		}
	}
}

func TestSameBytesTwice(t *testing.T) {
	l := handout.Labels{Stock: stock(t, "A4-3x7"), Look: handout.Look{Printed: day(3, 14)}, Boxes: boxes(9), CutMarks: true}
	if !bytes.Equal(labels(t, l), labels(t, l)) {
		t.Error("the same labels gave other bytes")
	}
	was := labels(t, l)
	l.Look.Printed = day(3, 15)
	if bytes.Equal(was, labels(t, l)) {
		t.Error("the day of printing leaves no trace")
	}
}

// Names as people have them are on the paper letter by letter, in both
// weights; of writing that the typeface lacks, a mark stands for each
// character.
func TestForeignNames(t *testing.T) {
	l := handout.Labels{Stock: stock(t, "A4-2x4"), Look: handout.Look{Printed: day(3, 14)}}
	tests := []struct{ says, name, want string }{
		{"Polish", "Świętosława Żółć", "Świętosława Żółć"},
		{"Greek", "Ἀφροδίτη Ωμέγα", "Ἀφροδίτη Ωμέγα"},
		{"Cyrillic", "Жемчужина Їжак", "Жемчужина Їжак"},
		{"Turkish and Vietnamese", "İğde Nguyễn", "İğde Nguyễn"},
		{"Japanese is lacking", "さくら F-1", "▯▯▯ F-1"},
		{"above the basic plane", "Lizard 🦎", "Lizard ▯"},
		{"a joiner has no shape", "a\u200db\u202ec", "abc"},
		{"white space is a space", "a\t\nb", "a b"},
		{"broken bytes", "a\xffb", "a\ufffdb"},
	}
	for _, tt := range tests {
		l.Boxes = append(l.Boxes, handout.Box{Dam: tt.name, In: "in " + tt.name})
	}
	p := onPaper(t, labels(t, l))
	for _, tt := range tests {
		t.Run(tt.says, func(t *testing.T) {
			p.t = t
			p.holds(tt.want, "in "+tt.want)
		})
	}
}

// Whatever a name holds, something is printed.
func FuzzNames(f *testing.F) {
	for _, n := range awkward() {
		f.Add(n, n, "A", n)
	}
	f.Fuzz(func(t *testing.T, dam, clutch, mark, url string) {
		l := handout.Labels{Stock: handout.Stocks()[0], Boxes: []handout.Box{{
			Dam: dam, Clutch: clutch, Eggs: []string{mark}, URL: url, Plan: handout.Plan{Steps: []handout.Step{{Says: dam}}},
		}}, Slots: []handout.Slot{{Name: dam, Rack: clutch, URL: url}}}
		l.Look.Site = dam
		var out bytes.Buffer
		if err := (paper.Printer{}).Labels(&out, l); err != nil {
			t.Fatal(err)
		}
		if !bytes.HasPrefix(out.Bytes(), []byte("%PDF-")) {
			t.Error("what is printed is no PDF")
		}
	})
}
