package alerts_test

import (
	"strings"
	"testing"
	"time"

	"clutchd/alerts"
)

func TestWhatANoticeSaysFirst(t *testing.T) {
	tests := []struct {
		name  string
		way   string
		kind  string
		after time.Duration
		want  string
	}{
		{
			"a reminder: how long, and its worst", "reminded", beyond, 25 * minute,
			"Reminder 2, so for 25 min, worst 33.5 °C: Box 3 is 33.5 °C, ",
		},
		{
			"the same without a value", "reminded", nothing, 25 * minute,
			"Reminder 2, so for 25 min, worst 33.5 °C: Box 3 is 33.5 °C, 2.0 over its setpoint, for 15 min. ",
		},
		{
			"of one that only waits to be seen", "latched", within, 5 * time.Hour,
			"Reminder 1, over, but not acknowledged: Box 3 is back at 32.0 °C",
		},
		{
			"a worn-out acknowledgement", "acknowledged long ago", beyond, 4*time.Hour + 11*minute,
			"Acknowledged 4 h ago, so for 4 h 11 min, worst 33.5 °C: Box 3 is 33.5 °C, ",
		},
		{
			"a rise", "acknowledged, rising", beyond, 2*time.Hour + 10*minute,
			"Now critical, so for 2 h 10 min, worst 33.5 °C: Box 3 is 33.5 °C, ",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d := newDesk(t, ruleOf(t, tt.way))
			d.live(ways[tt.way])
			reason := d.judge(d.kind(tt.kind), tt.after)
			n := alerts.NewNotice(1, d.state, reason, at(tt.after))
			if !strings.HasPrefix(n.Text, tt.want) {
				t.Errorf("%q, want %q first", n.Text, tt.want)
			}
			if strings.Contains(d.state.Text, "Reminder") || n.Lead != "" {
				t.Errorf("state %q, notice's lead %q: only the notice's text is to have it", d.state.Text, n.Lead)
			}
			if d.judge(d.kind(tt.kind), tt.after+time.Second); d.state.Lead != "" {
				t.Errorf("a tick later the lead is still %q", d.state.Lead)
			}
		})
	}
}

func TestChatterSaysSo(t *testing.T) {
	d := newDesk(t, warm(t))
	d.live(ways["chattering"])
	says := "It comes and goes, for the third time within 34 min: told as one until it has been quiet for an hour."
	if !strings.Contains(d.state.Text, says) {
		t.Errorf("%q does not say %q", d.state.Text, says)
	}
	d.judge(d.kind(within), 45*minute)
	if want := "Box 3 is back at 32.0 °C after 11 min; it reached 33.5 °C. " + says; d.state.Text != want {
		t.Errorf("in between %q, want %q", d.state.Text, want)
	}
}

// An event happens once; a notice asks for nothing. Neither is told again.
func TestWhatIsNotToldAgain(t *testing.T) {
	for _, code := range []string{"hatch-overdue", "tsp-open"} {
		r := rule(t, code)
		d := newDesk(t, r)
		o := d.of(0)
		o.Value, o.Low, o.High, o.Beyond = nil, nil, nil, true
		d.judge(o, 0)
		if got := d.judge(o, r.OnDelay); got != alerts.ReasonRaised {
			t.Fatalf("%s: %q, want raised", code, got)
		}
		for day := range 10 {
			if got := d.judge(o, r.OnDelay+time.Duration(day)*24*time.Hour); got != alerts.ReasonStill {
				t.Errorf("%s: %q after %d days", code, got, day)
			}
		}
	}
}

func TestRemindersSayWhy(t *testing.T) {
	for _, r := range alerts.Reminders() {
		if r.Why == "" || r.Mark == "" || len(r.Pauses) == 0 {
			t.Errorf("%s: pauses %v, why %q, mark %q", r.Severity, r.Pauses, r.Why, r.Mark)
		}
		for i := 1; i < len(r.Pauses); i++ {
			if r.Pauses[i] < r.Pauses[i-1] {
				t.Errorf("%s: a pause of %v behind one of %v", r.Severity, r.Pauses[i], r.Pauses[i-1])
			}
		}
	}
}
