package alerts_test

import (
	"testing"
	"time"

	"clutchd/alerts"
)

// A phaseRow says what a state becomes when it meets an observation.
type phaseRow struct {
	name   string
	way    string
	kind   string
	after  time.Duration
	phase  alerts.Phase
	reason alerts.Reason
}

// TestEveryStateMeetsEveryObservation holds the judge against a row for each
// state, as the way into it, and each kind of observation. A place out of
// service is not judged: see TestWithdraw.
func TestEveryStateMeetsEveryObservation(t *testing.T) {
	seen := map[string]bool{}
	for _, tt := range append(phaseRows(), lifeRows()...) {
		t.Run(tt.name, func(t *testing.T) {
			d := newDesk(t, ruleOf(t, tt.way))
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
		for _, kind := range []string{beyond, deadband, within, nothing, settling, behind} {
			if !seen[way+" / "+kind] {
				t.Errorf("no row for %s / %s", way, kind)
			}
		}
	}
}

// ruleOf is the rule under which a way leads where it is to lead.
func ruleOf(t *testing.T, way string) alerts.Rule {
	r := warm(t)
	r.Latching = way == "latched"
	if way == "acknowledged, rising" {
		r.Severity, r.Rises = alerts.Warning, []alerts.Rise{{After: 2 * time.Hour, To: alerts.Critical}}
	}
	return r
}

// phaseRows are those of the phases and their delays.
func phaseRows() []phaseRow {
	return []phaseRow{
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
			"active", beyond, 14 * minute, alerts.Active, "",
		},
		{"an active alert goes on in the deadband", "active", deadband, 14 * minute, alerts.Active, ""},
		{"an active alert without a value is held", "active", nothing, 14 * minute, alerts.Active, ""},
		{
			"an active alert goes on while the box settles and is beyond",
			"active", settling, 14 * minute, alerts.Active, "",
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
			"latched", within, 29 * minute, alerts.Active, "",
		},
		{
			"a latched alert stays active in the deadband",
			"latched", deadband, 29 * minute, alerts.Active, "",
		},
		{
			"a latched alert stays active without a value",
			"latched", nothing, 29 * minute, alerts.Active, "",
		},
		{
			"a latched alert stays latched while settling",
			"latched", settling, 29 * minute, alerts.Active, "",
		},
		{
			"a latched alert whose condition is back tells it at once",
			"latched", beyond, 29 * minute, alerts.Active, alerts.ReasonAgain,
		},
	}
}
