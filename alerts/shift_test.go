package alerts_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
)

func TestShiftSince(t *testing.T) {
	start := at(0)
	before, after := at(-30*minute), at(30*minute)
	tests := []struct {
		name     string
		by       time.Duration
		of, want alerts.State
	}{
		{
			"what began before the clock in question keeps its time", 2 * time.Hour,
			alerts.State{Phase: alerts.Active, Since: before, Raised: before},
			alerts.State{Phase: alerts.Active, Since: before, Raised: before},
		},
		{
			"what came under it is moved", 2 * time.Hour,
			alerts.State{Phase: alerts.Active, Since: before, Raised: after, Acknowledged: after},
			alerts.State{
				Phase: alerts.Active, Since: before, Raised: after.Add(2 * time.Hour),
				Acknowledged: after.Add(2 * time.Hour),
			},
		},
		{
			"a delay that runs is moved though it began before: it was resumed under that clock", 2 * time.Hour,
			alerts.State{Phase: alerts.InOnDelay, Since: before},
			alerts.State{Phase: alerts.InOnDelay, Since: before.Add(2 * time.Hour)},
		},
		{
			"with its pause", 2 * time.Hour,
			alerts.State{Phase: alerts.InOffDelay, Since: before, Ended: before, Paused: before},
			alerts.State{
				Phase: alerts.InOffDelay, Since: before, Ended: before.Add(2 * time.Hour),
				Paused: before.Add(2 * time.Hour),
			},
		},
		{
			"reminders and raises move as what they tell of", 2 * time.Hour,
			alerts.State{Phase: alerts.Active, Reminded: after, Raises: []time.Time{before, after}},
			alerts.State{
				Phase: alerts.Active, Reminded: after.Add(2 * time.Hour),
				Raises: []time.Time{before, after.Add(2 * time.Hour)},
			},
		},
		{
			"nothing is hidden for longer than was asked", 2 * time.Hour,
			alerts.State{Phase: alerts.Active, Since: before, ShelvedUntil: after},
			alerts.State{Phase: alerts.Active, Since: before, ShelvedUntil: after},
		},
		{
			"by a clock that was fast neither", -2 * time.Hour,
			alerts.State{Phase: alerts.Active, Since: before, ShelvedUntil: after},
			alerts.State{Phase: alerts.Active, Since: before, ShelvedUntil: after.Add(-2 * time.Hour)},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, tt.of.ShiftSince(start, tt.by)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestAnObservationBringsItsOwnDeadband(t *testing.T) {
	r := rule(t, "off-setpoint")
	o := alerts.Observation{
		Subject: box, Known: true, Eggs: []string{"e1"}, Deadband: 0.1,
		Low: ptr(29.7), High: ptr(30.3), Value: ptr(30.4), NewID: func() string { return "o1" },
	}
	var s alerts.State
	s, _ = alerts.Judge(r, s, o, at(0))
	s, _ = alerts.Judge(r, s, o, at(30*minute))
	if !s.Told() {
		t.Fatalf("%s after its on-delay", s.Phase)
	}
	o.Value = ptr(30.15) // within the rule's own 0.2, past the 0.1 of this one
	if s, _ = alerts.Judge(r, s, o, at(31*minute)); s.Phase != alerts.InOffDelay {
		t.Errorf("%s, want it to end past its own deadband", s.Phase)
	}
}
