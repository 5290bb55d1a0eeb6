package web_test

import (
	"encoding/json"
	"errors"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
	"clutchd/incubation"
	"clutchd/incubation/book"

	"github.com/google/go-cmp/cmp"
)

func fill(pairs ...string) url.Values {
	v := url.Values{"request": {"page-0123456789abcdef"}, "unit": {"°C"}, "return": {"/"}}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

func TestFormsWriteTheBook(t *testing.T) {
	for _, c := range []struct {
		sentence string
		form     url.Values
		at       string // "" is for the door to fill in
		data     string
	}{
		{
			"a clutch found just now", fill("kind", "laying", "female", "f-saffron", "from", "2026-06-13T21:00",
				"eggs", "2", "place", "lay-pepper", "clutch", "k5"), "2026-06-14T10:32:10Z",
			`{"clutch":"k5","female":"f-saffron","from":"2026-06-13T19:00:00Z","to":"2026-06-14T10:32:10Z","place":"lay-pepper",` +
				`"eggs":[{"egg":"k5-a","mark":"A"},{"egg":"k5-b","mark":"B"}]}`,
		},
		{"an egg put in a box", fill("kind", "egg", "egg", "k3-a", "box", "box-1"), "", `{"egg":"k3-a","box":"box-1"}`},
		{"an egg candled this morning, in the room's zone", fill("kind", "candle", "egg", "k3-a", "seen", "alive",
			"at", "2026-06-14T09:15"), "2026-06-14T07:15:00Z", `{"egg":"k3-a","seen":"alive"}`},
		{"an egg pipped", fill("kind", "pip", "egg", "k2-a"), "", `{"egg":"k2-a"}`},
		{"an egg hatched, its sex not seen", fill("kind", "hatch", "egg", "k2-b", "sex", ""), "", `{"egg":"k2-b"}`},
		{
			"a hatchling sexed", fill("kind", "sexed", "egg", "k1-a", "sex", "male", "how", "anatomy"), "",
			`{"egg":"k1-a","sex":"male","how":"anatomy"}`,
		},
		{
			"a hatchling labelled from the temperature", fill("kind", "sexed", "egg", "k1-a", "sex", "female", "how", "temperature"), "",
			`{"egg":"k1-a","sex":"female","how":"temperature"}`,
		},
		{
			"a hatchling whose egg is not known, one field left empty",
			fill("kind", "sexed", "clutch", "k1", "males", "", "females", "1", "how", "anatomy"), "",
			`{"clutch":"k1","females":1,"how":"anatomy"}`,
		},
		{"an egg lost", fill("kind", "fail", "egg", "k3-b", "cause", "dented"), "", `{"egg":"k3-b","cause":"dented"}`},
		{
			"a thermostat set, with a comma", fill("kind", "setpoint", "place", "tin", "celsius", "28,5"), "",
			`{"place":"tin","celsius":28.5}`,
		},
		{
			"a thermostat set in °F", fill("kind", "setpoint", "place", "tin", "celsius", "88.7", "unit", "°F"), "",
			`{"place":"tin","celsius":31.5}`,
		},
		{
			"a plan for an incubator", fill("kind", "plan", "about", "place:tin", "at-1", "2026-06-20T08:00", "celsius-1", "30"),
			"", `{"place":"tin","steps":[{"at":"2026-06-20T06:00:00Z","celsius":30}]}`,
		},
		{"a plan for an egg, by day", fill("kind", "plan", "about", "egg:k3-a", "day-1", "24", "celsius-1", "28",
			"day-2", "30", "box-2", "box-3"), "", `{"egg":"k3-a","steps":[{"day":24,"celsius":28},{"day":30,"box":"box-3"}]}`},
		{"no plan any more", fill("kind", "plan", "about", "egg:k3-a"), "", `{"egg":"k3-a","steps":[]}`},
		{"a box moved", fill("kind", "stand", "place", "box-3", "in", "oak"), "", `{"place":"box-3","in":"oak"}`},
		{"a box taken out", fill("kind", "stand", "place", "box-3", "in", "."), "", `{"place":"box-3","in":""}`},
		{"a probe taken out", fill("kind", "probe", "probe", "w1-28-04b2", "place", "."), "", `{"probe":"w1-28-04b2","place":""}`},
		{
			"a new probe put beside eggs, calibrated", fill("kind", "probe", "probe", "w1-28-04d4", "place", "box-3",
				"position", "substrate", "offset_kelvin", "-0.2", "accuracy_kelvin", "0.1"), "",
			`{"probe":"w1-28-04d4","place":"box-3","position":"substrate","accuracy_kelvin":0.1,"offset_kelvin":-0.2}`,
		},
		{
			"a probe in melting ice", fill("kind", "calibrated", "probe", "w1-28-04b2", "method", "ice-point", "celsius", "−0,4"), "",
			`{"probe":"w1-28-04b2","method":"ice-point","celsius":[{"read":-0.4,"true":0}]}`,
		},
		{
			"a probe at two points, in °F", fill("kind", "calibrated", "probe", "w1-28-04b2", "method", "two-point",
				"celsius", "32", "celsius_true", "33.8", "celsius_2", "86", "celsius_2_true", "87.8",
				"uncertainty_kelvin", "0.18", "unit", "°F"), "",
			`{"probe":"w1-28-04b2","method":"two-point","celsius":[{"read":0,"true":1},{"read":30,"true":31}],"uncertainty_kelvin":0.1}`,
		},
		{
			"a hygrometer over salt", fill("kind", "calibrated", "probe", "w1-28-04b2", "method", "salt", "humidity_ratio", "72",
				"salt", "sodium-chloride", "salt_celsius", "25", "due", "2027-01-01T12:00"), "",
			`{"probe":"w1-28-04b2","method":"salt","humidity_ratio":[{"read":0.72,"salt":"sodium-chloride","celsius":25}],"due":"2027-01-01T11:00:00Z"}`,
		},
		{
			"limits, some of them", fill("kind", "limits", "place", "pepper", "low_celsius", "22", "low_humidity_ratio", "30"),
			"", `{"place":"pepper","low_celsius":22,"low_humidity_ratio":0.3}`,
		},
		{
			"limits by night, and the year's cooling", fill("kind", "limits", "place", "pepper", "night_from", "21:00",
				"night_to", "07:00:00", "night_low_celsius", "18", "cooling_from", "november 15", "cooling_to", "28. feb",
				"cooling_high_celsius", "20"), "",
			`{"place":"pepper","night":{"from":"21:00","to":"07:00","low_celsius":18},` +
				`"cooling":{"from":"11-15","to":"02-28","high_celsius":20}}`,
		},
		{
			"a rule that is told sooner at one place", fill("kind", "limits", "one", "rule", "rule", "too-warm",
				"limit", "2,7", "on_delay", "5", "unit", "°F", "limits", `{"place":"tin","over_setpoint_kelvin":1}`), "",
			`{"place":"tin","over_setpoint_kelvin":1,"rule_overrides":{"too-warm":{"limit":1.5,"on_delay_seconds":300}}}`,
		},
		{
			"a rule that is not told there", fill("kind", "limits", "one", "rule", "rule", "off-setpoint", "off", "yes",
				"limits", `{"place":"tin","rule_overrides":{"too-cool":{"on_delay_seconds":60}}}`), "",
			`{"place":"tin","rule_overrides":{"off-setpoint":{"off":true},"too-cool":{"on_delay_seconds":60}}}`,
		},
		{
			"a rule given back as it is", fill("kind", "limits", "one", "rule", "rule", "too-cool",
				"limits", `{"place":"tin","low_celsius":20,"rule_overrides":{"too-cool":{"on_delay_seconds":60}}}`), "",
			`{"place":"tin","low_celsius":20}`,
		},
		{"a difference in °F is one in K", fill("kind", "limits", "place", "tin", "over_setpoint_kelvin", "2.7",
			"unit", "°F"), "", `{"place":"tin","over_setpoint_kelvin":1.5}`},
		{"a female", fill("kind", "female", "name", "Nutmeg"), "", `{"female":"nutmeg","name":"Nutmeg"}`},
		{
			"a note", fill("kind", "note", "text", " changed the water ", "subject", "tin"), "",
			`{"subject":"tin","text":"changed the water"}`,
		},
		{"an entry taken back", fill("kind", "void", "entry", "30", "why", "wrong egg"), "", `{"entry":30,"why":"wrong egg"}`},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				w := s.ask("POST", "/entries", c.form.Encode())
				if w.Code != http.StatusSeeOther || len(s.door.made) != 1 {
					t.Fatalf("answer %d, %d changes\n%s", w.Code, len(s.door.made), errorsIn(w.Body.String()))
				}
				e := *s.door.made[0].Entry
				if got := string(e.Data); got != c.data {
					t.Errorf("data\n%s, want\n%s", got, c.data)
				}
				at := ""
				if !e.At.IsZero() {
					at = e.At.Format(time.RFC3339)
				}
				if at != c.at || e.Zone != "Europe/Berlin" || e.Request != "page-0123456789abcdef" {
					t.Errorf("entry %+v, want it at %q", e, c.at)
				}
			})
		})
	}
}

func errorsIn(page string) string {
	var out []string
	for line := range strings.SplitSeq(page, "\n") {
		if strings.Contains(line, "error") {
			out = append(out, line)
		}
	}
	return strings.Join(out, "\n")
}

func TestPlaceFormMakesTheIdFromTheName(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		v := fill("name", "Box 4, left")
		v["kind"] = []string{"place", "box"}
		if w := s.ask("POST", "/entries", v.Encode()); w.Code == http.StatusSeeOther {
			t.Error("two answers to one question were taken")
		}
		w := s.ask("POST", "/entries", fill("kind", "place", "name", "Box 4, left", "place_kind", "box").Encode())
		if w.Code != http.StatusSeeOther {
			t.Fatalf("answer %d\n%s", w.Code, errorsIn(w.Body.String()))
		}
		if got := string(s.door.made[0].Entry.Data); got != `{"place":"box-4-left","kind":"box","name":"Box 4, left"}` {
			t.Errorf("data %s", got)
		}
	})
}

func TestDoubleTapIsOneEntry(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		page := s.ask("GET", "/entries/new?kind=note", "").Body.String()
		_, rest, _ := strings.Cut(page, `name="request" value="`)
		id, _, _ := strings.Cut(rest, `"`)
		if other := s.ask("GET", "/entries/new?kind=note", "").Body.String(); len(id) < 16 || strings.Contains(other, id) {
			t.Fatalf("two forms carry one id %q", id)
		}
		form := fill("kind", "note", "text", "fed", "request", id).Encode()
		one, two := s.ask("POST", "/entries", form), s.ask("POST", "/entries", form)
		if one.Code != http.StatusSeeOther || two.Code != http.StatusSeeOther ||
			one.Header().Get("Location") != two.Header().Get("Location") {
			t.Errorf("first %d %v, second %d %v", one.Code, one.Header(), two.Code, two.Header())
		}
		if len(s.door.made) != 1 {
			t.Errorf("%d entries were made", len(s.door.made))
		}
		changed := fill("kind", "note", "text", "fed twice", "request", id, "return", "/entries?written=7").Encode()
		if to := s.ask("POST", "/entries", changed).Header().Get("Location"); to != "/entries?again=1&written=1000" || len(s.door.made) != 1 {
			t.Errorf("the form changed after the back button leads to %s; %d entries", to, len(s.door.made))
		}
		if page := s.ask("GET", "/?written=15&again=1", "").Body.String(); !strings.Contains(page, "what you changed in it since was not: Thermostat of Tin cabinet set to 28\u00a0°C.") {
			t.Error("the page does not say that the change was not written down")
		}
	})
}

func TestRefusedFormKeepsWhatWasTyped(t *testing.T) {
	for _, c := range []struct {
		sentence string
		form     url.Values
		door     error
		code     int
		says     []string
	}{
		{
			"what is no number", fill("kind", "setpoint", "place", "tin", "celsius", "28°"), nil, 422,
			[]string{"is not a number", `value="28°"`, `<option value="tin" selected>`, `aria-invalid="true"`},
		},
		{
			"what the book refuses", fill("kind", "setpoint", "place", "tin", "celsius", "28", "at", "2031-01-01T08:00"), nil, 422,
			[]string{`value="28"`, `value="2031-01-01T08:00"`, `role="alert"`},
		},
		{
			"a box moved who knows where", fill("kind", "stand", "place", "box-3", "in", ""), nil, 422,
			[]string{"Choose one here", `<option value="box-3" selected>`},
		},
		{
			"a temperature that no room has", fill("kind", "setpoint", "place", "tin", "celsius", "285"), nil, 422,
			[]string{"285 is outside 0 to 50", `value="285"`},
		},
		{
			"a date that is none", fill("kind", "note", "text", "kept <b>words</b>", "at", "yesterday"), nil, 422,
			[]string{"is not a date and time", "kept &lt;b&gt;words&lt;/b&gt;"},
		},
		{
			"a plan without a subject", fill("kind", "plan", "celsius-1", "30"), nil, 422,
			[]string{"Choose what the plan is for", `value="30"`},
		},
		{
			"a plan for yesterday", fill("kind", "plan", "about", "place:tin", "at-2", "2026-06-13T08:00", "celsius-2", "30"), nil, 422,
			[]string{"From: this time is over", `value="30"`, `value="2026-06-13T08:00"`},
		},
		{
			"a night without an end", fill("kind", "limits", "place", "pepper", "night_from", "21:00", "night_low_celsius", "18",
				"rule_overrides", `{"above-limit":{"off":true}}`), nil, 422,
			[]string{"To: a time like 21:00 is wanted here.", `value="21:00"`, "“Above its limit” not told", `value="{&#34;above-limit&#34;`},
		},
		{
			"a night without limits", fill("kind", "limits", "place", "pepper", "night_from", "21:00", "night_to", "07:00"), nil, 422,
			[]string{"the night has no limit of its own"},
		},
		{
			"a season that begins on a day that no year has", fill("kind", "limits", "place", "pepper", "cooling_from", "31 Nov",
				"cooling_to", "28 Feb", "cooling_high_celsius", "20"), nil, 422,
			[]string{"A day like 15 Nov is wanted here", `value="31 Nov"`},
		},
		{
			"a rule that may not be changed so", fill("kind", "limits", "one", "rule", "rule", "acute-heat", "off", "yes",
				"limits", `{"place":"tin"}`), &monitor.Refusal{Field: "rule_overrides", Text: "“Deadly heat” wakes people: it cannot be switched off"}, 422,
			[]string{"“Deadly heat” wakes people: it cannot be switched off.", "A rule at Tin cabinet", `<option value="acute-heat" selected>`},
		},
		{
			"an unknown position of the eggs", fill("kind", "egg", "egg", "", "box", "box-1"), nil, 422,
			[]string{"Choose one here", `<option value="box-1" selected>`},
		},
		{
			"how a sex was told, left open", fill("kind", "sexed", "egg", "k1-a", "sex", "male", "how", ""), nil, 422,
			[]string{"How it was told: choose one here.", `<option value="k1-a" selected>`, `<option value="male" selected>`},
		},
		{
			"more animals than hatched", fill("kind", "sexed", "clutch", "k1", "males", "2", "females", "", "how", "anatomy"), nil, 422,
			[]string{"Males: 2 animals are too many", `name="clutch" value="k1"`, `name="males" type="number" value="2"`, `<option value="anatomy" selected>`},
		},
		{
			"a sexing before the hatch", fill("kind", "sexed", "egg", "k1-a", "sex", "male", "how", "anatomy", "at", "2026-06-01T08:00"), nil, 422,
			[]string{"Egg it came from: egg k1-a has not hatched by then."},
		},
		{
			"a disk that does not answer", fill("kind", "note", "text", "fed"), errors.New("disk gone"), 503,
			[]string{"could not be written down", ">fed</textarea>"},
		},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				s.door.err = c.door
				w := s.ask("POST", "/entries", c.form.Encode())
				page := w.Body.String()
				if w.Code != c.code || len(s.door.made) > 0 {
					t.Errorf("answer %d, want %d; %d changes", w.Code, c.code, len(s.door.made))
				}
				for _, says := range append(c.says, `value="page-0123456789abcdef"`) {
					if !strings.Contains(page, says) {
						t.Errorf("the form lacks %q:\n%s", says, page)
					}
				}
				if strings.Contains(page, "disk gone") {
					t.Error("the page tells the log's business")
				}
			})
		})
	}
}

func TestEveryFormOpensAndNamesItsKind(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		page := s.ask("GET", "/entries", "").Body.String()
		for _, kind := range []book.Kind{
			book.KindPlace, book.KindStand, book.KindProbe, book.KindCalibrated, book.KindContact, book.KindSetpoint,
			book.KindPlan,
			book.KindLimits, book.KindService, book.KindAnimal, book.KindChecked, book.KindPaired, book.KindWeighed, book.KindHoused,
			book.KindTreated, book.KindQuarantine, book.KindRetired, book.KindLooked, book.KindMilestone, book.KindLaying, book.KindEgg, book.KindCandle, book.KindPip,
			book.KindHatch, book.KindSexed, book.KindFail, book.KindNote, book.KindVoid,
		} {
			if !strings.Contains(page, "/entries/new?kind="+string(kind)) {
				t.Errorf("the book offers no form for %s", kind)
			}
			if form := s.ask("GET", "/entries/new?kind="+string(kind), ""); form.Code != http.StatusOK ||
				!strings.Contains(form.Body.String(), `name="kind" value="`+string(kind)+`"`) {
				t.Errorf("the form for %s does not open", kind)
			}
		}
	})
}

// A form that shows what is in force must give the same back when nothing is
// changed in it, in either unit.
func TestLimitsFormGivesBackWhatItShows(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		want := book.LimitsData{
			Place: "pepper", LowCelsius: ptr(incubation.Celsius(22.35)),
			HighCelsius: ptr(incubation.Celsius(31.5)), LowHumidityRatio: ptr(0.29),
			OverSetpointKelvin: ptr(1.5),
			Night: &book.NightLimits{From: 21 * 60, To: 7*60 + 30, PeriodLimits: book.PeriodLimits{
				LowCelsius: ptr(incubation.Celsius(18.5)), HighCelsius: ptr(incubation.Celsius(26)),
			}},
			Cooling: &book.CoolingLimits{
				From: book.YearDay{Month: time.November, Day: 15}, To: book.YearDay{Month: time.February, Day: 29},
				PeriodLimits: book.PeriodLimits{LowCelsius: ptr(incubation.Celsius(12)), LowHumidityRatio: ptr(0.2)},
			},
			RuleOverrides: map[string]book.RuleOverride{"above-limit": {OnDelaySeconds: ptr(1800.0)}},
		}
		for _, units := range []string{"C", "F"} {
			s := open(t)
			s.snap.Book.Limits["pepper"] = want
			page := s.ask("GET", "/entries/new?kind=limits&place=pepper", "", "Cookie", "clutchd_units="+units).Body.String()
			form := fill("kind", "limits", "place", "pepper", "unit", "°"+units)
			for _, m := range regexp.MustCompile(`name="([a-z_]+)" (?:type="(?:text|time)" )?value="([^"]*)"`).FindAllStringSubmatch(page, -1) {
				if m[1] == "rule_overrides" || form.Get(m[1]) == "" && m[1] != "request" {
					form.Set(m[1], html.UnescapeString(m[2]))
				}
			}
			if w := s.ask("POST", "/entries", form.Encode()); w.Code != http.StatusSeeOther {
				t.Fatalf("answer %d", w.Code)
			}
			var got book.LimitsData
			if err := json.Unmarshal(s.door.made[0].Entry.Data, &got); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("in °%s (-shown +written):\n%s", units, diff)
			}
		}
	})
}

func TestClockIsOfferedThroughTheDoor(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		w := s.ask("POST", "/clock", "now=2026-06-14T10:40:00.000Z&back=/")
		if w.Code != http.StatusSeeOther || len(s.door.made) != 1 {
			t.Fatalf("answer %d", w.Code)
		}
		want := time.Date(2026, 6, 14, 10, 40, 0, 0, time.UTC)
		if got := s.door.made[0].ClockOffer.Now; !got.Equal(want) {
			t.Errorf("offered %v", got)
		}
		if w := s.ask("POST", "/clock", "now="); w.Code != http.StatusUnprocessableEntity || len(s.door.made) != 1 {
			t.Errorf("no time at all answers %d", w.Code)
		}
	})
}

// The book shows what was written, not JSON.
func TestBookShowsEntriesInWords(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		long := func(o *web.Options) {
			all := o.Entries(0)
			for i := range 100 {
				all = append(all, book.Entry{
					Seq: uint64(500 + i), At: noon, Made: noon, Kind: book.KindNote,
					Data: json.RawMessage(`{"text":"n <i>"}`),
				})
			}
			o.Entries = func(uint64) []book.Entry { return all }
		}
		s := open(t, long)
		page := s.ask("GET", "/entries", "").Body.String()
		if n := strings.Count(page, "take back"); n != 60 || !strings.Contains(page, ">n &lt;i&gt;</span>") {
			t.Errorf("the first page shows %d entries", n)
		}
		_, rest, _ := strings.Cut(page, `href="/entries?before=`)
		before, _, _ := strings.Cut(rest, `"`)
		older := s.ask("GET", "/entries?before="+before, "").Body.String()
		if before != "540" || !strings.Contains(older, "entry=539&") || strings.Contains(older, "entry=540&") {
			t.Errorf("older entries begin before %q", before)
		}
		if diff := cmp.Diff(1, strings.Count(older, "misted the vermiculite, 8 g")); diff != "" {
			t.Error(diff)
		}
	})
}

func TestBookSaysWhatWasTakenBack(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		entries := append(invented(t), book.Entry{
			Seq: 42, At: noon, Made: noon, Kind: book.KindVoid,
			Data: json.RawMessage(`{"entry":35,"why":"wrong box"}`),
		}, book.Entry{
			Seq: 43, At: noon, Made: noon,
			Kind: book.KindPip, Data: json.RawMessage(`{"egg":"k1-b"}`),
		})
		s := open(t, func(o *web.Options) { o.Entries = func(uint64) []book.Entry { return entries } })
		s.snap.Book = book.Fold(entries)
		page := s.ask("GET", "/entries?written=42", "").Body.String()
		for _, says := range []string{
			"Taken back: Pepper A into Box 1, top</span>",
			"Took back “Pepper A into Box 1, top”: wrong box</span>",
			"Written down: Took back “Pepper A into Box 1, top”: wrong box.",
			`Does not count: `,
		} {
			if strings.Count(page, says) != 1 {
				t.Errorf("the book lacks %q", says)
			}
		}
		if strings.Contains(page, "kind=void&amp;entry=35&") || !strings.Contains(page, "kind=void&amp;entry=34&") {
			t.Error("what was taken back can be taken back again, or what was not cannot")
		}
		if form := s.ask("GET", "/entries/new?kind=void&entry=34", "").Body.String(); !strings.Contains(form, "Pepper laid one egg") {
			t.Error("the form does not say what it takes back")
		}
	})
}

// Chromium shows an error of its own for a refused form that it may not keep.
func TestRefusedFormMayBeGoneBackTo(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		refused := s.ask("POST", "/entries", fill("kind", "setpoint", "place", "tin", "celsius", "285").Encode())
		if got := refused.Header().Get("Cache-Control"); got != "private, no-cache" {
			t.Errorf("a refused form is %q", got)
		}
		if got := s.ask("GET", "/", "").Header().Get("Cache-Control"); got != "no-store" {
			t.Errorf("the room is %q", got)
		}
	})
}
