package alerts_test

import (
	"errors"
	"testing"
	"time"

	"clutchd/alerts"
)

func TestUnshelve(t *testing.T) {
	for _, c := range []struct {
		why        string
		shelved    bool
		occurrence string
		reason     alerts.Reason
		err        error
	}{
		{"one on the shelf is told again", true, "o1", alerts.ReasonUnshelved, nil},
		{"one that is not stays as it is", false, "o1", alerts.ReasonStill, nil},
		{"another occurrence is refused", true, "o0", alerts.ReasonStill, alerts.ErrOccurrence},
	} {
		t.Run(c.why, func(t *testing.T) {
			d := newDesk(t, warm(t))
			d.live(ways["active"])
			if c.shelved {
				d.state, _, _ = alerts.Shelve(d.state,
					alerts.Shelving{Occurrence: "o1", For: time.Hour, By: "Ida", Why: "new lamp"}, at(10*minute))
			}
			before := d.state
			after, reason, err := alerts.Unshelve(before, c.occurrence)
			if reason != c.reason || !errors.Is(err, c.err) {
				t.Errorf("%q, %v, want %q, %v", reason, err, c.reason, c.err)
			}
			if reason == alerts.ReasonUnshelved &&
				(!after.ShelvedUntil.IsZero() || after.ShelvedBy != "" || after.ShelvedWhy != "") {
				t.Errorf("something of the shelf is left: %+v", after)
			}
		})
	}
}

// A shelving that comes again at once is the same one; later or longer it is
// another.
func TestShelvedTwice(t *testing.T) {
	for _, c := range []struct {
		why    string
		after  time.Duration
		long   time.Duration
		by     string
		reason alerts.Reason
	}{
		{"a second tap", 2 * time.Second, time.Hour, "Ida", alerts.ReasonStill},
		{"a command delivered twice", 4 * time.Minute, time.Hour, "Ida", alerts.ReasonStill},
		{"the same once more later", 30 * time.Minute, time.Hour, "Ida", alerts.ReasonShelved},
		{"for longer", time.Minute, 8 * time.Hour, "Ida", alerts.ReasonShelved},
		{"for shorter", time.Minute, time.Minute, "Ida", alerts.ReasonShelved},
		{"by someone else", time.Minute, time.Hour, "Ole", alerts.ReasonShelved},
	} {
		t.Run(c.why, func(t *testing.T) {
			d := newDesk(t, warm(t))
			d.live(ways["active"])
			once := alerts.Shelving{Occurrence: "o1", For: time.Hour, By: "Ida"}
			d.state, _, _ = alerts.Shelve(d.state, once, at(10*minute))
			again := alerts.Shelving{Occurrence: "o1", For: c.long, By: c.by}
			after, reason, err := alerts.Shelve(d.state, again, at(10*minute+c.after))
			if err != nil || reason != c.reason {
				t.Errorf("%q, %v, want %q", reason, err, c.reason)
			}
			if reason == alerts.ReasonStill && after.ShelvedUntil != d.state.ShelvedUntil {
				t.Errorf("the shelf became longer: %v", after.ShelvedUntil)
			}
		})
	}
}
