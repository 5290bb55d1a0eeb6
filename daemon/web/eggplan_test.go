package web_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/species"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// ensemble is few members: the pages tell shares in whole percents.
var ensemble = sync.OnceValue(func() *incubation.Ensemble { return incubation.Draw(species.Leopard(), 100) })

// A desk answers as the monitor does, from eggs that have lain at their box's
// setpoint since they were laid.
type desk struct{ *site }

func (d desk) ask(egg string) (*incubation.Track, incubation.Question, error) {
	b := d.snap.Book
	e := b.Eggs[egg]
	if e == nil || !e.Live() {
		return nil, incubation.Question{}, &monitor.Refusal{Field: "egg", Text: "egg " + egg + " does not live"}
	}
	laid := b.Clutches[e.Clutch].Laid
	track := incubation.NewTrack(ensemble(), laid)
	for at := laid.To.Truncate(incubation.BlockLength); at.Before(d.snap.Time.Add(-incubation.BlockLength)); at = at.Add(incubation.BlockLength) {
		if aim := b.SetpointAt(incubation.At(e.Stays, at), at); aim != nil {
			_ = track.Add(incubation.Block{ // refused before the laying only
				Start: at, Celsius: *aim, Covered: 1, Probe: "p", Position: incubation.Substrate, Accuracy: 0.2,
			})
		}
	}
	return track, incubation.Question{Now: d.snap.Time, Plan: b.PlanSteps(egg, d.snap.Time)}, nil
}

func (d desk) Consider(egg string, plans ...[]incubation.Step) (incubation.Answer, error) {
	track, q, err := d.ask(egg)
	if err != nil {
		return incubation.Answer{}, err
	}
	return track.Ask(q, plans...), nil
}

func (d desk) Propose(egg string, want incubation.Wish) (incubation.Proposals, error) {
	track, q, err := d.ask(egg)
	if err != nil {
		return incubation.Proposals{}, err
	}
	return track.Propose(q, incubation.Choice{
		Want: want, Spots: d.snap.Spots(), Home: incubation.At(d.snap.Book.Eggs[egg].Stays, d.snap.Time),
	}), nil
}

var hiddenInput = regexp.MustCompile(`<input type="hidden" name="([^"]*)" value="([^"]*)">`)

// forms gives the hidden answers of each form on a page that posts an entry.
func forms(page string) []url.Values {
	var out []url.Values
	for _, f := range regexp.MustCompile(`(?s)<form method="post" action="/entries".*?</form>`).FindAllString(page, -1) {
		values := url.Values{}
		for _, m := range hiddenInput.FindAllStringSubmatch(f, -1) {
			values.Set(m[1], m[2])
		}
		out = append(out, values)
	}
	return out
}

func TestAProposalIsWrittenDownOnce(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		page := s.ask("GET", "/eggs/k3-b/plan?want=male", "").Body.String()
		all := forms(page)
		if len(all) == 0 {
			t.Fatalf("the page offers nothing to write down:\n%s", page)
		}
		if len(s.door.made) > 0 {
			t.Fatal("opening the page changed something")
		}
		for range 2 { // a double tap
			if w := s.ask("POST", "/entries", all[0].Encode()); w.Code != http.StatusSeeOther {
				t.Fatalf("answer %d: %s", w.Code, w.Body)
			}
		}
		if len(s.door.made) != 1 {
			t.Fatalf("%d changes after a double tap", len(s.door.made))
		}
		data, err := book.Decode(*s.door.made[0].Entry)
		d, ok := data.(book.PlanData)
		if err != nil || !ok || d.Egg != "k3-b" || len(d.Steps) == 0 || d.Steps[0].Box == "" || d.Steps[0].At.Before(noon) {
			t.Errorf("written down: %+v, %v", data, err)
		}
	})
}

// A plan of one's own is asked about by its address and changes nothing; it is
// understood in the unit it was written in, whatever the page is in now.
func TestAPlanOfOnesOwn(t *testing.T) {
	for _, c := range []struct {
		sentence, query, cookie, says string
		silent                        bool
	}{
		{"a temperature from a day on", "celsius-1=31.5&day-1=10", "C", "31.5\u00a0°C from day 10", false},
		{"a box from a time on", "box-1=box-3&at-1=2026-06-20T12:00", "C", "Into Box 3 on 20 Jun 12:00", false},
		{"°F, as the page showed it", "unit=%C2%B0F&celsius-1=88.7&day-1=10", "F", "88.7\u00a0°F from day 10", false},
		{"°F, on a page that is in °C by now", "unit=%C2%B0F&celsius-1=88.7&day-1=10", "C", "31.5\u00a0°C from day 10", false},
		{"nothing asked, nothing answered", "want=male", "C", "Into Box", true},
		{"a day that is over", "celsius-1=30&day-1=1", "C", "Step 1 is due in the past", false},
		{"a time that is over", "celsius-1=30&at-1=2026-06-01T12:00", "C", "This time is over", false},
		{"too hot for any egg", "celsius-1=46&day-1=10", "C", "46.0\u00a0°C is outside 10.0 to 45.0\u00a0°C", false},
		{"too hot, in °F", "unit=%C2%B0F&celsius-1=115&day-1=10", "F", "115.0\u00a0°F is outside 50.0 to 113.0\u00a0°F", false},
		{"no number", "celsius-1=warm&day-1=10", "C", "is not a number", false},
		{"no time", "celsius-1=30", "C", "needs a time or a day", false},
		{"above the limit it is warned of", "celsius-1=36&day-1=10", "C", "Too warm: above 35.0\u00a0°C", false},
		{"colder than has hatched it is warned of", "celsius-1=25&day-1=10", "C", "Colder than 26.0\u00a0°C", false},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				w := s.ask("GET", "/eggs/k4-a/plan?"+c.query, "", "Cookie", "clutchd_units="+c.cookie)
				if w.Code != http.StatusOK || strings.Contains(w.Body.String(), c.says) == c.silent {
					t.Errorf("answer %d; %q: want it %v\n%s", w.Code, c.says, !c.silent, w.Body)
				}
				if len(s.door.made) > 0 {
					t.Error("asking changed something")
				}
			})
		})
	}
}

// The own plan's button writes down what was asked about, in either unit.
func TestAPlanOfOnesOwnIsWrittenDown(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		page := s.ask("GET", "/eggs/k4-a/plan?unit=%C2%B0F&celsius-1=88.7&day-1=10&box-2=box-3&day-2=30", "", "Cookie", "clutchd_units=C").Body.String()
		all := forms(page)
		if w := s.ask("POST", "/entries", all[len(all)-1].Encode()); w.Code != http.StatusSeeOther {
			t.Fatalf("answer %d: %s", w.Code, w.Body)
		}
		data, _ := book.Decode(*s.door.made[0].Entry)
		want := book.PlanData{Egg: "k4-a", Steps: []book.PlanStep{{Day: 10, Celsius: 31.5}, {Day: 30, Box: "box-3"}}}
		if d := cmp.Diff(want, data); d != "" {
			t.Errorf("written down (-want +got):\n%s", d)
		}
	})
}

func TestPlanPagesThatAreNot(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		for _, path := range []string{"/eggs/none/plan", "/eggs/k3-b/plan?want=both"} {
			if w := s.ask("GET", path, ""); w.Code != http.StatusNotFound {
				t.Errorf("%s answers %d, want 404", path, w.Code)
			}
		}
	})
}

func TestConsiderAnswersInOrder(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		w := s.ask("POST", "/api/eggs/k4-a/consider",
			`{"plans":[[{"day":5,"celsius":26.5}],[{"at":"2026-06-16T12:00:00Z","box":"box-1"},{"day":25,"celsius":28}]]}`)
		if w.Code != http.StatusOK {
			t.Fatalf("answer %d: %s", w.Code, w.Body)
		}
		_, compiler := readOpenAPI(t, s)
		schema, err := compiler.Compile("openapi.json#/paths/~1api~1eggs~1%7Bid%7D~1consider/post/responses/200/content/application~1json/schema")
		if err != nil {
			t.Fatal(err)
		}
		text := w.Body.Bytes()
		body, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(body); err != nil {
			t.Errorf("not what openapi.json says: %v", err)
		}
		var got struct {
			Outcomes []struct {
				Steps []struct {
					From    time.Time
					Celsius float64
				}
				Sex struct {
					Male float64 `json:"male_probability"`
				}
			}
		}
		if err := json.Unmarshal(text, &got); err != nil || len(got.Outcomes) != 2 {
			t.Fatalf("%v: %s", err, text)
		}
		cool, warm := got.Outcomes[0], got.Outcomes[1]
		// 26 °C gives females only, 32 °C mostly males (Viets et al. 1993, table 1).
		if cool.Sex.Male > 0.1 || warm.Sex.Male < 0.4 || len(warm.Steps) != 3 {
			t.Errorf("cool %+v, warm %+v", cool, warm)
		}
		if len(s.door.made) > 0 {
			t.Error("asking changed something")
		}
	})
}
