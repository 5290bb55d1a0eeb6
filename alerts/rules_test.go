package alerts_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
)

// hole finds what a template leaves behind when something is missing.
var hole = regexp.MustCompile(`[{}<>\n]|%!|  | [.,:]|not known|^\s|\s$`)

var code = regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)

// The starting limits that the design fixes, one by one, so that none moves
// unseen.
func TestRulesAreAsAgreed(t *testing.T) {
	tests := []struct {
		code      string
		severity  alerts.Severity
		condition string
		on        time.Duration
		latching  bool
		settles   bool
	}{
		{"acute-heat", alerts.Critical, "38.0 °C or more", time.Minute, true, false},
		{"runaway-heat", alerts.Critical, "34.5 °C or more", 10 * time.Minute, true, false},
		{"heating-early", alerts.Critical, "", 2 * time.Minute, false, false},
		{"too-warm", alerts.Critical, "1.5 over the setpoint", 10 * time.Minute, false, true},
		{"off-setpoint", alerts.Warning, "1.0 over or under the setpoint", 30 * time.Minute, false, true},
		{"cooling-early", alerts.Warning, "", 10 * time.Minute, false, true},
		{"too-cool", alerts.Warning, "2.0 under the setpoint", 20 * time.Minute, false, true},
		{"heater-off", alerts.Critical, "under 22.0 °C", time.Hour, false, false},
		{"dry-air", alerts.Warning, "under 75 %", 3 * time.Hour, false, false},
		{"above-limit", alerts.Warning, "the place's own upper limit", 10 * time.Minute, false, false},
		{
			"below-limit",
			alerts.Warning, "under the place's own lower limit", 10 * time.Minute, false, false,
		},
		{
			"below-humidity",
			alerts.Warning, "under the place's own lower limit", time.Hour, false, false,
		},
		{"eggs-unwatched", alerts.Critical, "", 15 * time.Minute, false, false},
		{"silent-source", alerts.Warning, "", 30 * time.Second, false, false},
		{"stale", alerts.Warning, "", 0, false, false},
		{"frozen", alerts.Warning, "", time.Minute, false, false},
		{"probe-doubt", alerts.Warning, "", time.Minute, false, false},
		{"probe-drift", alerts.Warning, "", time.Hour, false, false},
		{"probe-slipped", alerts.Warning, "", time.Minute, false, false},
		{"probes-swapped", alerts.Warning, "", time.Minute, false, false},
		{"calibration-due", alerts.Info, "", time.Hour, false, false},
		{"door-open", alerts.Warning, "", 10 * time.Minute, false, false},
		{"enclosure-open", alerts.Warning, "", 5 * time.Minute, false, false},
		{"leak", alerts.Critical, "", 5 * time.Second, false, false},
		{"on-battery", alerts.Warning, "", time.Minute, false, false},
		{"contact-silent", alerts.Warning, "", 0, false, false},
		{"away", alerts.Warning, "10 min or more", 0, false, false},
		{"flood", alerts.Warning, "", time.Minute, false, false},
		{"clock", alerts.Info, "", 10 * time.Minute, false, false},
		{"store", alerts.Warning, "", 30 * time.Second, false, false},
		{"undelivered", alerts.Warning, "", 15 * time.Minute, false, false},
		{"damage", alerts.Warning, "", time.Second, false, false},
		{"tsp-open", alerts.Info, "", time.Hour, false, false},
		{"hatch-near", alerts.Info, "", time.Hour, false, false},
		{"hatch-overdue", alerts.Warning, "", time.Hour, false, false},
		{"vet", alerts.Warning, "", time.Minute, false, false},
		{"lay-box", alerts.Info, "", time.Hour, false, false},
		{"checks-due", alerts.Info, "", time.Hour, false, false},
	}
	var codes []string
	for _, tt := range tests {
		codes = append(codes, tt.code)
		r := rule(t, tt.code)
		if r.Severity != tt.severity || r.Condition(alerts.InCelsius) != tt.condition ||
			r.OnDelay != tt.on ||
			r.Latching != tt.latching || r.Settles != tt.settles {
			t.Errorf("%s: %s, %q, %v, latching %v, settles %v", r.Code, r.Severity,
				r.Condition(alerts.InCelsius), r.OnDelay, r.Latching, r.Settles)
		}
	}
	var declared []string
	for _, r := range alerts.Rules() {
		declared = append(declared, r.Code)
	}
	if diff := cmp.Diff(codes, declared); diff != "" {
		t.Errorf("codes (-agreed +declared):\n%s", diff)
	}
}

func TestRulesAreWhole(t *testing.T) {
	severities := []alerts.Severity{alerts.Info, alerts.Warning, alerts.Critical}
	marks := []alerts.Mark{alerts.Published, alerts.Derived, alerts.Judgement, alerts.CommonPractice}
	for _, r := range alerts.Rules() {
		t.Run(r.Code, func(t *testing.T) {
			if !code.MatchString(r.Code) {
				t.Errorf("code %q is not fit for a topic", r.Code)
			}
			if r.Title == "" || r.Why == "" || !slices.Contains(marks, r.Mark) {
				t.Errorf("title %q, why %q, mark %q: one is missing", r.Title, r.Why, r.Mark)
			}
			if !slices.Contains(severities, r.Severity) ||
				r.Empty != "" && !slices.Contains(severities, r.Empty) {
				t.Errorf("severities %q, %q", r.Severity, r.Empty)
			}
			// A limit in seconds is a wait of its own.
			if r.OnDelay <= 0 && r.Unit != "seconds" || r.OnDelay < 0 || r.OffDelay < 0 ||
				r.OffDelay == 0 && !r.Event {
				t.Errorf("on-delay %v, off-delay %v", r.OnDelay, r.OffDelay)
			}
			if r.Limit.Base != alerts.NoLimit && r.Unit == "" {
				t.Errorf("a limit without a unit")
			}
			if (r.Unit == "celsius" || r.Unit == "ratio") && r.Deadband <= 0 {
				t.Errorf("a measured value without a deadband")
			}
			if (r.Text.Over == "") != (r.Event && r.OnDelay >= 0) {
				t.Errorf("event %v, words for its end %q", r.Event, r.Text.Over)
			}
			if r.Text.Now == "" || r.Text.First == "" {
				t.Errorf("text %+v", r.Text)
			}
		})
	}
	if _, ok := alerts.RuleFor("no-such-rule"); ok {
		t.Error("RuleFor knows a rule that there is not")
	}
}

// Every rule is lived through in both scales: its texts must have no holes
// and fit a phone's lock screen.
func TestRulesSpeak(t *testing.T) {
	for _, r := range alerts.Rules() {
		for _, scale := range []alerts.Scale{alerts.InCelsius, alerts.InFahrenheit} {
			said := speak(t, r, scale)
			for _, text := range said {
				if hole.MatchString(text) {
					t.Errorf("%s: %q has a hole", r.Code, text)
				}
				if n := len([]rune(text)); n > 200 {
					t.Errorf("%s: %q is %d characters long, more than 200", r.Code, text, n)
				}
				if scale == alerts.InFahrenheit && strings.Contains(text, "°C") {
					t.Errorf("%s: %q is not in °F", r.Code, text)
				}
			}
		}
	}
}

// speak lives the rule through: raised, cleared. It gives the two texts.
func speak(t *testing.T, r alerts.Rule, scale alerts.Scale) []string {
	t.Helper()
	subject := map[alerts.SubjectKind]alerts.Subject{
		alerts.PlaceSubject:   box,
		alerts.ProbeSubject:   {Kind: alerts.ProbeSubject, ID: "w1-28-1", Name: "shelf-2"},
		alerts.ContactSubject: {Kind: alerts.ContactSubject, ID: "door-1", Name: "door of Incubator 1"},
		alerts.EggSubject:     {Kind: alerts.EggSubject, ID: "e1", Name: "7A"},
		alerts.FemaleSubject:  {Kind: alerts.FemaleSubject, ID: "f1", Name: "Saffron"},
		alerts.SystemSubject:  {Kind: alerts.SystemSubject, ID: "system", Name: "clutchd"},
	}[r.About]
	o := alerts.Observation{
		Subject: subject, Known: true, Eggs: []string{"e1", "e2"},
		Marks:    []string{"7A", "7B"},
		Setpoint: ptr(31.5), Scale: scale, NewID: func() string { return "o1" },
	}
	if r.About != alerts.PlaceSubject {
		o.Place, o.Detail = "Box 3", "It is so since Tuesday."
	}
	if strings.HasPrefix(r.Text.Now, "{Name}{detail}") {
		o.Detail = "is 32.4 and warming 0.12 a minute: reaches 34.5 in about 18 minutes."
	}
	o.Low, o.High = r.Bounds(o.Setpoint, map[alerts.BookLimit]float64{
		alerts.HighCelsius: 36, alerts.LowCelsius: 18, alerts.OffSetpointKelvin: 0.8,
		alerts.LowHumidityRatio: 0.8,
	})
	if r.Limit.Base == alerts.Given {
		o.High = ptr(300)
	}
	set := func(past float64) {
		switch {
		case o.High != nil:
			o.Value = ptr(*o.High + past)
		case o.Low != nil:
			o.Value = ptr(*o.Low - past)
		}
		o.Beyond = past > 0
	}
	set(0.1)
	var s alerts.State
	s, _ = alerts.Judge(r, s, o, t0)
	s, _ = alerts.Judge(r, s, o, t0.Add(r.OnDelay))
	if !s.Told() {
		t.Fatalf("%s: %s after its on-delay", r.Code, s.Phase)
	}
	now := s.Text
	set(map[string]float64{"celsius": -0.5, "ratio": -0.1, "seconds": -250}[r.Unit])
	over := t0.Add(r.OnDelay + time.Hour)
	s, _ = alerts.Judge(r, s, o, over)
	s, _ = alerts.Judge(r, s, o, over.Add(r.OffDelay))
	if s.Phase != alerts.Cleared && !s.Latched {
		t.Fatalf("%s: %s after its off-delay", r.Code, s.Phase)
	}
	if testing.Verbose() && scale == alerts.InCelsius {
		t.Logf("%s\n  %s\n  %s", r.Code, now, s.Text)
	}
	return []string{now, s.Text}
}

func TestBounds(t *testing.T) {
	own := func(key alerts.BookLimit, v float64) map[alerts.BookLimit]float64 {
		return map[alerts.BookLimit]float64{key: v}
	}
	tests := []struct {
		name      string
		rule      string
		setpoint  *float64
		own       map[alerts.BookLimit]float64
		low, high *float64
	}{
		{"a fixed limit needs no setpoint", "runaway-heat", nil, nil, nil, ptr(34.5)},
		{
			"the book moves no deadly limit",
			"runaway-heat", ptr(31), own(alerts.HighCelsius, 60), nil, ptr(34.5),
		},
		{
			"nor the one of a heater that is off",
			"heater-off", nil, own(alerts.LowCelsius, 5), ptr(22), nil,
		},
		{"without a setpoint there is nothing to be off", "off-setpoint", nil, nil, nil, nil},
		{"off on both sides of the setpoint", "off-setpoint", ptr(31), nil, ptr(30), ptr(32)},
		{
			"by as much as the book says",
			"off-setpoint", ptr(31), own(alerts.OffSetpointKelvin, 0.5), ptr(30.5), ptr(31.5),
		},
		{
			"but not by nothing",
			"off-setpoint", ptr(31), own(alerts.OffSetpointKelvin, 0), ptr(30), ptr(32),
		},
		{
			"another limit of the book is not this one",
			"off-setpoint", ptr(31), own(alerts.OverSetpointKelvin, 0.5), ptr(30), ptr(32),
		},
		{"too warm on one side only", "too-warm", ptr(31), nil, nil, ptr(32.5)},
		{"too cool on the other", "too-cool", ptr(31), nil, ptr(29), nil},
		{"dry by the rule", "dry-air", nil, nil, ptr(0.75), nil},
		{"dry by the book", "dry-air", nil, own(alerts.LowHumidityRatio, 0.8), ptr(0.8), nil},
		{"no own limit, none", "above-limit", ptr(31), nil, nil, nil},
		{"an own upper limit", "above-limit", nil, own(alerts.HighCelsius, 36), nil, ptr(36)},
		{"an own lower limit, zero", "below-limit", nil, own(alerts.LowCelsius, 0), ptr(0), nil},
		{"an upper limit is no lower one", "below-limit", nil, own(alerts.HighCelsius, 36), nil, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			low, high := rule(t, tt.rule).Bounds(tt.setpoint, tt.own)
			if diff := cmp.Diff([]*float64{tt.low, tt.high}, []*float64{low, high}); diff != "" {
				t.Errorf("low and high (-want +got):\n%s", diff)
			}
		})
	}
}
