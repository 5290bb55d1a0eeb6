package web_test

import (
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/daemon/web"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/handout"
)

// A press keeps what it was given instead of printing it.
type press struct {
	labels  []handout.Labels
	sheets  []handout.Sheet
	reviews []handout.Review
}

func (p *press) Labels(w io.Writer, l handout.Labels) error {
	p.labels = append(p.labels, l)
	_, err := fmt.Fprint(w, "%PDF-labels")
	return err
}

func (p *press) Sheet(w io.Writer, s handout.Sheet) error {
	p.sheets = append(p.sheets, s)
	_, err := fmt.Fprint(w, "%PDF-sheet")
	return err
}

func (p *press) Review(w io.Writer, r handout.Review) error {
	p.reviews = append(p.reviews, r)
	_, err := fmt.Fprint(w, "%PDF-review")
	return err
}

// isPDF fails unless the answer is one, named and dated.
func isPDF(t *testing.T, got *http.Response, body, name string) {
	t.Helper()
	if got.StatusCode != http.StatusOK || got.Header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(body, "%PDF-") {
		t.Fatalf("answer %d of type %q: %.200s", got.StatusCode, got.Header.Get("Content-Type"), body)
	}
	if p := got.Header.Get("Content-Security-Policy"); p != "frame-ancestors 'none'" {
		t.Errorf("a viewer gets the policy %q", p)
	}
	if d := got.Header.Get("Content-Disposition"); d != `inline; filename="`+name+`"` {
		t.Errorf("it is called %s", d)
	}
}

// A label says of each box what stands in the book and in the estimate.
func TestLabelsSayWhatTheRoomKnows(t *testing.T) {
	s := open(t)
	s.snap.Book.Plans["tin"] = []book.PlanStep{{At: noon.Add(-time.Hour), Celsius: 27}, {At: days(3), Celsius: 29}}
	w := s.ask("GET", "/labels.pdf?clutch=k3&slot=pepper&sheet=A4-2x7&first=3&cut=yes&down=-1,5&address=https://gecko.example/", "")
	isPDF(t, w.Result(), w.Body.String(), "clutchd-labels-2026-06-14.pdf")
	got := s.press.labels[0]
	stock, _ := handout.StockNamed("A4-2x7")
	window := func(i int) handout.Window {
		h := s.snap.Clutches[1].Eggs[i].Hatch
		return handout.Window{Earliest: h.Earliest, Latest: h.Latest}
	}
	laid := incubation.Laying{From: s.snap.Clutches[1].Laid.From, To: s.snap.Clutches[1].Laid.To}
	want := handout.Labels{
		Look:  handout.Look{Zone: s.options.Zone, Printed: noon, Site: "Back room", Day: "2 Jan 2006", Short: "2 Jan"},
		Stock: stock, First: 3, CutMarks: true, Down: -1.5,
		Boxes: []handout.Box{{
			Clutch: "Clutch k3", Dam: "Juniper", Eggs: []string{"A"}, In: "Oak cabinet / Box 2, bottom", Laid: laid,
			Plan: handout.Plan{Setpoint: ptr(incubation.Celsius(31.5)), Steps: []handout.Step{
				{At: s.snap.Book.When("k3-a", book.PlanStep{Day: 24}), Celsius: ptr(incubation.Celsius(28))},
			}},
			Hatch: window(0), URL: "https://gecko.example/clutches/k3",
		}, {
			Clutch: "Clutch k3", Dam: "Juniper", Eggs: []string{"B"}, In: "Tin cabinet / Box 3", Laid: laid,
			Plan:  handout.Plan{Setpoint: ptr(incubation.Celsius(28)), Steps: []handout.Step{{At: days(3), Celsius: ptr(incubation.Celsius(29))}}},
			Hatch: window(1), URL: "https://gecko.example/clutches/k3",
		}},
		Slots: []handout.Slot{{Name: "Enclosure of Pepper", URL: "https://gecko.example/slots/pepper"}},
	}
	zones := cmp.Comparer(func(a, b *time.Location) bool { return a.String() == b.String() })
	if diff := cmp.Diff(want, got, zones); diff != "" {
		t.Errorf("what is printed (-want +got):\n%s", diff)
	}
}

func TestLabelsChosen(t *testing.T) {
	const ok = "sheet=A4-3x7&first=1&address=http://gecko.local:8080"
	tests := []struct {
		says, query  string
		boxes, slots int
		complaint    string
	}{
		{"one box by its first egg", ok + "&box=k2-a", 1, 0, ""},
		{"a clutch that lies apart has two labels", ok + "&clutch=k3", 2, 0, ""},
		{"all boxes", ok + "&all=box", 4, 0, ""},
		{"all slots", ok + "&all=slot", 0, 1, ""},
		{"nothing chosen", ok, 0, 0, "Choose at least one label."},
		{"a clutch whose eggs have hatched or failed", ok + "&clutch=k1", 0, 0, "Choose at least one label."},
		{"no sheet", "first=1&address=http://gecko.local:8080&all=box", 0, 0, "Choose a sheet of labels."},
		{"a label that the sheet does not have", strings.Replace(ok, "first=1", "first=22", 1) + "&all=box", 0, 0, "22 is outside 1 to 21"},
		{"half a label", strings.Replace(ok, "first=1", "first=1.5", 1) + "&all=box", 0, 0, "a whole number from 1 to 21 is wanted"},
		{"an address without a scheme", "sheet=A4-3x7&first=1&address=gecko.local&all=box", 0, 0, "Write the address as"},
		{"an address of something else", "sheet=A4-3x7&first=1&address=ftp://gecko.local&all=box", 0, 0, "Write the address as"},
		{"an address with a password", "sheet=A4-3x7&first=1&address=http://a:b@gecko.local&all=box", 0, 0, "Write the address as"},
		{"an address too long for a code", "sheet=A4-3x7&first=1&all=box&address=http://" + strings.Repeat("a", 120), 0, 0, "Write the address as"},
		{"a shift across the sheet", ok + "&all=box&right=60", 0, 0, "60 is outside -10 to 10"},
	}
	for _, tt := range tests {
		t.Run(tt.says, func(t *testing.T) {
			s := open(t)
			w := s.ask("GET", "/labels.pdf?"+tt.query, "")
			if tt.complaint != "" {
				if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), tt.complaint) || len(s.press.labels) > 0 {
					t.Errorf("answer %d, want 422 with %q", w.Code, tt.complaint)
				}
				return
			}
			if len(s.press.labels) != 1 {
				t.Fatalf("answer %d, nothing printed", w.Code)
			}
			if l := s.press.labels[0]; len(l.Boxes) != tt.boxes || len(l.Slots) != tt.slots {
				t.Errorf("%d boxes and %d slots, want %d and %d", len(l.Boxes), len(l.Slots), tt.boxes, tt.slots)
			}
		})
	}
}

// The next labels begin where the last ones ended, on the same sheet.
func TestLabelsGoOnWhereTheyEnded(t *testing.T) {
	s := open(t)
	w := s.ask("GET", "/labels.pdf?sheet=Letter-2x5&first=9&cut=yes&all=box&address=http://gecko.local", "")
	cookie := w.Result().Cookies()[0]
	page := s.ask("GET", "/labels", "", "Cookie", cookie.Name+"="+cookie.Value).Body.String()
	for _, want := range []string{`value="Letter-2x5" selected`, `name="first" type="text" value="3"`, `name="cut" value="yes" checked`} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not hold %s", want)
		}
	}
	w = s.ask("GET", "/clutches/k2/label.pdf", "", "Cookie", cookie.Name+"="+cookie.Value, "Host", "localhost:8080")
	isPDF(t, w.Result(), w.Body.String(), "clutchd-label-2026-06-14.pdf")
	l := s.press.labels[1]
	if l.Stock.Name != "Letter-2x5" || l.First != 3 || len(l.Boxes) != 1 || l.Boxes[0].URL != "http://localhost:8080/clutches/k2" {
		t.Errorf("printed on %s from %d: %+v", l.Stock.Name, l.First, l.Boxes)
	}
	for _, broken := range []string{"", "A4-3x7", "A4-3x7 99 cut", "none 1 cut", "A4-3x7 x cut"} {
		page := s.ask("GET", "/labels", "", "Cookie", cookie.Name+"="+broken).Body.String()
		if !strings.Contains(page, `name="first" type="text" value="1"`) {
			t.Errorf("after the cookie %q labels do not begin at 1", broken)
		}
	}
}

func TestLabelsWarnOfAnAddressThatNoPhoneReaches(t *testing.T) {
	const warns = "a phone that reads the code finds nothing"
	s := open(t)
	if !strings.Contains(s.ask("GET", "/labels", "").Body.String(), warns) {
		t.Error("codes would lead to 127.0.0.1 and the page does not say so")
	}
	if strings.Contains(s.ask("GET", "/labels?address=http://192.168.1.20", "").Body.String(), warns) {
		t.Error("an address in the house is warned of")
	}
}

func TestLabelsSayWhenEstimatesAreNotThereYet(t *testing.T) {
	const waits = "Estimates are still being worked out"
	s := open(t)
	if strings.Contains(s.ask("GET", "/labels", "").Body.String(), waits) {
		t.Error("the page waits for estimates that are there")
	}
	s.snap.Clutches[0].Eggs[0].Computing, s.snap.Clutches[0].Eggs[0].Estimate = true, nil
	if !strings.Contains(s.ask("GET", "/labels", "").Body.String(), waits) {
		t.Error("a hatch would be printed as not known and the page does not say why")
	}
}

func TestPrintingNeedsAPress(t *testing.T) {
	s := open(t, func(o *web.Options) { o.Press = nil })
	for _, path := range []string{"/labels", "/labels.pdf", "/sheet", "/clutches/k2/label.pdf"} {
		if w := s.ask("GET", path, ""); w.Code != http.StatusNotFound {
			t.Errorf("%s answers %d where nothing can be printed", path, w.Code)
		}
	}
	if w := open(t).ask("GET", "/clutches/none/label.pdf", ""); w.Code != http.StatusNotFound {
		t.Errorf("the label of no clutch answers %d", w.Code)
	}
}

func TestLabelsOfAnEmptyRoom(t *testing.T) {
	s := open(t)
	s.snap.Places, s.snap.Clutches = nil, nil
	if page := s.ask("GET", "/labels", "").Body.String(); !strings.Contains(page, "Write down a laying") || strings.Contains(page, "<form method=\"get\"") {
		t.Error("an empty room's page does not say how to begin")
	}
}
