package alerts_test

import (
	"testing"
	"time"

	"clutchd/alerts"
)

func TestFlood(t *testing.T) {
	tests := []struct {
		name   string
		came   []time.Duration // before now
		before bool
		want   bool
	}{
		{"ten within ten minutes are many, and no flood", spread(10, 0, 9*minute), false, false},
		{"eleven are one", spread(11, 0, 9*minute), false, true},
		{"eleven of which one is ten minutes old are none", append(spread(10, 0, 9*minute), 10*minute), false, false},
		{"a flood goes on with five", spread(5, 0, 9*minute), true, true},
		{"and ends with four", spread(4, 0, 9*minute), true, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var f, restored alerts.Flood
			var states []alerts.State
			for i := len(tt.came) - 1; i >= 0; i-- {
				f.Came(t0.Add(-tt.came[i]))
				states = append(states, alerts.State{Raises: []time.Time{t0.Add(-tt.came[i])}})
			}
			restored.Restore(states)
			if got := f.On(tt.before, t0); got != tt.want {
				t.Errorf("%v, want %v", got, tt.want)
			}
			if got := restored.On(tt.before, t0); got != tt.want {
				t.Errorf("after a restart %v, want %v", got, tt.want)
			}
		})
	}
}

// spread gives n durations from one to another.
func spread(n int, from, to time.Duration) []time.Duration {
	var out []time.Duration
	for i := range n {
		out = append(out, from+(to-from)*time.Duration(i)/time.Duration(n))
	}
	return out
}

func TestGather(t *testing.T) {
	tests := []struct {
		name     string
		severity alerts.Severity
		gathered bool
		reason   alerts.Reason
		flood    bool
		tells    bool
		after    bool // gathered
	}{
		{"a warning is told", alerts.Warning, false, alerts.ReasonRaised, false, true, false},
		{"in a flood it is gathered", alerts.Warning, false, alerts.ReasonRaised, true, false, true},
		{"a critical alert always goes out", alerts.Critical, false, alerts.ReasonRaised, true, true, false},
		{"what was told before the flood is told to its end", alerts.Warning, false, alerts.ReasonCleared, true, true, false},
		{"what was gathered ends without a word", alerts.Warning, true, alerts.ReasonCleared, true, false, true},
		{"after the flood too", alerts.Warning, true, alerts.ReasonCleared, false, false, true},
		{"it is not reminded of in the flood", alerts.Warning, true, alerts.ReasonReminded, true, false, true},
		{"it is once the flood is over, and then is as any other", alerts.Warning, true, alerts.ReasonReminded, false, true, false},
		{"become critical it goes out at once", alerts.Critical, true, alerts.ReasonEscalated, true, true, false},
		{"what a keeper does is told", alerts.Warning, true, alerts.ReasonAcknowledged, true, true, true},
		{"what is no news is none", alerts.Warning, false, alerts.ReasonOffDelayStarted, false, false, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, tells := alerts.Gather(alerts.State{Severity: tt.severity, Gathered: tt.gathered}, tt.reason, tt.flood)
			if tells != tt.tells || s.Gathered != tt.after {
				t.Errorf("tells %v, gathered %v; want %v, %v", tells, s.Gathered, tt.tells, tt.after)
			}
		})
	}
}
