package web_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"clutchd/daemon/web"
	"clutchd/incubation/handout"
)

// What is printed says what the page says, with the year on what says when.
func TestReviewOnPaper(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		w := s.ask("GET", "/clutches/k1/review.pdf?paper=Letter&address=http://192.168.1.20:8080", "")
		isPDF(t, w.Result(), w.Body.String(), "clutchd-review-k1-2026-06-14.pdf")
		got := s.press.reviews[0]
		page := s.ask("GET", "/clutches/k1/review", "").Body.String()
		if got.Paper != handout.Letter() || got.URL != "http://192.168.1.20:8080/clutches/k1" || !strings.Contains(page, "<h1>"+got.Title+"</h1>") {
			t.Errorf("on %s, its code leads to %s, titled %q", got.Paper.Name, got.URL, got.Title)
		}
		if diff := cmp.Diff([]string{"Egg A", "Egg B"}, got.Marks); diff != "" {
			t.Errorf("eggs (-want +got):\n%s", diff)
		}
		if !strings.Contains(got.About, "as of 14 Jun 2026") || !strings.Contains(got.Facts[len(got.Facts)-1].Text, "2026") {
			t.Errorf("no year in %q, %+v", got.About, got.Facts)
		}
		if got.Facts[0].Name != "Dam" || !strings.HasPrefix(got.Facts[0].Text, "Pepper") || len(got.Rows) < 3 || len(got.Cautions) == 0 || len(got.Said) == 0 {
			t.Errorf("it lacks something: %+v", got.Facts)
		}
		for _, row := range got.Rows {
			for _, cell := range row.Cells {
				if row.Alike == "" && cell != "" && !strings.Contains(page, strings.NewReplacer("'", "&#39;", "+", "&#43;").Replace(cell)) {
					t.Errorf("%s: the page does not say %q", row.Name, cell)
				}
			}
		}
		if len(got.Lain) != len(got.Of.Records) || len(got.Lain) == 0 || got.Lain[0].Title != "What they lay at" || len(got.Lain[0].Stays) == 0 {
			t.Errorf("what they lay at: %+v", got.Lain)
		}
	})
}

func TestReviewOnPaperAsAsked(t *testing.T) {
	tests := []struct{ says, path, cookie, paper, url string }{
		{"nothing asked", "/clutches/k3/review.pdf", "", "A4", ""},
		{"someone who reads °F", "/clutches/k3/review.pdf", "clutchd_units=F", "Letter", ""},
		{"someone who prints labels on A4 and reads °F", "/clutches/k3/review.pdf", "clutchd_units=F; clutchd_labels=A4-3x7 2 cut", "A4", ""},
		{"an address that a phone reaches", "/clutches/k3/review.pdf?address=http://gecko.local", "", "A4", "http://gecko.local/clutches/k3"},
		{"an address that is none", "/clutches/k3/review.pdf?address=gecko&paper=A3", "", "A4", ""},
	}
	for _, tt := range tests {
		s := open(t)
		if w := s.ask("GET", tt.path, "", "Cookie", tt.cookie); w.Code != http.StatusOK || len(s.press.reviews) != 1 {
			t.Fatalf("%s: answer %d", tt.says, w.Code)
		}
		if r := s.press.reviews[0]; r.Paper.Name != tt.paper || r.URL != tt.url {
			t.Errorf("%s: printed on %s with a code to %q, want %s and %q", tt.says, r.Paper.Name, r.URL, tt.paper, tt.url)
		}
	}
	if w := open(t).ask("GET", "/clutches/none/review.pdf", ""); w.Code != http.StatusNotFound {
		t.Errorf("the review of no clutch answers %d", w.Code)
	}
}

// Away from the pages it is told in the room's own zone.
func TestHandoutNeedsAZoneItKnows(t *testing.T) {
	s := open(t)
	s.ask("GET", "/clutches/k1/review.pdf", "")
	r := s.press.reviews[0].Of
	got, err := web.Handout(r, handout.Look{Fahrenheit: true}, handout.Letter())
	if err != nil || !got.Look.Fahrenheit || got.Look.Zone.String() != "Europe/Berlin" || got.Paper != handout.Letter() {
		t.Errorf("told with %+v, %v", got.Look, err)
	}
	r.Zone = "Nowhere/Land"
	if got, err := web.Handout(r, handout.Look{}, handout.A4()); err == nil || got.Title != "" {
		t.Errorf("a zone that nobody knows gives %q", got.Title)
	}
}
