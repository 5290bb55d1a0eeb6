package web_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/learn"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

func TestHindsightLooksAsItDid(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		for name, l := range hindsightPages() {
			s := open(t)
			s.snap.Lesson = l
			w := s.ask("GET", "/hindsight", "")
			if w.Code != http.StatusOK {
				t.Errorf("%s answers %d", name, w.Code)
			}
			golden(t, name, w.Body.String())
		}
	})
}

func TestHindsightSays(t *testing.T) {
	many := func(n, outside int) []learn.Past {
		var out []learn.Past
		for i := range n {
			late := 1.0
			if i < outside {
				late = 7
			}
			out = append(out, past(fmt.Sprintf("m%d-a", i), 20+float64(i), late, 0.5, ""))
		}
		return out
	}
	started, looking := monitor.Lesson{}, lesson(season()...)
	looking.Hindsight = learn.Hindsight{}
	for _, r := range []struct {
		sentence string
		lesson   monitor.Lesson
		change   func(t *testing.T, s *site)
		has, not []string
	}{
		{
			"a season's figures stand in two sentences", lesson(season()...), nil,
			[]string{
				"Of 14 eggs that hatched, 12 came inside the window that is to hold 9 of 10; on average 2.6 days from the likeliest date, 1.6 days later than said. Windows were 10.0 days long.",
				"Of 14 eggs that hatched, 12 came inside the window that is to hold 9 of 10; on average 1.3 days from the likeliest date, 0.8 days later than said. Windows were 6.0 days long.",
				"By these eggs a window holds between 60\u00a0% and 96\u00a0% of them, so 9 of 10 may be true.",
				"Of 13 sexed animals whose egg is known, 13 came as the sex that was said to be likelier.",
				"have learned from 7 clutches of this room (14 hatches, 13 sexed animals)",
				"12 of 14 inside their windows",
			},
			[]string{"Too few", "data-waits", "learned nothing"},
		},
		{
			"under ten eggs are too few", lesson(many(9, 0)...), nil,
			[]string{"Too few to judge by", "Of 9 eggs that hatched, 9 came inside"},
			[]string{"By these eggs", "data-waits"},
		},
		{
			"ten are not", lesson(many(10, 0)...), nil,
			[]string{"By these eggs a window holds between 72\u00a0% and 100\u00a0%", "may be true"},
			[]string{"Too few to judge"},
		},
		{
			"windows that hold too few are called so", lesson(many(20, 8)...), nil,
			[]string{"fewer than it should. Do not rely on its edges."},
			[]string{"may be true"},
		},
		{
			"windows wider than need be are called so", lesson(many(40, 0)...), nil,
			[]string{": more than it need."},
			[]string{"may be true"},
		},
		{
			"a band of few eggs tells nothing", lesson(past("k1-a", 11, 1, 0.2, "male")), nil,
			[]string{"<td>1</td><td>20\u00a0%</td><td>1</td><td>too few to tell</td>"},
			[]string{"not as said"},
		},
		{
			"a band that was wrong is called so", lesson(func() []learn.Past {
				var out []learn.Past
				for i := range 12 {
					out = append(out, past(fmt.Sprintf("m%d-a", i), 20, 1, 0.05, "male"))
				}
				return out
			}()...), nil,
			[]string{"<td>12</td><td>5\u00a0%</td><td>12</td><td><span class=\"whole\">76–100\u00a0%</span>: not as said</td>", "Of 12 sexed animals whose egg is known, 0 came"},
			[]string{"too few to tell"},
		},
		{
			"the strip reaches ten days", lesson(past("k1-a", 11, -9.9, 0.2, "")), nil,
			[]string{`>−10</text>`, `>&#43;10</text>`, "9.9 days early</title>"},
			nil,
		},
		{
			"further, by fives, if an egg was further off", lesson(past("k1-a", 11, -12, 0.2, "")), nil,
			[]string{`>−15</text>`, `>&#43;15</text>`, `cx="104"`},
			nil,
		},
		{
			"a month at most: an egg beyond that stands at the edge", lesson(past("k1-a", 11, 44, 0.2, "")), nil,
			[]string{`>&#43;30</text>`, `cx="680"`, "44.0 days late</title>"},
			nil,
		},
		{
			"nobody looked at a sex", lesson(many(12, 0)...), nil,
			[]string{"No animal whose egg is known has been sexed", "A sex told from the temperature teaches nothing"},
			[]string{"True share", "sexed animal whose"},
		},
		{
			"nothing has ended", lesson(), nil,
			[]string{"learned nothing from this room yet", "write it down on the day", "two to four months", "No egg that ended here stands beside an estimate yet."},
			[]string{"data-waits", "How to read this", "<svg", "Too few"},
		},
		{
			"just started", started, nil,
			[]string{"is being worked out from their records", "data-waits"},
			[]string{"learned nothing", "No egg that ended", "Too few"},
		},
		{
			"the clock is not set", started, func(_ *testing.T, s *site) { s.snap.Trusted = false },
			[]string{"This waits until the clock is set.", "data-waits"},
			[]string{"being worked out"},
		},
		{
			"learned, not looked back yet", looking, nil,
			[]string{"have learned from 7 clutches", "being held against what came of them", "data-waits"},
			[]string{"is being worked out from", "No egg that ended"},
		},
		{
			"an egg beside its window by hours is told so", lesson(func() learn.Past {
				p := past("k1-a", 11, 1, 0.2, "")
				p.Shipped.Latest, p.Shipped.Inside = p.Found.Add(-time.Hour), false
				return p
			}()), nil,
			[]string{", outside by hours"},
			nil,
		},
		{
			"of a record that never got there no date was said", lesson(func() learn.Past {
				p := past("k1-a", 11, 0, 0.2, "")
				p.Shipped, p.Learned = learn.Said{Male: 0.2}, learn.Said{Male: 0.2}
				return p
			}()), nil,
			[]string{"no date said", "said no date", "No egg that had a window has hatched."},
			[]string{"1 Jan 0001", "not known"},
		},
		{
			"a clutch sexed in part leans it, one counted stands in no table", lesson(season()...),
			func(t *testing.T, s *site) {
				s.tell(t, 0, book.KindHatch, book.HatchData{Egg: "k2-a"})
				s.tell(t, 0, book.KindHatch, book.HatchData{Egg: "k2-b"})
				s.tell(t, 70, book.KindSexed, book.SexedData{Clutch: "k2", Females: 1, How: incubation.ByAnatomy})
				s.snap.Time = days(80)
			},
			[]string{"sexed in part", `href="/clutches/k2">k2</a>`, "stand in no table", "Left out: 2 of the eggs that ended"},
			nil,
		},
		{
			"learning that failed does not look like learning that goes on",
			monitor.Lesson{Failed: true},
			nil,
			[]string{"could not be worked out; the log says why"},
			[]string{"is being worked out", "being held against", "learned nothing"},
		},
		{
			"one sexed whole does not", lesson(season()...), nil,
			nil,
			[]string{"sexed in part", "stand in no table", "Left out"},
		},
	} {
		t.Run(r.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				s.snap.Lesson = r.lesson
				if r.change != nil {
					r.change(t, s)
				}
				page := s.ask("GET", "/hindsight", "").Body.String()
				for _, says := range r.has {
					if !strings.Contains(page, says) {
						t.Errorf("the page lacks %q", says)
					}
				}
				for _, says := range append(r.not, "NaN", "Inf", "%!") {
					if strings.Contains(page, says) {
						t.Errorf("the page holds %q", says)
					}
				}
			})
		})
	}
}

// The list ends after fifty; the API has them all.
func TestHindsightListsFiftyAndTheRestByTheAPI(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		var eggs []learn.Past
		for i := range 57 {
			eggs = append(eggs, past(fmt.Sprintf("m%d-a", i), 20+float64(i), 1, 0.5, "male"))
		}
		s.snap.Lesson = lesson(eggs...)
		page := s.ask("GET", "/hindsight", "").Body.String()
		if n := strings.Count(page, `<li class="clutch">`); n != 50 || !strings.Contains(page, "And 7 more.") {
			t.Errorf("the page lists %d of 57", n)
		}
		var got struct{ Eggs []struct{ Egg string } }
		if err := json.Unmarshal(s.ask("GET", "/api/hindsight", "").Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		if len(got.Eggs) != 57 || got.Eggs[0].Egg != "m0-a" || got.Eggs[56].Egg != "m56-a" {
			t.Errorf("the API lists %d of 57", len(got.Eggs))
		}
	})
}

func TestHindsightAnswersAsOpenAPISays(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		_, compiler := readOpenAPI(t, s)
		schema, err := compiler.Compile("openapi.json#/components/schemas/Hindsight")
		if err != nil {
			t.Fatal(err)
		}
		undated := past("k1-a", 11, 0, 0.2, "")
		undated.Shipped, undated.Learned = learn.Said{Male: 0.2}, learn.Said{Male: 0.2}
		lessons := hindsightPages()
		lessons["undated"], lessons["failed"] = lesson(undated), monitor.Lesson{Failed: true}
		for name, l := range lessons {
			s.snap.Lesson = l
			text := s.ask("GET", "/api/hindsight", "").Body.String()
			body, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
			if err != nil {
				t.Fatal(err)
			}
			if err := schema.Validate(body); err != nil {
				t.Errorf("%s: %v", name, err)
			}
			if strings.Contains(text, "null") || strings.Contains(text, "0001-01-01") {
				t.Errorf("%s tells what is not known: %s", name, text)
			}
			if s := l.Hindsight.Shipped; s.Hatched == 0 && strings.Contains(text, "_days") ||
				s.Sexed == 0 && strings.Contains(text, "brier") {
				t.Errorf("%s tells a mean of nothing: %s", name, text)
			}
			computing := name == "hindsight-starts" || name == "hindsight-waits"
			if strings.Contains(text, `"computing":true`) != computing {
				t.Errorf("%s does not say rightly whether it is being worked out", name)
			}
		}
	})
}

func TestHindsightHasTheAgreedShape(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		s.snap.Lesson = lesson(season()...)
		var got map[string]any
		if err := json.Unmarshal(s.ask("GET", "/api/hindsight", "").Body.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		marks, eggs := got["shipped"].(map[string]any), map[string]map[string]any{}
		var order []string
		for _, e := range got["eggs"].([]any) {
			egg := e.(map[string]any)
			eggs[egg["egg"].(string)] = egg
			order = append(order, egg["egg"].(string))
		}
		// k1-b was lost 30 days ago.
		const newest = "k1-a k1-c p0-a p0-b p1-a p1-b p2-a k1-b p2-b p3-a p3-b p4-a p4-b p5-a p5-b"
		if got := strings.Join(order, " "); got != newest {
			t.Errorf("the eggs come as %s, want %s", got, newest)
		}
		hatched, lost := eggs["k1-a"], eggs["k1-b"]
		for name, c := range map[string]struct {
			object any
			keys   string
		}{
			"all":          {got, "computing eggs learned learned_from shipped"},
			"learned from": {got["learned_from"], "clutches effective hatches renewed sexes"},
			"marks":        {marks, "brier hatched inside late_days off_days reliability sexed width_days"},
			"a band":       {marks["reliability"].([]any)[0], "eggs from high low males said to"},
			"an empty one": {marks["reliability"].([]any)[2], "eggs from high low males to"},
			"an egg":       {hatched, "clutch egg found learned sex shipped"},
			"said of it":   {hatched["shipped"], "earliest inside late_days latest likely male_probability"},
			"a lost egg":   {lost, "clutch egg learned shipped"},
			"said of that": {lost["learned"], "earliest latest likely male_probability"},
		} {
			if keys := strings.Join(slices.Sorted(maps.Keys(c.object.(map[string]any))), " "); keys != c.keys {
				t.Errorf("%s has %s, want %s", name, keys, c.keys)
			}
		}
		if n := got["learned_from"].(map[string]any)["effective"]; n != 412.346 {
			t.Errorf("effective is %v", n)
		}
	})
}

// Other pages say in one line that estimates rest on this room's outcomes,
// and only where they do: those of ended eggs do not.
func TestPagesSayWhatEstimatesLearnedFrom(t *testing.T) {
	const line = `Estimates have learned from 7 clutches of this room. <a href="/hindsight">`
	atNoon(t, func(t *testing.T) {
		s := open(t)
		for _, r := range []struct {
			path   string
			lesson monitor.Lesson
			has    bool
		}{
			{"/clutches", lesson(season()...), true},
			{"/clutches/k3", lesson(season()...), true},
			{"/clutches/k1", lesson(season()...), false},
			{"/clutches", lesson(), false},
			{"/clutches/k3", monitor.Lesson{}, false},
		} {
			s.snap.Lesson = r.lesson
			page := s.ask("GET", r.path, "").Body.String()
			if strings.Contains(page, line) != r.has || !r.has && strings.Contains(page, "have learned") {
				t.Errorf("%s with %d clutches learned from says it: %v", r.path, r.lesson.Clutches, !r.has)
			}
			if r.path == "/clutches" && !strings.Contains(page, `href="/hindsight"`) {
				t.Error("no way leads from the clutches to the hindsight")
			}
		}
	})
}

// An open page that waits is brought up to date when the figures are there.
func TestHindsightChangesThePagesStamp(t *testing.T) {
	stamp := regexp.MustCompile(`data-structure="([0-9a-f]+)"`)
	atNoon(t, func(t *testing.T) {
		s := open(t)
		seen := map[string]string{}
		for name, l := range hindsightPages() {
			s.snap.Lesson = l
			found := stamp.FindStringSubmatch(s.ask("GET", "/hindsight", "").Body.String())
			if found == nil {
				t.Fatalf("%s has no stamp", name)
			}
			if other, twice := seen[found[1]]; twice {
				t.Errorf("%s and %s have one stamp", name, other)
			}
			seen[found[1]] = name
		}
	})
}

func TestHindsightFitsAPhone(t *testing.T) {
	url, tick := serveToday(t)
	b := browse(t)
	for name, l := range hindsightPages() {
		tick(func(n *monitor.Snapshot) { n.Lesson = l })
		b.fits(url, map[string]string{name: "/hindsight", name + ", clutches": "/clutches", name + ", clutch": "/clutches/k3"})
	}
}

func TestOpenHindsightFillsItselfWhenTheFiguresAreThere(t *testing.T) {
	url, tick := serveToday(t)
	b := browse(t)
	b.open(url + "/hindsight")
	var waits bool
	b.ask(`document.querySelector("[data-waits]") !== null`, &waits)
	if !waits {
		t.Fatal("the page does not wait for the figures")
	}
	tick(func(n *monitor.Snapshot) { n.Lesson = lesson(season()...) })
	var says string
	b.ask(`(async () => {
		for (let i = 0; i < 400 && document.querySelector("[data-waits]"); i++) await new Promise(r => setTimeout(r, 25));
		return document.querySelector("main").innerText; })()`, &says)
	if !strings.Contains(says, "Of 14 eggs that hatched") {
		t.Errorf("the page says %s", says)
	}
}
