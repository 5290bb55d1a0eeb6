package web_test

import (
	"context"
	"encoding/json"
	"html"
	"net/http"
	"strings"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
	"clutchd/incubation"
	"clutchd/incubation/book"

	"github.com/google/go-cmp/cmp"
)

// An invented past: what was asked, and four firings, three of them at night,
// with the limits in force; none with any other.
type inventedPast struct {
	asked   []monitor.PreviewQuestion
	err     error
	partial bool
}

func (p *inventedPast) Preview(_ context.Context, q monitor.PreviewQuestion) (monitor.Preview, error) {
	p.asked = append(p.asked, q)
	if p.err != nil {
		return monitor.Preview{}, p.err
	}
	rule, _ := alerts.RuleFor(q.Rule)
	zone, _ := time.LoadLocation("Europe/Berlin")
	out := monitor.Preview{
		Rule: rule, Subject: q.Subject, From: noon.Add(-30 * 24 * time.Hour), To: noon, Whole: !p.partial,
		Known: 12 * 24 * time.Hour, Night: zone, Fired: make([][]monitor.Firing, len(q.Limits)),
		Caveats: []string{"An open door is not seen."},
	}
	for _, ago := range []float64{20.45, 11, 5.45, 1.45} { // 1:44, but for one at noon
		at := days(-ago)
		out.Fired[0] = append(out.Fired[0], monitor.Firing{
			Since: at.Add(-10 * time.Minute), Raised: at, Over: at.Add(35 * time.Minute), Severity: alerts.Warning,
			Worst: ptr(33.2), Limit: ptr(33.0),
		})
	}
	return out, nil
}

func openTuning(t *testing.T) (*site, *inventedPast) {
	past := &inventedPast{}
	return open(t, func(o *web.Options) { o.Rehearse = past }), past
}

func TestTuningIsTriedOnThePast(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, past := openTuning(t)
		page := html.UnescapeString(s.ask("GET", "/alerts/rules/too-warm?place=box-2", "").Body.String())
		for what, text := range map[string]string{
			"what is in force": "1.5 over the setpoint, for 10 min", "the limit": `name="limit" type="text" value="1.5"`,
			"the delay": `name="minutes" type="text" value="10"`, "the place": "Oak cabinet / Box 2, bottom",
		} {
			if !strings.Contains(page, text) {
				t.Errorf("the page lacks %s: %q", what, text)
			}
		}
		if len(past.asked) > 0 {
			t.Error("the past is lived through before anybody asks")
		}
		page = html.UnescapeString(s.ask("GET", "/alerts/rules/too-warm?place=box-2&try=1&unit=°C&limit=2,5&minutes=20", "").Body.String())
		for what, text := range map[string]string{
			"the answer":      "On the last 30 days: 4 times, 3 of them at night. With these values: never.",
			"each of them":    "01:44–02:19",
			"how bad":         "worst 33.2 °C, limit 33.0 °C",
			"what is missing": "There is something to go by for 12 d of these 30 d only.",
			"the caveat":      "An open door is not seen.",
			"the next step":   "Write these values into the book",
		} {
			if !strings.Contains(page, text) {
				t.Errorf("the answer lacks %s: %q", what, text)
			}
		}
		want := []monitor.PreviewQuestion{{Rule: "too-warm", Subject: "box-2", Limits: []book.LimitsData{
			{Place: "box-2"},
			{
				Place: "box-2", OverSetpointKelvin: ptr(2.5),
				RuleOverrides: map[string]book.RuleOverride{"too-warm": {OnDelaySeconds: ptr(1200.0)}},
			},
		}}}
		if d := cmp.Diff(want, past.asked); d != "" {
			t.Errorf("asked of the past (-want +got):\n%s", d)
		}
		if len(s.door.made) > 0 {
			t.Error("trying has changed something")
		}
	})
}

func TestTuningIsWrittenDown(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		for _, c := range []struct {
			name, rule, form string
			want             book.LimitsData
		}{
			{
				"a limit that the book has a field for", "too-warm", "place=box-2&limit=2&minutes=10",
				book.LimitsData{Place: "box-2", OverSetpointKelvin: ptr(2.0)},
			},
			{
				"one that it has none for", "heater-off", "place=oak&limit=23&minutes=30",
				book.LimitsData{Place: "oak", RuleOverrides: map[string]book.RuleOverride{
					"heater-off": {Limit: ptr(23.0), OnDelaySeconds: ptr(1800.0)},
				}},
			},
			{
				"degrees Fahrenheit off the setpoint", "too-warm", "place=box-2&limit=3.6&minutes=10&unit=°F",
				book.LimitsData{Place: "box-2", OverSetpointKelvin: ptr(2.0)},
			},
			{
				"a place's own limit", "above-limit", "place=pepper&limit=35&minutes=10",
				book.LimitsData{Place: "pepper", HighCelsius: ptr(incubation.Celsius(35))},
			},
			{
				"percent", "dry-air", "place=box-2&limit=70&minutes=240",
				book.LimitsData{
					Place: "box-2", LowHumidityRatio: ptr(0.7),
					RuleOverrides: map[string]book.RuleOverride{"dry-air": {OnDelaySeconds: ptr(14400.0)}},
				},
			},
		} {
			s, _ := openTuning(t)
			for range 2 { // a double tap writes it once
				w := s.ask("POST", "/alerts/rules", "rule="+c.rule+"&"+c.form+"&request=r-1")
				if w.Code != http.StatusSeeOther || !strings.HasPrefix(w.Header().Get("Location"), "/alerts/rules/"+c.rule+"?place=") {
					t.Fatalf("%s: answer %d\n%s", c.name, w.Code, w.Body)
				}
			}
			if len(s.door.made) != 1 {
				t.Fatalf("%s: %d changes", c.name, len(s.door.made))
			}
			data, err := book.Decode(*s.door.made[0].Entry)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(any(c.want), data); d != "" {
				t.Errorf("%s (-want +got):\n%s", c.name, d)
			}
		}
	})
}

func TestTuningRefusesInWords(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, past := openTuning(t)
		for address, want := range map[string]string{
			"/alerts/rules/too-warm?place=box-2&try=1&limit=x&minutes=5":       "“x” is not a number.",
			"/alerts/rules/too-warm?place=box-2&try=1&limit=&minutes=5":        "Say at which value it is to tell.",
			"/alerts/rules/too-warm?place=box-2&try=1&limit=30&minutes=5":      "outside",
			"/alerts/rules/acute-heat?place=box-2&try=1&limit=45&minutes=1":    "may lie between",
			"/alerts/rules/runaway-heat?place=box-2&try=1&limit=34&minutes=90": "may wait for 10 min at most",
		} {
			w := s.ask("GET", address, "")
			page := html.UnescapeString(w.Body.String())
			if w.Code != http.StatusUnprocessableEntity || !strings.Contains(page, want) {
				_, page, _ = strings.Cut(page, "<main")
				t.Errorf("%s answers %d without %q\n%s", address, w.Code, want, page)
			}
		}
		if len(past.asked) > 0 {
			t.Error("the past was asked about values that the book refuses")
		}
		past.err = &monitor.Refusal{Text: "the past is being lived through for someone else"}
		w := s.ask("GET", "/alerts/rules/too-warm?place=box-2&try=1&limit=2&minutes=5", "")
		if !strings.Contains(w.Body.String(), "The past is being lived through for someone else.") {
			t.Errorf("a second asker gets %d\n%s", w.Code, w.Body)
		}
		for _, address := range []string{"/alerts/rules/too-loud", "/alerts/rules/too-loud?place=oak"} {
			if w := s.ask("GET", address, ""); w.Code != http.StatusNotFound {
				t.Errorf("%s answers %d", address, w.Code)
			}
		}
		if w := s.ask("POST", "/alerts/rules", "rule=too-warm&place=attic&limit=2"); w.Code != http.StatusNotFound {
			t.Errorf("a place that is not there: %d", w.Code)
		}
		page := s.ask("GET", "/alerts/rules/store", "").Body.String()
		if !strings.Contains(page, "there is nothing to try on the past") {
			t.Error("a rule without a value does not say so")
		}
	})
}

func TestPreviewOverTheAPI(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, past := openTuning(t)
		past.partial = true
		var got struct {
			Whole  bool
			Trials []struct {
				Limit        float64
				OnDelay      float64 `json:"on_delay_seconds"`
				Count, Night int
				PerMonth     float64 `json:"per_month"`
			}
		}
		w := s.ask("GET", "/api/alerts/preview?rule=too-warm&subject=box-2&limit=2&on_delay_seconds=1200&days=20", "")
		if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil || w.Code != http.StatusOK {
			t.Fatal(w.Code, err)
		}
		if len(got.Trials) != 2 || got.Whole || got.Trials[0].Limit != 1.5 || got.Trials[0].OnDelay != 600 ||
			got.Trials[0].Count != 4 || got.Trials[0].PerMonth != 4 || got.Trials[1].Limit != 2 || got.Trials[1].OnDelay != 1200 {
			t.Errorf("preview %+v", got)
		}
		if past.asked[0].Days != 20 {
			t.Errorf("asked about %d days", past.asked[0].Days)
		}
		for _, address := range []string{
			"/api/alerts/preview", "/api/alerts/preview?rule=too-warm", "/api/alerts/preview?rule=too-warm&subject=box-2&limit=x",
			"/api/alerts/preview?rule=too-warm&subject=box-2&days=31", "/api/alerts/preview?rule=acute-heat&subject=box-2&limit=44",
		} {
			if w := s.ask("GET", address, ""); w.Code != http.StatusUnprocessableEntity {
				t.Errorf("%s answers %d", address, w.Code)
			}
		}
	})
}
