package web_test

import (
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"clutchd/daemon/web"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/review"
	"clutchd/incubation/species"
)

// few is an ensemble that is soon asked.
var few = sync.OnceValue(func() *incubation.Ensemble { return species.Ensemble(60) })

// recorded gives the record of the egg that hatched: a steady 27.5 °C.
func recorded(b *book.State) func(string) *incubation.Track {
	return func(egg string) *incubation.Track {
		e := b.Eggs[egg]
		if egg != "k1-a" || e == nil {
			return nil
		}
		laid := b.Clutches["k1"].Laid
		t := incubation.NewTrack(few(), laid)
		for at := laid.To.Truncate(incubation.BlockLength); at.Before(e.Ended); at = at.Add(incubation.BlockLength) {
			_ = t.Add(incubation.Block{
				Start: at, Celsius: 27.5, Covered: 1, Probe: "sht31-1-45", Position: incubation.BoxAir, Accuracy: 0.5,
			})
		}
		return t
	}
}

// What the page of a review must say of the clutch that is over: what came
// against what was said, and what stands beside the numbers.
func TestReviewSaysWhatCame(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		page := open(t).ask("GET", "/clutches/k1/review", "").Body.String()
		for _, row := range []struct{ why, text string }{
			{"the caution comes first", "To be known first"},
			{"and is the one that stands everywhere", incubation.Caution},
			{"the dam", "Pepper"},
			{"what came of egg A", "hatched 3 Jun, day 59"},
			{"why egg B was lost", "lost 15 May, day 40: collapsed, mould"},
			{"how far off the hatch was", "2 days later than likeliest, inside the window"},
			{"the sex as seen, and how it was seen", "female, seen the day it hatched"},
			{"which sex was said", "almost surely female: male 2"},
			{"that the estimate has not seen what came", "has not seen what came of it"},
			{"the course of the estimate", "Egg A: chance of a male. From"},
			{"that the egg hatched, on the course", "Egg A hatched on day 59"},
			{"probes with how they lay", "in the box&#39;s air"},
			{"the numbers as a file", `href="/clutches/k1/review.json"`},
		} {
			if !strings.Contains(page, row.text) {
				t.Errorf("%s: %q is missing", row.why, row.text)
			}
		}
	})
}

// The files beside the page: JSON that reads back as a review, CSV that holds
// every reading of the probes beside the eggs.
func TestReviewFiles(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		w := s.ask("GET", "/clutches/k1/review.json", "")
		var r review.Review
		if err := json.Unmarshal(w.Body.Bytes(), &r); err != nil || r.Schema != review.Schema || len(r.Eggs) != 2 {
			t.Fatalf("review.json: %v, %+v", err, r)
		}
		if got := w.Header().Get("Content-Disposition"); got != `attachment; filename="clutch-k1.json"` {
			t.Errorf("review.json is offered as %s", got)
		}
		w = s.ask("GET", "/clutches/k1/review.csv", "")
		rows, err := csv.NewReader(w.Body).ReadAll()
		if err != nil || len(rows) < 1000 {
			t.Fatalf("review.csv: %v, %d rows", err, len(rows))
		}
		counted := 0
		for _, row := range rows[1:] {
			if row[9] == "true" {
				counted++
			}
		}
		if n := r.Records[0].Readings; counted < n-2 || counted > n+2 {
			t.Errorf("%d rows of review.csv count, of %d readings of the record", counted, n)
		}
		for _, path := range []string{"/clutches/k9/review", "/clutches/k9/review.json", "/clutches/k9/review.csv", "/api/clutches/k9/review"} {
			if w := s.ask("GET", path, ""); w.Code != http.StatusNotFound {
				t.Errorf("%s answers %d", path, w.Code)
			}
		}
	})
}

// A review of a clutch that is over is made once, and anew after an entry.
func TestReviewIsKept(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		asked := 0
		s := open(t, func(o *web.Options) {
			track := o.Track
			o.Track = func(egg string) *incubation.Track { asked++; return track(egg) }
		})
		for range 3 {
			s.ask("GET", "/clutches/k1/review", "")
		}
		if asked != 2 { // once for each egg
			t.Errorf("three looks at one review asked for %d records, want 2", asked)
		}
		s.snap.Book = s.snap.Book.With(book.Entry{
			At: noon, Made: noon, Zone: "Europe/Berlin", Kind: book.KindWeighed, Data: json.RawMessage(`{"egg":"k1-a","grams":3.4}`),
		})
		if page := s.ask("GET", "/clutches/k1/review", "").Body.String(); !strings.Contains(page, "hatchling 3.4") {
			t.Error("a weight that was just written down is not in the review")
		}
	})
}

// Parts of a record can be looked at closer; what is asked wrongly is refused.
func TestHistoryOfAPart(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		from, to := days(-3), days(-2)
		w := s.ask("GET", "/api/clutches/k3/history?egg=k3-a&points=48&from="+from.Format(time.RFC3339)+"&to="+to.Format(time.RFC3339), "")
		var got struct {
			Eggs []struct {
				Egg          string
				From, To     time.Time
				Begins, Ends time.Time
				Width        float64 `json:"column_seconds"`
				Columns      []review.Point
				Limits       []review.Limit
				Probes       []review.Probe
				LayWith      []string `json:"lay_with"`
			}
		}
		if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil || len(got.Eggs) != 1 {
			t.Fatalf("%v: %s", err, w.Body)
		}
		e := got.Eggs[0]
		if !e.From.Equal(from) || !e.To.Equal(to) || e.Width != 1800 || len(e.Columns) == 0 || len(e.Columns) > 48 {
			t.Errorf("a day in 48 columns: %v to %v, %g s each, %d", e.From, e.To, e.Width, len(e.Columns))
		}
		if !e.Begins.Before(from) || !e.Ends.After(to) {
			t.Errorf("the whole record is told as %v to %v", e.Begins, e.Ends)
		}
		if len(e.Probes) != 2 || len(e.Probes[0].Points) == 0 || len(e.Limits) == 0 {
			t.Errorf("probes %v, limits %v", e.Probes, e.Limits)
		}
		for why, query := range map[string]string{
			"an egg of another clutch": "egg=k1-a", "an end before the beginning": "from=2026-06-10T00:00:00Z&to=2026-06-09T00:00:00Z",
			"no time": "from=yesterday", "no points": "points=0",
		} {
			if w := s.ask("GET", "/api/clutches/k3/history?"+query, ""); w.Code < 400 || w.Code >= 500 {
				t.Errorf("%s: answer %d", why, w.Code)
			}
		}
	})
}

// What was vendored is what its authors published, byte for byte.
func TestVendoredFilesAreUnchanged(t *testing.T) {
	note, err := os.ReadFile("static/uplot-1.6.32.txt")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(note), "The MIT License (MIT)") {
		t.Error("the licence does not stand beside what is under it")
	}
	for file, want := range map[string]string{
		"uplot-1.6.32.min.js":  "19c8d4c6ad88929a79f4ae49d6f7161566dfd0ba3d15cc495e974f787eb78f1f",
		"uplot-1.6.32.min.css": "df630c6a8d6f8eeaff264b50f73ce5b114f646ffd9a0bb74f049b0a00135fa04",
	} {
		text, err := os.ReadFile("static/" + file)
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(text)
		if got := hex.EncodeToString(sum[:]); got != want || !strings.Contains(string(note), got+"  "+file) {
			t.Errorf("%s has the hash %s, its note and this test want %s", file, got, want)
		}
	}
}

// Only pages with a chart that can be looked at closer load what draws it.
func TestOnlyChartsLoadTheirScript(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		for name, path := range pages {
			page := s.ask("GET", path, "").Body.String()
			loads, has := strings.Contains(page, "/static/uplot"), strings.Contains(page, "data-plot=")
			if loads != has {
				t.Errorf("%s loads the chart's script: %v; it has such a chart: %v", name, loads, has)
			}
		}
	})
}

// The limits of the review are those of the rules, each side once.
func TestEggRules(t *testing.T) {
	var got []string
	for _, r := range web.EggRules() {
		side := "low"
		if r.High {
			side = "high"
		}
		got = append(got, r.Code+" "+side)
		if r.OnDelay <= 0 || r.Deadband <= 0 {
			t.Errorf("rule %s has an on-delay of %v and a deadband of %g K", r.Code, r.OnDelay, r.Deadband)
		}
	}
	want := "acute-heat high, runaway-heat high, too-warm high, too-cool low, heater-off low, above-limit high, below-limit low"
	if strings.Join(got, ", ") != want {
		t.Errorf("rules %v, want %s", got, want)
	}
}
