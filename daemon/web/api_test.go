package web_test

import (
	"bytes"
	"encoding/json"
	"maps"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/monitor"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// An openAPI is as much of the file as the tests need.
type openAPI struct {
	Paths map[string]map[string]struct {
		RequestBody struct {
			Content map[string]struct{ Schema json.RawMessage }
		}
		Responses map[string]struct {
			Content map[string]struct{ Schema json.RawMessage }
		}
	}
}

func readOpenAPI(t testing.TB, s *site) (openAPI, *jsonschema.Compiler) {
	t.Helper()
	text := s.ask("GET", "/api/openapi.json", "").Body.Bytes()
	var doc openAPI
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	whole, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource("openapi.json", whole); err != nil {
		t.Fatal(err)
	}
	return doc, c
}

func TestOpenAPISaysWhatIsServed(t *testing.T) {
	s := open(t)
	doc, _ := readOpenAPI(t, s)
	var said []string
	for path, methods := range doc.Paths {
		for method := range methods {
			said = append(said, strings.ToUpper(method)+" "+path)
		}
	}
	served := s.server.Routes()
	for i := range served {
		served[i] = strings.Replace(served[i], "/{$}", "/", 1)
	}
	slices.Sort(said)
	slices.Sort(served)
	if diff := cmp.Diff(said, served); diff != "" {
		t.Errorf("openapi.json and the handlers differ (-said +served):\n%s", diff)
	}
}

// asked are an address for each path that answers in JSON.
var asked = map[string]string{
	"/api/room": "/api/room", "/api/contacts": "/api/contacts", "/api/clutches": "/api/clutches", "/api/clutches/{id}": "/api/clutches/k3",
	"/api/clutches/{id}/history": "/api/clutches/k3/history?points=50",
	"/api/animals":               "/api/animals", "/api/animals/{id}": "/api/animals/f-pepper",
	"/api/eggs/{id}/narrowings": "/api/eggs/k3-a/narrowings",
	"/api/readings":             "/api/readings?probe=w1-28-04b2&points=20",
	"/api/eggs/{id}/plans":      "/api/eggs/k3-b/plans?want=male",
	"/api/hindsight":            "/api/hindsight", "/api/due": "/api/due", "/api/season": "/api/season",
	"/api/alerts": "/api/alerts", "/api/alerts/history": "/api/alerts/history", "/api/alerts/tally": "/api/alerts/tally",
	"/api/clutches/{id}/review": "/api/clutches/k1/review", "/clutches/{id}/review.json": "/clutches/k3/review.json",
	"/api/alerts/preview": "/api/alerts/preview?rule=too-warm&subject=box-2&limit=2",
	"/api/entries":        "/api/entries?since=10", "/healthz": "/healthz",
}

func TestAnswersAreAsOpenAPISays(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		full, bare := openHerd(t), open(t)
		bare.snap.Places, bare.snap.Probes, bare.snap.Alerts, bare.snap.Contacts = nil, nil, nil, nil
		for i := range bare.snap.Clutches {
			bare.snap.Clutches[i].Males = nil
		}
		doc, compiler := readOpenAPI(t, full)
		for path, methods := range doc.Paths {
			get, ok := methods["get"]
			if !ok || path == "/api/openapi.json" || get.Responses["200"].Content["application/json"].Schema == nil {
				continue
			}
			address := asked[path]
			if address == "" {
				t.Errorf("no test asks for %s", path)
				continue
			}
			at := "openapi.json#/paths/" + strings.NewReplacer("~", "~0", "/", "~1", "{", "%7B", "}", "%7D").Replace(path) +
				"/get/responses/200/content/application~1json/schema"
			schema, err := compiler.Compile(at)
			if err != nil {
				t.Fatal(err)
			}
			for name, s := range map[string]*site{"a full room": full, "an empty room": bare} {
				w := s.ask("GET", address, "")
				body, err := jsonschema.UnmarshalJSON(w.Body)
				if err != nil || w.Code != http.StatusOK {
					t.Fatalf("%s of %s: answer %d, %v", address, name, w.Code, err)
				}
				if err := schema.Validate(body); err != nil {
					t.Errorf("%s of %s is not what openapi.json says: %v", address, name, err)
				}
			}
		}
	})
}

func TestClutchHasTheAgreedShape(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		var got map[string]any
		if err := json.Unmarshal(s.ask("GET", "/api/clutches/k3", "").Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		egg := got["eggs"].([]any)[0].(map[string]any)
		for name, c := range map[string]struct {
			object any
			keys   string
		}{
			"clutch": {got, "eggs female id laid males"}, "laid": {got["laid"], "from to"},
			"egg":         {egg, "basis box cte_celsius development harm hatch hold_from_now id mark place_path sex state tsp"},
			"development": {egg["development"], "fraction high low"}, "tsp": {egg["tsp"], "closes done last_change opens state"},
			"cte": {egg["cte_celsius"], "high low value"}, "sex": {egg["sex"], "high low male_probability words"},
			"hatch": {egg["hatch"], "due earliest latest likely probability"}, "basis": {egg["basis"], "gap measured projected"},
			"hold": {egg["hold_from_now"].([]any)[0], "celsius hatch_likely high low male_probability"},
		} {
			if keys := strings.Join(slices.Sorted(maps.Keys(c.object.(map[string]any))), " "); keys != c.keys {
				t.Errorf("%s has %s, want %s", name, keys, c.keys)
			}
		}
		if list := s.ask("GET", "/api/clutches", "").Body.String(); strings.Contains(list, "hold_from_now") {
			t.Error("the list carries every clutch's table")
		}
	})
}

func TestHistoryKeepsExtremesAndGaps(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		var got struct {
			Eggs []struct {
				Mark      string
				Columns   []struct{ Low, Mean, High float64 }
				Gaps      []struct{ From, To time.Time }
				Setpoints []struct {
					From    time.Time
					Celsius float64
				}
			}
		}
		text := s.ask("GET", "/api/clutches/k3/history?points=60", "").Body.String()
		text = strings.NewReplacer("low_celsius", "low", "mean_celsius", "mean", "high_celsius", "high").Replace(text)
		if err := json.Unmarshal([]byte(text), &got); err != nil {
			t.Fatal(err)
		}
		a, b := got.Eggs[0], got.Eggs[1]
		worst := 0.0
		for _, k := range a.Columns {
			worst = max(worst, k.High)
			if k.Low > k.Mean || k.Mean > k.High {
				t.Fatalf("column %+v", k)
			}
		}
		if worst < 33.3 {
			t.Errorf("the warm end of today, 33.4 °C, is thinned to %.2f", worst)
		}
		if n := len(a.Columns); n == 0 || n > 60 {
			t.Errorf("%d columns for 60 points", n)
		}
		// Nine hours in which neither the box's nor the cabinet's probe spoke.
		night := slices.ContainsFunc(a.Gaps, func(g struct{ From, To time.Time }) bool {
			return g.From.Before(noon.Add(-69*time.Hour)) && g.To.After(noon.Add(-62*time.Hour))
		})
		if !night {
			t.Errorf("the silent night is no gap: %v", a.Gaps)
		}
		// Egg B's box had no word that night, but its cabinet's probe did.
		for _, g := range b.Gaps {
			if g.To.After(noon.Add(-69 * time.Hour)) {
				t.Errorf("egg B has a gap that its cabinet's probe fills: %v", g)
			}
		}
		if n := len(b.Setpoints); n != 2 || b.Setpoints[0].Celsius != 27.5 || b.Setpoints[1].Celsius != 28 {
			t.Errorf("setpoints of egg B: %v", b.Setpoints)
		}
	})
}

func TestReadingsApplyTheOffset(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		mean := func() float64 {
			var got struct {
				Columns []struct {
					Mean float64 `json:"mean_celsius"`
				}
			}
			body := s.ask("GET", "/api/readings?probe=w1-28-04b2&points=1&from=2026-06-13T00:00:00Z&to=2026-06-14T00:00:00Z", "").Body
			if err := json.Unmarshal(body.Bytes(), &got); err != nil || len(got.Columns) != 1 {
				t.Fatalf("%v %+v", err, got)
			}
			return got.Columns[0].Mean
		}
		with := mean()
		for i := range s.snap.Book.Placements {
			s.snap.Book.Placements[i].Offset = 0
		}
		if d := with - mean(); d < 0.0999 || d > 0.1001 {
			t.Errorf("an offset of 0.1 K moves the mean by %g", d)
		}
	})
}

func TestAPIRefusesWhatItDoesNotUnderstand(t *testing.T) {
	for _, c := range []struct {
		sentence, method, path, body string
		code                         int
		field                        string
	}{
		{"an unknown clutch", "GET", "/api/clutches/none", "", 404, ""},
		{"an unknown probe", "GET", "/api/readings?probe=none", "", 404, ""},
		{"no points", "GET", "/api/clutches/k3/history?points=0", "", 422, "points"},
		{"too many points", "GET", "/api/clutches/k3/history?points=5001", "", 422, "points"},
		{"a time that is none", "GET", "/api/readings?probe=w1-28-04b2&from=noon", "", 422, "from"},
		{"a range that runs backward", "GET", "/api/readings?probe=w1-28-04b2&from=2026-06-14T00:00:00Z&to=2026-06-13T00:00:00Z", "", 422, "from"},
		{"no JSON", "POST", "/api/entries", "kind=note", 400, ""},
		{"a name that is not known", "POST", "/api/entries", `{"kind":"note","date":{}}`, 400, ""},
		{"two objects", "POST", "/api/entries", `{"kind":"note","data":{"text":"x"}}{}`, 400, ""},
		{"a seq of one's own", "POST", "/api/entries", `{"seq":3,"kind":"note","data":{"text":"x"}}`, 422, "seq"},
		{"an entry without a kind", "POST", "/api/entries", `{"data":{"text":"x"}}`, 422, "kind"},
		{"what the book refuses", "POST", "/api/entries", `{"kind":"pip","data":{"egg":"none"}}`, 422, "egg"},
		{"an acknowledgement of nothing", "POST", "/api/alerts/too-warm.place.box-2/acknowledge", `{}`, 422, "occurrence"},
		{"a shelf for ever", "POST", "/api/alerts/too-warm.place.box-2/shelve", `{"occurrence":"o-81","seconds":1e9}`, 422, "seconds"},
		{"a shelf for no time", "POST", "/api/alerts/too-warm.place.box-2/shelve", `{"occurrence":"o-81"}`, 422, "seconds"},
		{"a shelf with two ends", "POST", "/api/alerts/too-warm.place.box-2/shelve", `{"occurrence":"o-81","seconds":60,"until":"2026-06-14T12:00:00Z"}`, 422, "until"},
		{"a shelf into the past", "POST", "/api/alerts/too-warm.place.box-2/shelve", `{"occurrence":"o-81","until":"2026-06-13T12:00:00Z"}`, 422, "until"},
		{"a shelf into the autumn", "POST", "/api/alerts/too-warm.place.box-2/shelve", `{"occurrence":"o-81","until":"2026-09-14T12:00:00Z"}`, 422, "until"},
		{"nothing off the shelf", "POST", "/api/alerts/too-warm.place.box-2/unshelve", `{}`, 422, "occurrence"},
		{"plans for an egg that is not here", "GET", "/api/eggs/none/plans", "", 404, ""},
		{"a sex that is none", "GET", "/api/eggs/k3-b/plans?want=both", "", 422, "want"},
		{"plans for an egg that has hatched", "GET", "/api/eggs/k1-a/plans?want=male", "", 422, "egg"},
		{"a question about an egg that is not here", "POST", "/api/eggs/none/consider", `{"plans":[[{"day":30,"celsius":28}]]}`, 404, ""},
		{"a question about no plan", "POST", "/api/eggs/k3-b/consider", `{"plans":[]}`, 422, "plans"},
		{"a plan hotter than 45 °C", "POST", "/api/eggs/k3-b/consider", `{"plans":[[{"day":30,"celsius":46}]]}`, 422, "plans"},
		{"a plan for a day that is over", "POST", "/api/eggs/k3-b/consider", `{"plans":[[{"day":3,"celsius":28}]]}`, 422, "plans"},
		{"a plan that is no list", "POST", "/api/eggs/k3-b/consider", `{"plans":{"day":30,"celsius":28}}`, 400, ""},
		{"no time", "POST", "/api/clock", `{}`, 422, "now"},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				w := s.ask(c.method, c.path, c.body)
				var got struct{ Error, Field string }
				if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
					t.Fatal(err)
				}
				if w.Code != c.code || got.Field != c.field || got.Error == "" {
					t.Errorf("got %d %+v, want %d about %q", w.Code, got, c.code, c.field)
				}
				if len(s.door.made) > 0 {
					t.Error("something was changed")
				}
			})
		})
	}
}

func TestAPIChangesGoThroughTheDoor(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		for _, c := range []struct {
			path, body string
			code       int
		}{
			{"/api/entries", `{"request":"r-1","kind":"note","by":"script","data":{"text":"x"}}`, 201},
			{"/api/entries", `{"request":"r-1","kind":"note","by":"script","data":{"text":"x"}}`, 200},
			{"/api/alerts/too-warm.place.box-2/acknowledge", `{"occurrence":"o-81","by":"script"}`, 200},
			{"/api/alerts/too-warm.place.box-2/shelve", `{"occurrence":"o-81","seconds":3600}`, 200},
			{"/api/alerts/too-warm.place.box-2/shelve", `{"occurrence":"o-81","until":"2026-06-15T07:00:00+02:00","why":"new lamp"}`, 200},
			{"/api/alerts/too-warm.place.box-2/unshelve", `{"occurrence":"o-81","by":"script","why":"done"}`, 200},
			{"/api/clock", `{"now":"2026-06-14T10:40:00+02:00"}`, 200},
		} {
			if w := s.ask("POST", c.path, c.body); w.Code != c.code {
				t.Errorf("%s answers %d: %s", c.path, w.Code, w.Body)
			}
		}
		want := []monitor.Change{
			{Acknowledge: &monitor.Acknowledge{Alert: "too-warm.place.box-2", Occurrence: "o-81", By: "script"}},
			{Shelve: &monitor.Shelve{Alert: "too-warm.place.box-2", Occurrence: "o-81", For: time.Hour, By: "API"}},
			{Shelve: &monitor.Shelve{
				Alert: "too-warm.place.box-2", Occurrence: "o-81", By: "API", Why: "new lamp",
				Until: time.Date(2026, 6, 15, 5, 0, 0, 0, time.UTC),
			}},
			{Unshelve: &monitor.Unshelve{
				Alert: "too-warm.place.box-2", Occurrence: "o-81", By: "script", Why: "done",
			}},
			{ClockOffer: &monitor.ClockOffer{Now: time.Date(2026, 6, 14, 8, 40, 0, 0, time.UTC)}},
		}
		if len(s.door.made) != 6 {
			t.Fatalf("%d changes", len(s.door.made))
		}
		if diff := cmp.Diff(want, s.door.made[1:]); diff != "" {
			t.Error(diff)
		}
		if e := s.door.made[0].Entry; e.By != "script" || e.Zone != "Europe/Berlin" || e.Request != "r-1" {
			t.Errorf("entry %+v", e)
		}
	})
}
