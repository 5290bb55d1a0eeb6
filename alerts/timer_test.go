package alerts_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
)

func TestJudgeDelaysStandStillWithoutValue(t *testing.T) {
	tests := []struct {
		name  string
		steps []step
		last  time.Duration // the first moment at which the delay is over
		want  alerts.Reason
	}{
		{
			"three minutes without a value lengthen the on-delay by three",
			[]step{{0, beyond}, {4 * minute, nothing}, {5 * minute, nothing}, {7 * minute, beyond}},
			13 * minute, alerts.ReasonRaised,
		},
		{
			"two gaps add up",
			[]step{
				{0, beyond},
				{1 * minute, nothing},
				{2 * minute, beyond},
				{3 * minute, nothing},
				{5 * minute, beyond},
			},
			13 * minute, alerts.ReasonRaised,
		},
		{
			"the off-delay is lengthened too",
			[]step{
				{0, beyond},
				{10 * minute, beyond},
				{20 * minute, within},
				{21 * minute, nothing},
				{24 * minute, within},
			},
			28 * minute, alerts.ReasonCleared,
		},
		{
			"so is the on-delay of a cleared alert",
			slices.Concat(ways["cleared, again beyond"], []step{{31 * minute, nothing}, {
				32 * minute,
				beyond,
			}}),
			41 * minute, alerts.ReasonRaised,
		},
		{
			"a clock that steps back begins the delay anew",
			[]step{{0, beyond}, {-5 * minute, beyond}},
			5 * minute, alerts.ReasonRaised,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d := newDesk(t, warm(t))
			d.live(tt.steps)
			last := d.kind(tt.steps[len(tt.steps)-1].kind)
			if got := d.judge(last, tt.last-1); got != alerts.ReasonStill {
				t.Errorf("a moment before: %q", got)
			}
			if got := d.judge(last, tt.last); got != tt.want {
				t.Errorf("at %v: %q, want %q", tt.last, got, tt.want)
			}
		})
	}
}

func TestPauseOverAStop(t *testing.T) {
	d := newDesk(t, warm(t))
	d.live([]step{{0, beyond}, {6 * minute, beyond}})
	d.state = d.state.Pause(at(6 * minute)) // the last tick before the power went
	if got := d.judge(d.of(33.5), 3*time.Hour); got != alerts.ReasonStill {
		t.Errorf("three hours later, unseen: %q, want the on-delay to go on", got)
	}
	if got := d.judge(d.of(33.5), 3*time.Hour+4*minute); got != alerts.ReasonRaised {
		t.Errorf("after the rest of the on-delay: %q, want raised", got)
	}
	if s := (alerts.State{}).Pause(t0); !s.Paused.IsZero() {
		t.Errorf("a normal state was paused: %+v", s)
	}
}

func TestShift(t *testing.T) {
	whole := alerts.State{
		Since: t0, Raised: t0, Ended: t0, Cleared: t0, Acknowledged: t0,
		ShelvedUntil: t0, Paused: t0, Pending: t0,
	}
	later := at(time.Hour)
	want := alerts.State{
		Since: later, Raised: later, Ended: later, Cleared: later,
		Acknowledged: later,
		ShelvedUntil: later, Paused: later, Pending: later,
	}
	if diff := cmp.Diff(want, whole.Shift(time.Hour)); diff != "" {
		t.Errorf("every time moves (-want +got):\n%s", diff)
	}
	if diff := cmp.Diff(alerts.State{}, alerts.State{}.Shift(time.Hour)); diff != "" {
		t.Errorf("a zero time stays zero (-want +got):\n%s", diff)
	}

	d := newDesk(t, warm(t))
	d.judge(d.of(33.5), 0)
	d.state = d.state.Shift(1000 * time.Hour)
	if got := d.judge(d.of(33.5), 1000*time.Hour+10*minute-1); got != alerts.ReasonStill {
		t.Errorf("a moment early on the new clock: %q", got)
	}
	if got := d.judge(d.of(33.5), 1000*time.Hour+10*minute); got != alerts.ReasonRaised {
		t.Errorf("on time on the new clock: %q", got)
	}
}
