package monitor_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"

	"github.com/google/go-cmp/cmp"
)

// A told is when an occurrence was raised and when it was over.
type told struct{ Raised, Over time.Time }

// toldOf gives what was told of an alert, from the notices that left. A latched
// one counts as over when it latched: a preview takes it as seen then.
func (p *post) toldOf(alert string) []told {
	p.mu.Lock()
	defer p.mu.Unlock()
	var out []told
	for _, n := range p.got {
		if n.Alert != alert {
			continue
		}
		switch n.Reason {
		case alerts.ReasonRaised:
			out = append(out, told{Raised: n.Time})
		case alerts.ReasonCleared, alerts.ReasonLatched, alerts.ReasonWithdrawn:
			out[len(out)-1].Over = n.Time
		}
	}
	return out
}

// rough lives through hours in which the cabinet swings through every limit
// that a place has, a probe is silent now and then, and the keeper does things.
func (r *room) rough(hours int) {
	r.Helper()
	dice := rand.New(rand.NewPCG(7, 11))
	noise := 0.0
	begin := time.Now()
	for i := range hours * 360 {
		t := float64(i) / 360
		noise = 0.98*noise + 0.08*dice.NormFloat64()
		swing := (4+t/3)*math.Sin(2*math.Pi*t/7) + 2*math.Sin(2*math.Pi*t/1.3)
		r.hand.celsius("p", incubation.Celsius(28+swing+noise))
		r.hand.celsius("q", incubation.Celsius(28.4+0.7*swing-noise))
		r.hand.celsius("b", incubation.Celsius(30+0.4*swing+noise))
		r.hand.humid("p", incubation.Humidity(0.76+0.05*math.Sin(t)))
		if m := i % 2900; m > 2700 && m < 2700+60*(1+i/2900) {
			r.hand.silent("p")
		}
		switch i {
		case 1500:
			r.enter(book.KindSetpoint, book.SetpointData{Place: "inc", Celsius: 29})
		case 2200:
			r.enter(book.KindStand, book.StandData{Place: "box", In: ""})
		case 2500:
			r.enter(book.KindStand, book.StandData{Place: "box", In: "inc"})
		case 4000:
			r.enter(book.KindHatch, book.HatchData{Egg: "fern-1a"})
		}
		time.Sleep(time.Until(begin.Add(time.Duration(i) * 10 * time.Second)))
		r.Tick(r.Context(), r.instant())
		for _, a := range r.Snapshot().Alerts {
			if a.Latched {
				if _, err := r.Do(r.Context(), monitor.Change{Acknowledge: &monitor.Acknowledge{
					Alert: a.Alert, Occurrence: a.Occurrence,
				}}); err != nil {
					r.Fatal(err)
				}
			}
		}
	}
}

// What a preview with the limits in force says is what really was told, tick
// for tick: both run through the same code, and this holds them to it.
func TestPreviewTellsWhatWasTold(t *testing.T) {
	arithmetic(t)
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p", "q", "b")
		for _, id := range []string{"p", "q", "b"} {
			r.hand.celsius(id, 28)
		}
		r.live(time.Minute)
		r.incubator(28)
		r.enter(book.KindProbe, book.ProbeData{Probe: "q", Place: "inc", Position: incubation.IncubatorAir})
		// Off-setpoint is previewed with the width that the book gives it, so its
		// cabinet has no eggs to narrow it.
		r.enter(book.KindPlace, book.PlaceData{Place: "bare", Kind: incubation.Incubator, Name: "Bare"})
		r.enter(book.KindSetpoint, book.SetpointData{Place: "bare", Celsius: 30})
		r.enter(book.KindProbe, book.ProbeData{Probe: "b", Place: "bare", Position: incubation.IncubatorAir})
		r.clutch()
		low, high := incubation.Celsius(26), incubation.Celsius(31)
		own := book.LimitsData{Place: "box", LowCelsius: &low, HighCelsius: &high}
		r.enter(book.KindLimits, own)
		r.rough(18)
		if err := r.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		fired := map[string]int{}
		for _, q := range []monitor.PreviewQuestion{
			{Rule: "acute-heat", Subject: "box", Limits: []book.LimitsData{own}},
			{Rule: "runaway-heat", Subject: "box", Limits: []book.LimitsData{own}},
			{Rule: "too-warm", Subject: "box", Limits: []book.LimitsData{own}},
			{Rule: "too-warm", Subject: "inc", Limits: []book.LimitsData{{}}},
			{Rule: "too-cool", Subject: "box", Limits: []book.LimitsData{own}},
			{Rule: "too-cool", Subject: "inc", Limits: []book.LimitsData{{}}},
			{Rule: "heater-off", Subject: "box", Limits: []book.LimitsData{own}},
			{Rule: "dry-air", Subject: "box", Limits: []book.LimitsData{own}},
			{Rule: "above-limit", Subject: "box", Limits: []book.LimitsData{own}},
			{Rule: "below-limit", Subject: "box", Limits: []book.LimitsData{own}},
			{Rule: "off-setpoint", Subject: "bare", Limits: []book.LimitsData{{}}},
			{Rule: "stale", Subject: "p", Limits: []book.LimitsData{own}},
		} {
			q.Days = 1
			got, err := r.Preview(t.Context(), q)
			if err != nil {
				t.Fatalf("%s: %v", q.Rule, err)
			}
			var would []told
			for _, f := range got.Fired[0] {
				would = append(would, told{f.Raised, f.Over})
			}
			kind := alerts.PlaceSubject
			if q.Rule == "stale" {
				kind = alerts.ProbeSubject
			}
			did := r.post.toldOf(alerts.AlertID(q.Rule, alerts.Subject{Kind: kind, ID: q.Subject}))
			if d := cmp.Diff(did, would); d != "" {
				t.Errorf("%s of %s (-told +previewed):\n%s", q.Rule, q.Subject, d)
			}
			fired[q.Rule] += len(did)
		}
		t.Log(fired)
		for rule, least := range map[string]int{
			"acute-heat": 1, "runaway-heat": 2, "too-warm": 3, "too-cool": 1, "heater-off": 1,
			"above-limit": 3, "below-limit": 3, "stale": 1, "dry-air": 1, "off-setpoint": 2,
		} {
			if fired[rule] < least {
				t.Errorf("only %d of %s were told: the stretch tries too little", fired[rule], rule)
			}
		}
	})
}

func TestPreviewRefusesWhatItCannotSay(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		one := []book.LimitsData{{}}
		for name, q := range map[string]monitor.PreviewQuestion{
			"a rule that does not exist":              {Rule: "too-loud", Subject: "box", Limits: one},
			"a rule without a value":                  {Rule: "eggs-unwatched", Subject: "box", Limits: one},
			"a rule about the machine":                {Rule: "away", Subject: "clutchd", Limits: one},
			"a place that does not exist":             {Rule: "too-warm", Subject: "attic", Limits: one},
			"a probe that does not exist":             {Rule: "stale", Subject: "z", Limits: one},
			"no limits at all":                        {Rule: "too-warm", Subject: "box"},
			"more sets of limits than it can compare": {Rule: "too-warm", Subject: "box", Limits: make([]book.LimitsData, 5)},
		} {
			_, err := r.Preview(t.Context(), q)
			if _, ok := errors.AsType[*monitor.Refusal](err); !ok {
				t.Errorf("%s: %v", name, err)
			}
		}
	})
}

// Who leaves the page stops the work; who waits on a slow machine gets what
// there was time for, and is told so.
func TestPreviewEndsInTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		q := monitor.PreviewQuestion{Rule: "too-warm", Subject: "box", Limits: []book.LimitsData{{}}}
		gone, leave := context.WithCancel(t.Context())
		leave()
		if _, err := r.Preview(gone, q); !errors.Is(err, context.Canceled) {
			t.Errorf("somebody who left gets %v", err)
		}
		r.store.slow(time.Second)
		began := time.Now()
		p, err := r.Preview(t.Context(), q)
		if err != nil {
			t.Fatal(err)
		}
		took, reached := time.Since(began), p.To.Sub(p.From)
		if p.Whole || took > 30*time.Second || reached <= 0 || reached > 10*24*time.Hour {
			t.Errorf("after %v it reached %v, whole: %v", took, reached, p.Whole)
		}
		r.store.slow(0)
		if p, err = r.Preview(t.Context(), q); err != nil || !p.Whole {
			t.Errorf("a quick store: whole %v, %v", p.Whole, err)
		}
	})
}

// Two at a time would take the processor from the tick.
func TestPreviewsAreMadeOneAtATime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.store.slow(time.Second)
		q := monitor.PreviewQuestion{Rule: "too-warm", Subject: "box", Limits: []book.LimitsData{{}}, Days: 1}
		first := make(chan error)
		go func() {
			_, err := r.Preview(t.Context(), q)
			first <- err
		}()
		synctest.Wait()
		_, err := r.Preview(t.Context(), q)
		if _, ok := errors.AsType[*monitor.Refusal](err); !ok {
			t.Errorf("the second: %v", err)
		}
		if err := <-first; err != nil {
			t.Errorf("the first: %v", err)
		}
	})
}

// While nobody was watching no probe was silent: nobody listened.
func TestPreviewLeavesOutWhatNobodyWatched(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		r.live(time.Hour)
		time.Sleep(3 * time.Hour)
		next := r.again("p")
		next.hand.celsius("p", 28)
		next.live(time.Hour)
		next.hand.silent("p")
		next.live(20 * time.Minute)
		if err := next.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		stale := monitor.PreviewQuestion{Rule: "stale", Subject: "p", Limits: []book.LimitsData{{}}, Days: 1}
		p, err := next.Preview(t.Context(), stale)
		if err != nil {
			t.Fatal(err)
		}
		did := next.post.toldOf("stale.probe.p")
		if len(did) != 1 || len(p.Fired[0]) != 1 || !p.Fired[0][0].Raised.Equal(did[0].Raised) {
			t.Errorf("told %v, previewed %+v: once, after the restart", did, p.Fired[0])
		}
	})
}
