package alerts_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"clutchd/alerts"
)

// causeOf is the incubator's too-warm in a phase, at 33.6 with a limit of 33.
func causeOf(phase alerts.Phase) alerts.Cause {
	return alerts.Cause{
		State: alerts.State{
			Rule: "too-warm", Phase: phase, Severity: alerts.Critical, Unit: "celsius",
			Since: at(5 * minute), Value: ptr(33.6), Limit: ptr(33),
		},
		Where: alerts.Outer, OnDelay: 10 * minute,
	}
}

func TestJudgeBehindACause(t *testing.T) {
	with := func(edit func(*alerts.Cause)) alerts.Cause {
		c := causeOf(alerts.Active)
		edit(&c)
		return c
	}
	tests := []struct {
		name    string
		celsius float64
		after   time.Duration
		cause   alerts.Cause
		want    alerts.Reason
	}{
		{"a box as warm as its incubator waits", 33.5, 10 * minute, causeOf(alerts.Active), alerts.ReasonOnDelayEnded},
		{"so it does in the incubator's off-delay", 33.5, 10 * minute, causeOf(alerts.InOffDelay), alerts.ReasonOnDelayEnded},
		{"so does a box in its deadband", 32.9, 10 * minute, causeOf(alerts.Active), alerts.ReasonOnDelayEnded},
		{"a cause that is over hides nothing", 33.5, 10 * minute, causeOf(alerts.Cleared), alerts.ReasonRaised},
		{
			"nor does one that only waits to be seen", 33.5, 10 * minute,
			with(func(c *alerts.Cause) { c.Latched = true }), alerts.ReasonRaised,
		},
		{
			"a milder cause hides nothing", 33.5, 10 * minute,
			with(func(c *alerts.Cause) { c.Severity = alerts.Warning }), alerts.ReasonRaised,
		},
		{"a box a kelvin further out still waits", 34.6, 10 * minute, causeOf(alerts.Active), alerts.ReasonOnDelayEnded},
		{"one further out than that has a trouble of its own", 34.7, 10 * minute, causeOf(alerts.Active), alerts.ReasonRaised},
		{
			"unless its shelf is always so much warmer", 34.7, 10 * minute,
			with(func(c *alerts.Cause) { c.Usual = 0.5 }), alerts.ReasonOnDelayEnded,
		},
		{
			"what the incubator reads now counts, not its worst", 33.6, 10 * minute,
			with(func(c *alerts.Cause) { c.Value, c.Now = ptr(36), ptr(32.5) }), alerts.ReasonRaised,
		},
		{
			"an incubator that is cold does not explain a warm box", 33.5, 10 * minute,
			with(func(c *alerts.Cause) { c.Value, c.Limit = ptr(28), ptr(29) }), alerts.ReasonRaised,
		},
		{
			"a cause in its on-delay holds the box's own end of it", 33.5, 10 * minute,
			causeOf(alerts.InOnDelay), "",
		},
		{
			"a cause whose on-delay is over holds nothing: it did not come of it", 33.5, 15 * minute,
			causeOf(alerts.InOnDelay), alerts.ReasonRaised,
		},
		{
			"nor does one that begins again and again", 33.5, 15 * minute,
			with(func(c *alerts.Cause) { c.Phase, c.Since = alerts.InOnDelay, at(14*minute) }), alerts.ReasonRaised,
		},
		{
			"nor one of which nothing is known now", 33.5, 10 * minute,
			with(func(c *alerts.Cause) { c.Phase, c.Paused = alerts.InOnDelay, at(6*minute) }), alerts.ReasonRaised,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d := newDesk(t, warm(t))
			d.judge(d.of(33.5), 0)
			o := d.of(tt.celsius)
			o.Causes = []alerts.Cause{tt.cause}
			if got := d.judge(o, tt.after); got != tt.want {
				t.Errorf("%q, want %q", got, tt.want)
			}
		})
	}
}

func TestWhatOutlivesItsCauseHasItsOwnOnDelay(t *testing.T) {
	d := newDesk(t, warm(t))
	o := d.of(33.5)
	o.Causes = []alerts.Cause{causeOf(alerts.Active)}
	d.judge(o, 0)
	d.judge(o, 30*minute)
	d.judge(d.of(33.5), 40*minute)
	if got := d.judge(d.of(33.5), 50*minute-1); got != alerts.ReasonStill {
		t.Errorf("a moment before its on-delay is over: %q", got)
	}
	if got := d.judge(d.of(33.5), 50*minute); got != alerts.ReasonRaised {
		t.Errorf("at its end: %q, want raised", got)
	}
}

func TestRulesLieBehindRulesThatThereAre(t *testing.T) {
	for _, r := range alerts.Rules() {
		for _, b := range r.Behind {
			if _, ok := alerts.RuleFor(b.Rule); !ok {
				t.Errorf("%s lies behind %s, which there is not", r.Code, b.Rule)
			}
			if b.Where == alerts.Same && b.Rule == r.Code {
				t.Errorf("%s lies behind itself", r.Code)
			}
		}
	}
}

// Two rules that lie behind each other would silence each other for good, if
// they kept the same back.
func TestNoTwoRulesSilenceEachOther(t *testing.T) {
	keeps := func(r alerts.Rule, by string, what alerts.Held) bool {
		return slices.ContainsFunc(r.Behind, func(b alerts.Behind) bool {
			return b.Where == alerts.Same && b.Rule == by && (b.Only == "" || b.Only == what)
		})
	}
	pairs := 0
	for _, r := range alerts.Rules() {
		for _, b := range r.Behind {
			other, _ := alerts.RuleFor(b.Rule)
			if b.Where != alerts.Same {
				continue
			}
			for _, what := range []alerts.Held{alerts.Raising, alerts.Reminding} {
				pairs++
				if keeps(r, other.Code, what) && keeps(other, r.Code, what) {
					t.Errorf("%s and %s keep back each other's %s", r.Code, other.Code, what)
				}
			}
		}
	}
	if pairs == 0 {
		t.Error("no rule lies behind another about the same subject")
	}
}

// What was told early is not told again beside the louder rule that it came
// to; the raise of neither waits for the other.
func TestWhatCameIsNotRemindedEarly(t *testing.T) {
	seconds := func(d *desk) alerts.Observation {
		o := d.of(0)
		o.Value, o.Low, o.High, o.Deadband = ptr(0), ptr(1800), nil, 900
		return o
	}
	tests := []struct {
		name, rule, beside string
		phase              alerts.Phase
		severity           alerts.Severity
		want               alerts.Reason
	}{
		{"alone it is told again", "heating-early", "", "", "", alerts.ReasonReminded},
		{"not beside what is too warm", "heating-early", "too-warm", alerts.Active, alerts.Critical, alerts.ReasonStill},
		{"not beside runaway heat", "heating-early", "runaway-heat", alerts.Active, alerts.Critical, alerts.ReasonStill},
		{"not beside deadly heat", "heating-early", "acute-heat", alerts.Active, alerts.Critical, alerts.ReasonStill},
		{
			"beside runaway heat that is not told yet", "heating-early", "runaway-heat", alerts.InOnDelay,
			alerts.Critical, alerts.ReasonReminded,
		},
		{
			"beside a milder one", "heating-early", "too-warm", alerts.Active, alerts.Warning,
			alerts.ReasonReminded,
		},
		{
			"what is too warm and told goes on beside it", "too-warm", "heating-early", alerts.Active,
			alerts.Critical, alerts.ReasonReminded,
		},
		{
			"cooling, not beside what is too cool", "cooling-early", "too-cool", alerts.Active, alerts.Warning,
			alerts.ReasonStill,
		},
		{
			"cooling, not beside a heater that is off", "cooling-early", "heater-off", alerts.Active,
			alerts.Critical, alerts.ReasonStill,
		},
		{
			"what is too cool and told goes on beside it", "too-cool", "cooling-early", alerts.Active,
			alerts.Warning, alerts.ReasonReminded,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := rule(t, tt.rule)
			r.Rises = nil // a rise is told whatever stands beside it
			d := newDesk(t, r)
			o := d.of(33.5)
			if r.Limit.Base == alerts.Given {
				o = seconds(d)
			} else if r.Code == "too-cool" {
				o = d.of(28)
			}
			d.judge(o, 0)
			if got := d.judge(o, r.OnDelay); got != alerts.ReasonRaised {
				t.Fatalf("%q, want raised first", got)
			}
			for _, b := range r.Behind {
				if b.Rule == tt.beside && b.Where == alerts.Same {
					o.Causes = append(o.Causes, alerts.Cause{
						State: alerts.State{Rule: b.Rule, Phase: tt.phase, Severity: tt.severity, Since: at(0)},
						Where: b.Where, Only: b.Only, OnDelay: 10 * minute,
					})
				}
			}
			if tt.beside != "" && len(o.Causes) == 0 {
				t.Fatalf("%s does not lie behind %s", tt.rule, tt.beside)
			}
			first := 5 * minute
			if r.Severity == alerts.Warning {
				first = 4 * time.Hour
			}
			if got := d.judge(o, r.OnDelay+first); got != tt.want {
				t.Errorf("%q, want %q", got, tt.want)
			}
		})
	}
}

// Neither early warning waits for the rule that it comes before: with both
// limits passed it is raised when its own on-delay is over.
func TestWhatIsEarlyWaitsForNothing(t *testing.T) {
	for _, pair := range [][2]string{{"heating-early", "too-warm"}, {"heating-early", "runaway-heat"}, {"cooling-early", "too-cool"}} {
		r := rule(t, pair[0])
		for _, phase := range []alerts.Phase{alerts.InOnDelay, alerts.Active} {
			d := newDesk(t, r)
			o := d.of(0)
			o.Value, o.Low, o.High = ptr(0), ptr(1800), nil
			for _, b := range r.Behind {
				if b.Rule == pair[1] && b.Where == alerts.Same {
					o.Causes = append(o.Causes, alerts.Cause{
						State: alerts.State{Rule: b.Rule, Phase: phase, Severity: alerts.Critical, Since: at(0)},
						Where: b.Where, Only: b.Only, OnDelay: 20 * minute,
					})
				}
			}
			d.judge(o, 0)
			if got := d.judge(o, r.OnDelay); len(o.Causes) != 1 || got != alerts.ReasonRaised {
				t.Errorf("%s beside %s in phase %q: %q, want raised", pair[0], pair[1], phase, got)
			}
		}
	}
}

// Whatever a cause does, nothing is raised beside one that tells it, and heat
// that no cause tells is never missed for longer than a cause may hold it.
func TestACauseHidesNothingForLong(t *testing.T) {
	r := warm(t)
	phases := []alerts.Phase{"", alerts.InOnDelay, alerts.Active, alerts.InOffDelay, alerts.Cleared}
	rapid.Check(t, func(t *rapid.T) {
		var s alerts.State
		var alone time.Duration // hot, and no cause tells it
		ids := newDesk(nil, r)
		now := t0
		for i, b := range append(drawLife(t), drawLife(t)...) {
			if math.IsNaN(b.celsius) {
				b.celsius = 33.5
			}
			now = now.Add(b.gap)
			c := causeOf(rapid.SampledFrom(phases).Draw(t, "cause"))
			c.Since = now.Add(-time.Duration(rapid.IntRange(0, 700).Draw(t, "since")) * time.Second)
			o := ids.of(b.celsius)
			if c.Phase != "" {
				o.Causes = []alerts.Cause{c}
			}
			was := s
			var reason alerts.Reason
			s, reason = alerts.Judge(r, s, o, now)
			if reason == alerts.ReasonRaised && c.Told() {
				t.Fatalf("tick %d: raised beside its cause", i)
			}
			// The first tick of heat begins the delay.
			if b.celsius < 33 || c.Told() || alone == 0 {
				alone = 0
			} else {
				alone += b.gap
			}
			if b.celsius >= 33 && !c.Told() && alone == 0 {
				alone = 1
			}
			if alone > r.OnDelay+5*minute && !s.Told() {
				t.Fatalf("tick %d: hot for %v with no cause told, and %s (was %s)", i, alone, s.Phase, was.Phase)
			}
		}
	})
}

// A place out of service is withdrawn: nothing of its alert stays behind.
func TestWithdrawnNothingLingers(t *testing.T) {
	for way, steps := range ways {
		d := newDesk(t, ruleOf(t, way))
		d.live(steps)
		s, _ := alerts.Withdraw(d.rule, d.state, at(5*time.Hour))
		if s.Lingers() || s.Chatters || s.Lead != "" {
			t.Errorf("%s: lingers %v, chatters %v, lead %q", way, s.Lingers(), s.Chatters, s.Lead)
		}
	}
}
