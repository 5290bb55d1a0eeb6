package alerts_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
)

func TestJudgePhases(t *testing.T) {
	tests := []struct {
		name   string
		way    string
		kind   string
		after  time.Duration
		phase  alerts.Phase
		reason alerts.Reason
	}{
		{"a value within its limit is normal", "normal", within, 0, alerts.Normal, ""},
		{
			"a value in the deadband that never was beyond is normal",
			"normal", deadband, 0, alerts.Normal, "",
		},
		{"no value raises nothing", "normal", nothing, 0, alerts.Normal, ""},
		{"a settling box begins nothing", "normal", settling, 0, alerts.Normal, ""},
		{
			"a value beyond its limit starts the on-delay",
			"normal", beyond, 0, alerts.InOnDelay, alerts.ReasonOnDelayStarted,
		},

		{
			"a moment before the on-delay ends nothing is raised",
			"in on-delay", beyond, 10*minute - 1, alerts.InOnDelay, "",
		},
		{
			"at the end of the on-delay it is raised",
			"in on-delay", beyond, 10 * minute, alerts.Active, alerts.ReasonRaised,
		},
		{
			"a tick that comes late raises it then",
			"in on-delay", beyond, 17 * minute, alerts.Active, alerts.ReasonRaised,
		},
		{
			"back, but not by the deadband, still counts as beyond",
			"in on-delay", deadband, 10 * minute, alerts.Active, alerts.ReasonRaised,
		},
		{
			"back by more than the deadband ends the on-delay early",
			"in on-delay", within, 9 * minute, alerts.Normal, alerts.ReasonOnDelayEnded,
		},
		{
			"back at the very end of the on-delay raises nothing",
			"in on-delay", within, 10 * minute, alerts.Normal, alerts.ReasonOnDelayEnded,
		},
		{
			"no value holds the on-delay, even past its end",
			"in on-delay", nothing, 10 * minute, alerts.InOnDelay, "",
		},
		{
			"a box that begins to settle ends the on-delay",
			"in on-delay", settling, 10 * minute, alerts.Normal, alerts.ReasonOnDelayEnded,
		},

		{
			"an active alert goes on while the value is beyond",
			"active", beyond, 20 * minute, alerts.Active, "",
		},
		{"an active alert goes on in the deadband", "active", deadband, 20 * minute, alerts.Active, ""},
		{"an active alert without a value is held", "active", nothing, 20 * minute, alerts.Active, ""},
		{
			"an active alert goes on while the box settles and is beyond",
			"active", settling, 20 * minute, alerts.Active, "",
		},
		{
			"back by more than the deadband starts the off-delay",
			"active", within, 20 * minute, alerts.InOffDelay, alerts.ReasonOffDelayStarted,
		},

		{
			"an acknowledged alert goes on while the value is beyond",
			"acknowledged", beyond, 20 * minute, alerts.Active, "",
		},
		{
			"an acknowledged alert goes on in the deadband",
			"acknowledged", deadband, 20 * minute, alerts.Active, "",
		},
		{
			"an acknowledged alert without a value is held",
			"acknowledged", nothing, 20 * minute, alerts.Active, "",
		},
		{
			"an acknowledged alert goes on while the box settles",
			"acknowledged", settling, 20 * minute, alerts.Active, "",
		},
		{
			"an acknowledged alert too has an off-delay",
			"acknowledged", within, 20 * minute, alerts.InOffDelay, alerts.ReasonOffDelayStarted,
		},

		{
			"a moment before the off-delay ends it is still told",
			"in off-delay", within, 25*minute - 1, alerts.InOffDelay, "",
		},
		{
			"at the end of the off-delay it is cleared",
			"in off-delay", within, 25 * minute, alerts.Cleared, alerts.ReasonCleared,
		},
		{
			"in the off-delay the deadband is within",
			"in off-delay", deadband, 25 * minute, alerts.Cleared, alerts.ReasonCleared,
		},
		{
			"beyond in the off-delay: the same occurrence goes on",
			"in off-delay", beyond, 25 * minute, alerts.Active, alerts.ReasonOffDelayEnded,
		},
		{
			"no value holds the off-delay, even past its end",
			"in off-delay", nothing, 25 * minute, alerts.InOffDelay, "",
		},
		{
			"beyond while settling holds the off-delay",
			"in off-delay", settling, 25 * minute, alerts.InOffDelay, "",
		},

		{
			"acknowledged and over: normal",
			"in off-delay, acknowledged", within, 25 * minute, alerts.Normal, alerts.ReasonCleared,
		},
		{
			"acknowledged and over in the deadband: normal",
			"in off-delay, acknowledged", deadband, 25 * minute, alerts.Normal, alerts.ReasonCleared,
		},
		{
			"acknowledged, and beyond in the off-delay: goes on",
			"in off-delay, acknowledged", beyond, 25 * minute, alerts.Active, alerts.ReasonOffDelayEnded,
		},
		{
			"acknowledged, no value: the off-delay is held",
			"in off-delay, acknowledged", nothing, 25 * minute, alerts.InOffDelay, "",
		},
		{
			"acknowledged, beyond while settling: the off-delay is held",
			"in off-delay, acknowledged", settling, 25 * minute, alerts.InOffDelay, "",
		},

		{
			"cleared and not acknowledged stays to be seen",
			"cleared", within, 30 * minute, alerts.Cleared, "",
		},
		{"cleared stays so in the deadband", "cleared", deadband, 30 * minute, alerts.Cleared, ""},
		{"cleared stays so without a value", "cleared", nothing, 30 * minute, alerts.Cleared, ""},
		{"cleared stays so while the box settles", "cleared", settling, 30 * minute, alerts.Cleared, ""},
		{
			"beyond again while cleared starts an on-delay beside it",
			"cleared", beyond, 30 * minute, alerts.Cleared, alerts.ReasonOnDelayStarted,
		},

		{
			"beyond again, a moment early: still the old one",
			"cleared, again beyond", beyond, 40*minute - 1, alerts.Cleared, "",
		},
		{
			"beyond again for the whole on-delay: a new occurrence",
			"cleared, again beyond", beyond, 40 * minute, alerts.Active, alerts.ReasonRaised,
		},
		{
			"again beyond, in the deadband for the rest: a new occurrence",
			"cleared, again beyond", deadband, 40 * minute, alerts.Active, alerts.ReasonRaised,
		},
		{
			"again beyond, but not for long: still the old one",
			"cleared, again beyond", within, 39 * minute, alerts.Cleared, alerts.ReasonOnDelayEnded,
		},
		{
			"again beyond, then no value: held",
			"cleared, again beyond", nothing, 40 * minute, alerts.Cleared, "",
		},
		{
			"again beyond, then settling: not begun",
			"cleared, again beyond", settling, 40 * minute, alerts.Cleared, alerts.ReasonOnDelayEnded,
		},

		{
			"a latching alert stays active when its condition went",
			"latched", within, 30 * minute, alerts.Active, "",
		},
		{
			"a latched alert stays active in the deadband",
			"latched", deadband, 30 * minute, alerts.Active, "",
		},
		{
			"a latched alert stays active without a value",
			"latched", nothing, 30 * minute, alerts.Active, "",
		},
		{
			"a latched alert stays latched while settling",
			"latched", settling, 30 * minute, alerts.Active, "",
		},
		{
			"a latched alert whose condition is back tells it at once",
			"latched", beyond, 30 * minute, alerts.Active, alerts.ReasonAgain,
		},
	}
	seen := map[string]bool{}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := warm(t)
			r.Latching = tt.way == "latched"
			d := newDesk(t, r)
			d.live(ways[tt.way])
			if got := d.judge(d.kind(tt.kind), tt.after); got != tt.reason {
				t.Errorf("reason %q, want %q", got, tt.reason)
			}
			if d.state.Phase != tt.phase {
				t.Errorf("phase %q, want %q", d.state.Phase, tt.phase)
			}
		})
		seen[tt.way+" / "+tt.kind] = true
	}
	for way := range ways {
		for _, kind := range []string{beyond, deadband, within, nothing, settling} {
			if !seen[way+" / "+kind] {
				t.Errorf("no row for %s / %s", way, kind)
			}
		}
	}
}

func TestJudgeState(t *testing.T) {
	d := newDesk(t, warm(t))
	d.judge(d.of(33.5), 0)
	d.judge(d.of(34.1), 4*minute)
	d.judge(d.of(33.1), 10*minute)
	want := alerts.State{
		Alert: "too-warm.place.box-3", Occurrence: "o1", Rule: "too-warm", Subject: box,
		Phase: alerts.Active, Severity: alerts.Critical, Since: t0, Raised: at(10 * minute),
		Value: ptr(34.1), Limit: ptr(33), Unit: "celsius", Eggs: []string{"e1", "e2"},
		Text: "Box 3 is 33.1 °C, 1.6 over its setpoint, for 10 min. Eggs 7A, 7B. " +
			"Look at the thermostat and at where its probe lies.",
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
	}
	if diff := cmp.Diff(want, d.state); diff != "" {
		t.Errorf("one tick later (-want +got):\n%s", diff)
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
	if got := d.judge(steady, 2*time.Hour); got != alerts.ReasonStill || !d.state.Told() {
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
