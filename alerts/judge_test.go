package alerts_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
)

func TestJudgeState(t *testing.T) {
	d := newDesk(t, warm(t))
	d.judge(d.of(33.5), 0)
	d.judge(d.of(34.1), 4*minute)
	d.judge(d.of(33.1), 10*minute)
	want := alerts.State{
		Alert: "too-warm.place.box-3", Occurrence: "o1", Rule: "too-warm", Subject: box,
		Phase: alerts.Active, Severity: alerts.Critical, Since: t0, Raised: at(10 * minute),
		Raises: []time.Time{at(10 * minute)},
		Value:  ptr(34.1), Limit: ptr(33), Unit: "celsius", Eggs: []string{"e1", "e2"},
		Text: "Box 3 is 33.1 °C, 1.6 over its setpoint, for 10 min. Eggs 7A, 7B. " +
			"Open the door until it " +
			"falls, then look at the thermostat and at where its probe lies.",
	}
	if diff := cmp.Diff(want, d.state); diff != "" {
		t.Errorf("raised (-want +got):\n%s", diff)
	}

	d.judge(d.of(32), 20*minute)
	d.judge(d.of(31.6), 25*minute)
	want.Phase, want.Ended, want.Cleared = alerts.Cleared, at(20*minute), at(25*minute)
	want.Text = "Box 3 is back at 31.6 °C after 20 min; it reached 34.1 °C."
	if diff := cmp.Diff(want, d.state); diff != "" {
		t.Errorf("cleared (-want +got):\n%s", diff)
	}

	d.judge(d.of(33.2), 60*minute)
	d.judge(d.of(33.2), 70*minute)
	if d.state.Occurrence != "o2" || *d.state.Value != 33.2 || !d.state.Since.Equal(at(60*minute)) {
		t.Errorf("raised anew: occurrence %s, worst %v, since %v: want its own of each",
			d.state.Occurrence, *d.state.Value, d.state.Since)
	}
}

func TestJudgeWipesWhatIsOver(t *testing.T) {
	d := newDesk(t, warm(t))
	d.live(ways["in off-delay, acknowledged"])
	d.judge(d.of(31), 25*minute)
	if d.state.Occurrence != "o1" || d.state.Text == "" {
		t.Errorf("the state that ends is %+v, want occurrence and text for the notice", d.state)
	}
	d.judge(d.of(31), 26*minute)
	want := alerts.State{
		Alert: "too-warm.place.box-3", Rule: "too-warm", Subject: box,
		Phase: alerts.Normal, Severity: alerts.Critical, Unit: "celsius",
		Raises: []time.Time{at(10 * minute)},
	}
	if diff := cmp.Diff(want, d.state); diff != "" || !d.state.Lingers() {
		t.Errorf("one tick later, lingering %v (-want +got):\n%s", d.state.Lingers(), diff)
	}
	d.judge(d.of(31), 70*minute)
	want.Raises = nil
	if diff := cmp.Diff(want, d.state); diff != "" || d.state.Lingers() {
		t.Errorf("an hour after it was raised, lingering %v (-want +got):\n%s", d.state.Lingers(), diff)
	}
}

func TestJudgeLimits(t *testing.T) {
	tests := []struct {
		name    string
		rule    string
		celsius float64
		want    alerts.Phase
	}{
		{"a value at an upper limit is beyond it", "runaway-heat", 34.5, alerts.InOnDelay},
		{"just under the upper limit is within", "runaway-heat", 34.49, alerts.Normal},
		{"a value at a lower limit is within", "heater-off", 22, alerts.Normal},
		{"just under the lower limit is beyond", "heater-off", 21.99, alerts.InOnDelay},
		{"one over the setpoint is off it", "off-setpoint", 32.5, alerts.InOnDelay},
		{"just over one under the setpoint is off it too", "off-setpoint", 30.49, alerts.InOnDelay},
		{"0.9 over the setpoint is not off it", "off-setpoint", 32.4, alerts.Normal},
		{"1.5 over the setpoint is too warm", "too-warm", 33, alerts.InOnDelay},
		{"a value that is no number is none", "too-warm", math.NaN(), alerts.Normal},
		{"nor is an infinite one", "too-warm", math.Inf(1), alerts.Normal},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d := newDesk(t, rule(t, tt.rule))
			d.judge(d.of(tt.celsius), 0)
			if d.state.Phase != tt.want {
				t.Errorf("phase %q, want %q", d.state.Phase, tt.want)
			}
		})
	}
}

func TestJudgeDeadlyHeatDoesNotWaitForSettling(t *testing.T) {
	for _, code := range []string{"acute-heat", "runaway-heat", "heater-off", "dry-air"} {
		t.Run(code, func(t *testing.T) {
			d := newDesk(t, rule(t, code))
			o := d.of(40)
			if o.Low != nil {
				o.Value = ptr(*o.Low - 0.5)
			}
			o.Waiting = true
			d.judge(o, 0)
			if got := d.judge(o, d.rule.OnDelay); got != alerts.ReasonRaised {
				t.Errorf("at the end of its on-delay in a box that settles: %q, want raised", got)
			}
		})
	}
}

func TestJudgeFalling(t *testing.T) {
	d := newDesk(t, rule(t, "too-cool"))
	steady := d.of(29)
	steady.Steady = true
	if got := d.judge(steady, 0); got != alerts.ReasonStill {
		t.Errorf("cold but steady: %q, want nothing begun", got)
	}
	d.judge(d.of(29), minute)
	if got := d.judge(steady, 10*minute); got != alerts.ReasonOnDelayEnded {
		t.Errorf("no longer falling within the on-delay: %q, want it ended", got)
	}
	d.judge(d.of(28), 11*minute)
	d.judge(d.of(27), 31*minute)
	steady.Value = ptr(25)
	if got := d.judge(steady, time.Hour); got != alerts.ReasonStill || !d.state.Told() {
		t.Errorf("raised, and steady at 25 since: %q, %s, want it to stay active", got, d.state.Phase)
	}
	if *d.state.Value != 25 {
		t.Errorf("worst value %v, want the lowest, 25", *d.state.Value)
	}
}

func TestJudgeSeverity(t *testing.T) {
	d := newDesk(t, warm(t))
	empty := func(after time.Duration) alerts.Reason {
		o := d.of(33.5)
		o.Eggs, o.Marks = nil, nil
		return d.judge(o, after)
	}
	empty(0)
	empty(10 * minute)
	if d.state.Severity != alerts.Warning {
		t.Fatalf("without eggs: %s, want a warning", d.state.Severity)
	}
	d.state, _, _ = alerts.Acknowledge(d.state, "o1", "Ida", at(11*minute))
	d.state, _, _ = alerts.Shelve(d.state, alerts.Shelving{
		Occurrence: "o1", For: time.Hour,
		By: "Ida",
	}, at(11*minute))
	if got := d.judge(d.of(33.5), 12*minute); got != alerts.ReasonEscalated {
		t.Errorf("eggs were put in: %q, want escalated", got)
	}
	if d.state.Severity != alerts.Critical || !d.state.Acknowledged.IsZero() ||
		!d.state.ShelvedUntil.IsZero() {
		t.Errorf("escalated: %s, acknowledged %v, shelved until %v: want critical, to be seen again",
			d.state.Severity, d.state.Acknowledged, d.state.ShelvedUntil)
	}
	if got := empty(13 * minute); got != alerts.ReasonEased || d.state.Severity != alerts.Warning {
		t.Errorf("eggs were taken out: %q, %s, want eased to a warning", got, d.state.Severity)
	}

	o := d.of(33.5)
	o.Severity = alerts.Info
	if d.judge(o, 14*minute); d.state.Severity != alerts.Info {
		t.Errorf("the observer's severity: %s, want it taken", d.state.Severity)
	}

	dry := newDesk(t, rule(t, "dry-air"))
	dry.judge(dry.of(0.6), 0)
	dry.judge(dry.of(0.6), 3*time.Hour)
	gone := dry.of(0)
	gone.Eggs, gone.Known = nil, false
	if got := dry.judge(gone, 4*time.Hour); got != alerts.ReasonOffDelayStarted {
		t.Errorf("the last egg left and the probe died: %q, want the end to begin: nothing is at stake",
			got)
	}
}

func TestJudgeWithoutReading(t *testing.T) {
	d := newDesk(t, warm(t))
	d.live(ways["active"])
	said := d.state.Text
	for after := 11 * minute; after < 14*minute; after += minute {
		d.judge(d.kind(nothing), after)
	}
	if want := said + " No reading now."; d.state.Text != want {
		t.Errorf("text %q, want %q", d.state.Text, want)
	}
	d.judge(d.of(33.5), 15*minute)
	if strings.Contains(d.state.Text, "No reading") {
		t.Errorf("text %q with a reading", d.state.Text)
	}
}

func TestJudgeEvent(t *testing.T) {
	d := newDesk(t, rule(t, "away"))
	o := alerts.Observation{
		Subject: alerts.Subject{Kind: alerts.SystemSubject, ID: "system"},
		Known:   true,
		Value:   ptr(11520), High: ptr(600), Detail: "Box 3 came back at 24.1 °C.",
		Severity: alerts.Critical, NewID: func() string { return "o1" },
	}
	if got := d.judge(o, 0); got != alerts.ReasonRaised || d.state.Severity != alerts.Critical {
		t.Errorf("at the start: %q, %s, want raised at once and critical", got, d.state.Severity)
	}
	said := "Nothing was watched or recorded for 3 h 12 min before this start. " +
		"Box 3 came back at 24.1 °C. See what each place reads now."
	o.Value, o.Detail = ptr(0), ""
	if got := d.judge(o, 10*time.Second); got != alerts.ReasonPassed || alerts.Tells(got) {
		t.Errorf("a tick later: %q, want passed, which is no news", got)
	}
	if d.state.Phase != alerts.Cleared || d.state.Text != said {
		t.Errorf("%s, %q, want cleared, to be seen, with the words of the start", d.state.Phase,
			d.state.Text)
	}
}

func TestJudgeOwnWords(t *testing.T) {
	d := newDesk(t, warm(t))
	o := d.of(33.5)
	o.Text = "Box 3:\n\thot"
	d.judge(o, 0)
	d.judge(o, 10*minute)
	if d.state.Text != "Box 3: hot" {
		t.Errorf("text %q, want the observer's, on one line", d.state.Text)
	}
}

func BenchmarkJudge(b *testing.B) {
	for name, celsius := range map[string]float64{"normal": 31.5, "active": 33.5} {
		b.Run(name, func(b *testing.B) {
			d := newDesk(b, warm(b))
			o := d.of(celsius)
			d.judge(o, 0)
			d.judge(o, 10*minute)
			b.ReportAllocs()
			for b.Loop() {
				d.judge(o, 11*minute)
			}
		})
	}
}

func BenchmarkRuleFor(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, ok := alerts.RuleFor("hatch-overdue"); !ok {
			b.Fatal("no such rule")
		}
	}
}
