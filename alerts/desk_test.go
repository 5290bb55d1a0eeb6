package alerts_test

import (
	"fmt"
	"testing"
	"time"

	"clutchd/alerts"
)

// t0 is the night the tests begin in.
var t0 = time.Date(2026, 5, 3, 2, 0, 0, 0, time.UTC)

func at(d time.Duration) time.Time { return t0.Add(d) }

func ptr(v float64) *float64 { return &v }

// warm is the rule most tests use: 1.5 K over the setpoint for 10 min, cleared
// after 5, deadband 0.2 K.
func warm(t testing.TB) alerts.Rule { return rule(t, "too-warm") }

func rule(t testing.TB, code string) alerts.Rule {
	t.Helper()
	r, ok := alerts.RuleFor(code)
	if !ok {
		t.Fatalf("there is no rule %q", code)
	}
	return r
}

var box = alerts.Subject{Kind: alerts.PlaceSubject, ID: "box-3", Name: "Box 3"}

// A desk judges one alert over time, as the monitor does.
type desk struct {
	t     testing.TB
	rule  alerts.Rule
	state alerts.State
	ids   int
}

func newDesk(t testing.TB, r alerts.Rule) *desk { return &desk{t: t, rule: r} }

// of is what is observed at a value, with two eggs in the box, setpoint 31.5.
func (d *desk) of(celsius float64) alerts.Observation {
	o := alerts.Observation{
		Subject: box, Known: true, Value: &celsius, Setpoint: ptr(31.5),
		Eggs: []string{"e1", "e2"}, Marks: []string{"7A", "7B"},
		NewID: func() string { d.ids++; return fmt.Sprint("o", d.ids) },
	}
	o.Low, o.High = d.rule.Bounds(o.Setpoint, nil)
	return o
}

func (d *desk) judge(o alerts.Observation, after time.Duration) alerts.Reason {
	var reason alerts.Reason
	d.state, reason = alerts.Judge(d.rule, d.state, o, at(after))
	return reason
}

// The kinds of observation that a state can meet.
const (
	beyond   = "beyond"   // 33.5, past the limit of 33.0
	deadband = "deadband" // 32.9, back, but not by the deadband
	within   = "within"   // 32.0
	nothing  = "nothing"  // no believable value
	settling = "settling" // beyond, while the box settles
	behind   = "behind"   // beyond, and the incubator's alert says so already
)

func (d *desk) kind(k string) alerts.Observation {
	switch k {
	case beyond:
		return d.of(33.5)
	case deadband:
		return d.of(32.9)
	case within:
		return d.of(32)
	case behind:
		o := d.of(33.5)
		o.Causes = []alerts.Cause{causeOf(alerts.Active)}
		return o
	case settling:
		o := d.of(33.5)
		o.Waiting = true
		return o
	}
	o := d.of(0)
	o.Known, o.Value = false, nil
	return o
}

// A way into each phase a state can be in, as steps from the start.
type step struct {
	after time.Duration
	kind  string // an observation, "ack", or "shelve" for an hour
}

const minute = time.Minute

var ways = map[string][]step{
	"normal":       nil,
	"in on-delay":  {{0, beyond}},
	"active":       {{0, beyond}, {10 * minute, beyond}},
	"acknowledged": {{0, beyond}, {10 * minute, beyond}, {11 * minute, "ack"}},
	"in off-delay": {{0, beyond}, {10 * minute, beyond}, {20 * minute, within}},
	"in off-delay, acknowledged": {
		{0, beyond},
		{10 * minute, beyond},
		{11 * minute, "ack"},
		{20 * minute, within},
	},
	"cleared": {
		{0, beyond},
		{10 * minute, beyond},
		{20 * minute, within},
		{25 * minute, within},
	},
	"cleared, again beyond": {
		{0, beyond},
		{10 * minute, beyond},
		{20 * minute, within},
		{25 * minute, within},
		{30 * minute, beyond},
	},
	"latched":  {{0, beyond}, {10 * minute, beyond}, {20 * minute, within}, {25 * minute, within}},
	"reminded": {{0, beyond}, {10 * minute, beyond}, {15 * minute, beyond}},
	"shelved":  {{0, beyond}, {10 * minute, beyond}, {11 * minute, "shelve"}},
	"acknowledged long ago": {
		{0, beyond},
		{10 * minute, beyond},
		{11 * minute, "ack"},
		{4 * time.Hour, beyond},
	},
	"rearmed": {
		{0, beyond},
		{10 * minute, beyond},
		{11 * minute, "ack"},
		{4*time.Hour + 11*minute, beyond},
	},
	"acknowledged, rising": {
		{0, beyond},
		{10 * minute, beyond},
		{11 * minute, "ack"},
		{2 * time.Hour, beyond},
	},
	"chattering":        thrice(),
	"chattering, quiet": append(thrice(), step{45 * minute, within}),
}

// thrice is raised at 10, 27 and 44 minutes, and cleared between.
func thrice() []step {
	var steps []step
	for range 3 {
		from := time.Duration(0)
		if n := len(steps); n > 0 {
			from = steps[n-1].after + minute
		}
		steps = append(steps, step{from, beyond}, step{from + 10*minute, beyond},
			step{from + 11*minute, within}, step{from + 16*minute, within})
	}
	return steps[:len(steps)-2]
}

func (d *desk) live(steps []step) {
	d.t.Helper()
	for _, s := range steps {
		var err error
		switch s.kind {
		case "ack":
			d.state, _, err = alerts.Acknowledge(d.state, d.state.Occurrence, "Ida", at(s.after))
		case "shelve":
			d.state, _, err = alerts.Shelve(d.state, alerts.Shelving{
				Occurrence: d.state.Occurrence, For: time.Hour, By: "Ida",
			}, at(s.after))
		default:
			d.judge(d.kind(s.kind), s.after)
		}
		if err != nil {
			d.t.Fatal(err)
		}
	}
}
