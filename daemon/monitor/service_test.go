package monitor_test

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// outFor takes a place out of service for so long.
func (r *room) outFor(place string, d time.Duration) {
	r.Helper()
	r.enter(book.KindService, book.ServiceData{Place: place, Until: time.Now().Add(d).UTC(), Why: "new fan"})
}

func TestWhatOutOfServiceSays(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.hand.silent("p")
		r.live(10 * time.Minute)
		if r.alert("stale.probe.p") == nil {
			t.Fatal("the silent probe is not told")
		}
		r.outFor("inc", 3*time.Hour)
		r.live(20 * time.Second)
		for _, id := range []string{"inc", "box"} {
			p := r.place(id)
			if s := p.Service; s == nil || s.Of != "inc" || s.Name != "Incubator" || s.Why != "new fan" ||
				p.Low != nil || p.High != nil {
				t.Errorf("%s is %+v, service %+v; want it out, and no limits in force", id, p, s)
			}
		}
		last := r.post.got[len(r.post.got)-1]
		want := "Incubator is out of service until Sat 1 Jan 03:1"
		if last.Reason != alerts.ReasonWithdrawn || last.Rule != "stale" || !strings.HasPrefix(last.Text, want) {
			t.Errorf("told last: %s %s %q, want it withdrawn, with %q", last.Reason, last.Rule, last.Text, want)
		}
		r.live(3 * time.Hour)
		if p := r.place("inc"); p.Service != nil || p.Settling.IsZero() {
			t.Errorf("after its end: service %+v, settling until %v", p.Service, p.Settling)
		}
		if r.alert("stale.probe.p") == nil {
			t.Error("the silent probe is not told again")
		}
	})
}

// Which rules speak of a place out of service, by whether eggs lie in it.
func TestWhatIsToldOfAPlaceOutOfService(t *testing.T) {
	speaks := map[string]alerts.Maintained{}
	for _, r := range alerts.Rules() {
		speaks[r.Code] = r.Maintained
	}
	for _, c := range []struct {
		why, rule string
		eggs      bool
		want      bool
	}{
		{"deadly heat over eggs cannot wait", "acute-heat", true, true},
		{"nor can runaway heat", "runaway-heat", true, true},
		{"nor what is too warm", "too-warm", true, true},
		{"nor eggs that nobody watches", "eggs-unwatched", true, true},
		{"an empty incubator may be run hot", "acute-heat", false, false},
		{"a cold one stands open", "too-cool", true, false},
		{"its heater is off: whoever works there did it", "heater-off", true, false},
		{"its probe was pulled", "stale", true, false},
		{"its door stands open", "door-open", true, false},
		{"water beside the mains can kill whoever works there", "leak", false, true},
	} {
		t.Run(c.why, func(t *testing.T) {
			if got := speaks[c.rule].Judges(c.eggs); got != c.want {
				t.Errorf("%s speaks: %v", c.rule, got)
			}
		})
	}
}

// What a place reads while it is out of service is no shelf's difference.
func TestOutOfServiceTeachesNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p", "air")
		r.hand.celsius("p", 28.5)
		r.hand.celsius("air", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.enter(book.KindProbe, book.ProbeData{Probe: "air", Place: "inc", Position: incubation.IncubatorAir})
		r.days(2)
		before := r.place("box").Offset
		if before == nil {
			t.Fatal("the shelf's difference was not learned")
		}
		r.outFor("inc", 25*time.Hour)
		r.hand.celsius("p", 22)
		r.days(1)
		if after := r.place("box").Offset; after == nil || *after != *before {
			t.Errorf("the difference was %v and is %v", *before, after)
		}
	})
}

func TestServiceIsRefusedInWords(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		e := book.Entry{Kind: book.KindService, Data: []byte(`{"place":"inc","until":"2000-03-01T00:00:00Z"}`)}
		if err := r.do(monitor.Change{Entry: &e}); !strings.Contains(err, "more than 7 days away") {
			t.Errorf("two months out of service: %q", err)
		}
	})
}
