package alerts_test

import (
	"errors"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
)

func TestAcknowledge(t *testing.T) {
	tests := []struct {
		name       string
		way        string
		occurrence string
		phase      alerts.Phase
		reason     alerts.Reason
		err        error
	}{
		{
			"an active one stays active, and is seen",
			"active", "o1", alerts.Active, alerts.ReasonAcknowledged, nil,
		},
		{
			"one in its off-delay stays so, and is seen",
			"in off-delay", "o1", alerts.InOffDelay, alerts.ReasonAcknowledged, nil,
		},
		{
			"a cleared one returns to normal",
			"cleared", "o1", alerts.Normal, alerts.ReasonAcknowledged, nil,
		},
		{"a latched one returns to normal", "latched", "o1", alerts.Normal, alerts.ReasonUnlatched, nil},
		{
			"one beyond its limit again goes on with that on-delay",
			"cleared, again beyond", "o1", alerts.InOnDelay, alerts.ReasonAcknowledged, nil,
		},
		{"twice changes nothing", "acknowledged", "o1", alerts.Active, "", nil},
		{"another occurrence is refused", "active", "o0", alerts.Active, "", alerts.ErrOccurrence},
		{"no occurrence is refused", "active", "", alerts.Active, "", alerts.ErrOccurrence},
		{
			"nothing was raised yet: refused",
			"in on-delay", "", alerts.InOnDelay, "", alerts.ErrOccurrence,
		},
		{"nothing there: refused", "normal", "o1", "", "", alerts.ErrOccurrence},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := warm(t)
			r.Latching = tt.way == "latched"
			d := newDesk(t, r)
			d.live(ways[tt.way])
			before := d.state
			after, reason, err := alerts.Acknowledge(before, tt.occurrence, " Ida\n", at(time.Hour))
			if !errors.Is(err, tt.err) || reason != tt.reason || after.Phase != tt.phase {
				t.Fatalf("%s, %q, %v, want %s, %q, %v", after.Phase, reason, err, tt.phase, tt.reason, tt.err)
			}
			switch {
			case reason == alerts.ReasonStill:
				if diff := cmp.Diff(before, after); diff != "" {
					t.Errorf("refused, yet changed (-before +after):\n%s", diff)
				}
			case after.AcknowledgedBy != "Ida" || !after.Acknowledged.Equal(at(time.Hour)) ||
				after.Occurrence != "o1":
				t.Errorf("by %q at %v of %q, want by Ida in an hour of o1",
					after.AcknowledgedBy, after.Acknowledged, after.Occurrence)
			}
		})
	}
}

func TestAcknowledgedWhileAgainBeyond(t *testing.T) {
	d := newDesk(t, warm(t))
	d.live(ways["cleared, again beyond"])
	d.state, _, _ = alerts.Acknowledge(d.state, "o1", "Ida", at(35*minute))
	if got := d.judge(d.of(33.5), 40*minute-1); got != alerts.ReasonStill || d.state.Occurrence != "" {
		t.Errorf("a moment before the on-delay ends: %q, occurrence %q, want none yet", got,
			d.state.Occurrence)
	}
	if got := d.judge(d.of(33.5), 40*minute); got != alerts.ReasonRaised ||
		d.state.Occurrence != "o2" {
		t.Errorf("at its end: %q, occurrence %q, want o2 raised: the condition held all along", got,
			d.state.Occurrence)
	}
	if !d.state.Acknowledged.IsZero() {
		t.Errorf("the new occurrence counts as acknowledged")
	}
}

func TestLatchedOnceAcknowledgedEndsByItself(t *testing.T) {
	r := rule(t, "runaway-heat")
	d := newDesk(t, r)
	d.judge(d.of(35), 0)
	d.judge(d.of(35), 10*minute)
	d.state, _, _ = alerts.Acknowledge(d.state, "o1", "Ida", at(11*minute))
	d.judge(d.of(32), 20*minute)
	if got := d.judge(d.of(32), 25*minute); got != alerts.ReasonCleared ||
		d.state.Phase != alerts.Normal {
		t.Errorf("%q, %s, want cleared to normal: it was acknowledged while the heat lasted", got,
			d.state.Phase)
	}
}

func TestLatchedTellsWhatItReached(t *testing.T) {
	d := newDesk(t, rule(t, "acute-heat"))
	d.judge(d.of(39.2), 0)
	d.judge(d.of(39.2), minute)
	d.judge(d.of(33), 2*minute)
	if got := d.judge(d.of(33), 7*minute); got != alerts.ReasonLatched || !d.state.Latched ||
		!d.state.Told() {
		t.Fatalf("%q, latched %v, told %v, want latched and still told", got, d.state.Latched,
			d.state.Told())
	}
	want := "Box 3 is down to 33.0 °C; it reached 39.2 °C. Look why before you trust the heater again."
	if d.state.Text != want {
		t.Errorf("text %q, want %q", d.state.Text, want)
	}
	d.state, _, _ = alerts.Shelve(d.state, alerts.Shelving{
		Occurrence: "o1", For: time.Hour,
		By: "Ida",
	}, at(7*minute))
	if d.state.ShelvedUntil.IsZero() {
		t.Fatal("a latched alert could not be shelved")
	}
	if got := d.judge(d.of(38.5), 8*minute); got != alerts.ReasonAgain || d.state.Latched ||
		d.state.Occurrence != "o1" {
		t.Errorf("hot again: %q, latched %v, %s, want it told again within o1", got, d.state.Latched,
			d.state.Occurrence)
	}
	if !d.state.ShelvedUntil.IsZero() || !d.state.Ended.IsZero() {
		t.Errorf("hot again: shelved until %v, ended %v, want neither", d.state.ShelvedUntil,
			d.state.Ended)
	}
}

func TestShelve(t *testing.T) {
	tests := []struct {
		name       string
		way        string
		occurrence string
		long       time.Duration
		err        error
	}{
		{"an active one", "active", "o1", time.Hour, nil},
		{"for the longest time", "active", "o1", alerts.MaxShelf, nil},
		{"an acknowledged one", "acknowledged", "o1", time.Hour, nil},
		{"one in its off-delay", "in off-delay", "o1", time.Hour, nil},
		{"for longer than that: refused", "active", "o1", alerts.MaxShelf + 1, alerts.ErrShelfTime},
		{"for no time: refused", "active", "o1", 0, alerts.ErrShelfTime},
		{"another occurrence: refused", "active", "o2", time.Hour, alerts.ErrOccurrence},
		{"one that is over: refused", "cleared", "o1", time.Hour, alerts.ErrOver},
		{"nothing there: refused", "normal", "", time.Hour, alerts.ErrOccurrence},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d := newDesk(t, warm(t))
			d.live(ways[tt.way])
			want := d.state
			wantReason := alerts.ReasonStill
			if tt.err == nil {
				want.ShelvedUntil, want.ShelvedBy = at(time.Hour+tt.long), "Ida"
				wantReason = alerts.ReasonShelved
			}
			after, reason, err := alerts.Shelve(d.state,
				alerts.Shelving{Occurrence: tt.occurrence, For: tt.long, By: "Ida"}, at(time.Hour))
			if !errors.Is(err, tt.err) || reason != wantReason {
				t.Errorf("%q, %v, want %q, %v", reason, err, wantReason, tt.err)
			}
			if diff := cmp.Diff(want, after); diff != "" {
				t.Errorf("state (-want +got):\n%s", diff)
			}
		})
	}
}

func TestShelfEnds(t *testing.T) {
	shelved := func(t *testing.T) *desk {
		d := newDesk(t, warm(t))
		d.live(ways["active"])
		var err error
		d.state, _, err = alerts.Shelve(d.state, alerts.Shelving{
			Occurrence: "o1", For: time.Hour,
			By: "Ida",
		}, at(10*minute))
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	t.Run("when its time is over, which is told if the alert is active", func(t *testing.T) {
		d := shelved(t)
		if got := d.judge(d.of(33.5), 70*minute-1); got != alerts.ReasonStill {
			t.Errorf("a moment before: %q", got)
		}
		if got := d.judge(d.of(33.5), 70*minute); got != alerts.ReasonUnshelved ||
			!d.state.ShelvedUntil.IsZero() {
			t.Errorf("then: %q, until %v, want unshelved", got, d.state.ShelvedUntil)
		}
	})
	t.Run("with the occurrence", func(t *testing.T) {
		d := shelved(t)
		d.judge(d.of(31), 20*minute)
		if got := d.judge(d.of(31), 25*minute); got != alerts.ReasonCleared ||
			!d.state.ShelvedUntil.IsZero() {
			t.Errorf("%q, until %v, want cleared and off the shelf", got, d.state.ShelvedUntil)
		}
	})
}

func TestWithdraw(t *testing.T) {
	tests := []struct {
		name   string
		way    string
		event  bool
		reason alerts.Reason
	}{
		{"an active alert is told to end", "active", false, alerts.ReasonWithdrawn},
		{"so is one in its off-delay", "in off-delay", false, alerts.ReasonWithdrawn},
		{"the end of an event is no news", "active", true, alerts.ReasonPassed},
		{"nor is that of one that was cleared", "cleared", false, alerts.ReasonPassed},
		{"an on-delay ends unheard", "in on-delay", false, ""},
		{"a normal one stays normal", "normal", false, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := warm(t)
			r.Event = tt.event
			d := newDesk(t, r)
			d.live(ways[tt.way])
			after, reason := alerts.Withdraw(r, d.state, at(time.Hour))
			if reason != tt.reason || after.Phase != alerts.Normal {
				t.Errorf("%q, %s, want %q, normal", reason, after.Phase, tt.reason)
			}
			if reason == alerts.ReasonWithdrawn && after.Text != "Box 3: this alert no longer applies." {
				t.Errorf("text %q", after.Text)
			}
		})
	}
}

func TestWithdrawUnknownRule(t *testing.T) {
	for way, want := range map[string]alerts.Reason{
		"in on-delay": "",
		"active":      alerts.ReasonWithdrawn,
	} {
		d := newDesk(t, warm(t))
		d.live(ways[way])
		after, reason := alerts.Withdraw(alerts.Rule{}, d.state, at(time.Hour))
		if reason != want || after.Phase != alerts.Normal || after.Alert != d.state.Alert ||
			after.Rule != "too-warm" {
			t.Errorf("%s: %q, %s, %q of %q, want %q, normal, its own name", way, reason, after.Phase,
				after.Alert, after.Rule, want)
		}
	}
}

func TestTells(t *testing.T) {
	tests := []struct {
		reason alerts.Reason
		want   bool
	}{
		{alerts.ReasonStill, false},
		{alerts.ReasonOnDelayStarted, false},
		{alerts.ReasonOnDelayEnded, false},
		{alerts.ReasonRaised, true},
		{alerts.ReasonOffDelayStarted, false},
		{alerts.ReasonOffDelayEnded, false},
		{alerts.ReasonCleared, true},
		{alerts.ReasonPassed, false},
		{alerts.ReasonLatched, true},
		{alerts.ReasonAgain, true},
		{alerts.ReasonUnlatched, true},
		{alerts.ReasonAcknowledged, true},
		{alerts.ReasonShelved, true},
		{alerts.ReasonUnshelved, true},
		{alerts.ReasonEscalated, true},
		{alerts.ReasonEased, false},
		{alerts.ReasonReminded, true},
		{alerts.ReasonRearmed, true},
		{alerts.ReasonWithdrawn, true},
		{"of another version", false},
	}
	for _, tt := range tests {
		if got := alerts.Tells(tt.reason); got != tt.want {
			t.Errorf("Tells(%q) = %v", tt.reason, got)
		}
	}
}

func TestNewNotice(t *testing.T) {
	d := newDesk(t, warm(t))
	d.live(ways["active"])
	zone := time.FixedZone("summer", 2*3600)
	got := alerts.NewNotice(7, d.state, alerts.ReasonRaised, at(10*minute).In(zone))
	want := alerts.Notice{ID: 7, Reason: alerts.ReasonRaised, Time: at(10 * minute), State: d.state}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("notice (-want +got):\n%s", diff)
	}
	if got.Time.Location() != time.UTC {
		t.Errorf("time in %v, want UTC", got.Time.Location())
	}
}
