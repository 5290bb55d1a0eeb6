package monitor_test

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// heat gives a room whose box is deadly hot for three minutes.
func heat(t *testing.T, store *memory) *room {
	t.Helper()
	r := newRoom(t, store, "p")
	r.hand.celsius("p", 28)
	r.live(time.Minute)
	r.incubator(28)
	r.live(time.Minute)
	r.hand.celsius("p", 39)
	r.live(3 * time.Minute)
	return r
}

// pastOf gives the log's occurrences of an alert.
func (r *room) pastOf(alert string) []alerts.State {
	r.Helper()
	all, err := r.Past(r.Context(), time.Time{}, time.Now().Add(r.wall).Add(time.Hour))
	if err != nil {
		r.Fatal(err)
	}
	var out []alerts.State
	for _, s := range all {
		if s.Alert == alert {
			out = append(out, s)
		}
	}
	return out
}

const heatOfBox = "acute-heat.place.box"

// acknowledge says that the alert's present occurrence was seen.
func (r *room) acknowledge(alert, by string) {
	r.Helper()
	_, err := r.Do(r.Context(), monitor.Change{Acknowledge: &monitor.Acknowledge{
		Alert: alert, Occurrence: r.alert(alert).Occurrence, By: by,
	}})
	if err != nil {
		r.Fatal(err)
	}
}

func TestTheLogFollowsAnOccurrenceToItsEnd(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := heat(t, newMemory())
		past := r.pastOf(heatOfBox)
		if len(past) != 1 || past[0].Phase != alerts.Active || past[0].Raised.IsZero() {
			t.Fatalf("while it is told the log says %+v; want it active", past)
		}
		r.acknowledge(heatOfBox, "Mira")
		if past = r.pastOf(heatOfBox); past[0].AcknowledgedBy != "Mira" {
			t.Errorf("after the acknowledgement the log says %+v", past)
		}
		r.hand.celsius("p", 28)
		r.live(5 * time.Minute)
		past = r.pastOf(heatOfBox)
		if len(past) != 1 || past[0].Phase != alerts.Normal || past[0].Cleared.IsZero() || *past[0].Value != 39 {
			t.Errorf("once over the log says %+v; want one, cleared, that reached 39 °C", past)
		}
		r.hand.celsius("p", 39)
		r.live(3 * time.Minute)
		if past = r.pastOf(heatOfBox); len(past) != 2 || past[0].Occurrence == past[1].Occurrence {
			t.Errorf("the second time the log says %+v; want two occurrences", past)
		}
	})
}

func TestTheLogKnowsHowAnOccurrenceEnded(t *testing.T) {
	const mild = "above-limit.place.box"
	for _, c := range []struct {
		why   string
		alert string
		end   func(r *room)
		want  func(s alerts.State) bool
	}{
		{
			"cleared by itself, seen by nobody", mild,
			func(r *room) { r.hand.celsius("p", 28); r.live(11 * time.Minute) },
			func(s alerts.State) bool { return s.Phase == alerts.Cleared && s.Acknowledged.IsZero() },
		},
		{
			"cleared first, acknowledged then", mild,
			func(r *room) { r.hand.celsius("p", 28); r.live(11 * time.Minute); r.acknowledge(mild, "Jo") },
			func(s alerts.State) bool {
				return s.Phase == alerts.Normal && s.AcknowledgedBy == "Jo" && !s.Cleared.IsZero()
			},
		},
		{
			"latched until someone saw it", heatOfBox,
			func(r *room) { r.hand.celsius("p", 28); r.live(5 * time.Minute); r.acknowledge(heatOfBox, "Jo") },
			func(s alerts.State) bool { return s.Phase == alerts.Normal && !s.Latched && !s.Cleared.IsZero() },
		},
		{
			"withdrawn with the place", mild,
			func(r *room) {
				r.enter(book.KindPlace, book.PlaceData{Place: "box", Gone: true})
				r.live(time.Minute)
			},
			func(s alerts.State) bool {
				return s.Phase == alerts.Normal && !s.Cleared.IsZero() && s.Acknowledged.IsZero()
			},
		},
	} {
		t.Run(c.why, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := heat(t, newMemory())
				r.enter(book.KindLimits, book.LimitsData{Place: "box", HighCelsius: new(incubation.Celsius(35))})
				r.live(11 * time.Minute)
				c.end(r)
				if past := r.pastOf(c.alert); len(past) != 1 || !c.want(past[0]) {
					t.Errorf("the log says %+v", past)
				}
			})
		})
	}
}

// What the disk does not take yet is in the log all the same, and reaches the
// disk once it can be written.
func TestTheLogDoesNotWaitForTheDisk(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newMemory()
		r := newRoom(t, store, "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.live(time.Minute)
		store.refuse(errDisk)
		r.hand.celsius("p", 39)
		r.live(3 * time.Minute)
		if past := r.pastOf(heatOfBox); len(past) != 1 || len(store.past) != 0 {
			t.Errorf("the log says %+v, the disk has %d", past, len(store.past))
		}
		store.refuse(nil)
		r.live(time.Minute)
		if err := r.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(r.pastOf(heatOfBox)[0], store.past[r.alert(heatOfBox).Occurrence]); diff != "" {
			t.Errorf("the log and the disk (-log +disk):\n%s", diff)
		}
	})
}

// After 26 months the log forgets an occurrence; a clock that nobody trusts
// makes it forget none.
func TestTheLogForgetsWhatIsOld(t *testing.T) {
	for _, trusted := range []bool{true, false} {
		synctest.Test(t, func(t *testing.T) {
			store := newMemory()
			for name, age := range map[string]int{"young": 25, "old": 27} {
				store.past[name] = alerts.State{Occurrence: name, Raised: time.Now().AddDate(0, -age, 0)}
			}
			r := newRoom(t, store)
			r.trusted = trusted
			r.live(time.Minute)
			_, young := store.past["young"]
			if _, old := store.past["old"]; old == trusted || !young {
				t.Errorf("clock trusted %v: the old one is kept %v, the young one %v", trusted, old, young)
			}
		})
	}
}
