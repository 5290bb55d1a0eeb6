package monitor

import (
	"math"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

const (
	// smoothFor is the time constant of the temperature that the
	// off-setpoint rule judges: an on/off thermostat's swing is not news.
	smoothFor = 30 * time.Minute
	// trailFor is the stretch whose median must be off the setpoint too: a
	// door that was open for ten minutes leaves a tail in the smoothed value.
	trailFor = time.Hour
	// fallOver is the stretch over which "falling" is judged.
	fallOver = 10 * time.Minute
	// A box just placed, a place just back in service and a setpoint just
	// changed need this long before being off the setpoint means something.
	settleBox      = 2 * time.Hour
	settleSetpoint = 3 * time.Hour
)

// A placeWatch remembers of a place what one reading does not tell.
type placeWatch struct {
	last     time.Time
	smooth   float64
	haveTemp bool
	trail    []trailPoint // one a minute, over trailFor
	settled  time.Time    // when settling ends
	shelf    string       // what the learned difference is one of
	learns   bool         // that is not known yet
	differs  difference
	wobbles  wobble     // how much that changes by day and night
	keeps    string     // what its temperature depends on: see keepsTo
	told     time.Time  // when a louder alert about it, or what it stands in, last stood
	lately   difference // its temperature, °C, learned while keeps stays the same and it is settled
}

type trailPoint struct {
	at      time.Time
	celsius float64
}

// see takes the place's temperature of a tick; outer is that of what it
// stands in, nil where nothing fresh is known, and around what is remembered of
// that.
func (w *placeWatch) see(now time.Time, celsius float64, outer *incubation.Celsius, around *placeWatch) {
	dt := now.Sub(w.last)
	if !w.haveTemp || dt > 2*smoothFor {
		w.smooth, w.haveTemp, w.trail = celsius, true, nil
	} else {
		w.smooth += (celsius - w.smooth) * share(dt, smoothFor)
		if w.settling(now).IsZero() {
			w.lately.learn(celsius, dt)
			w.compare(celsius, outer, around, dt)
		}
	}
	w.last = now
	if n := len(w.trail); n == 0 || now.Sub(w.trail[n-1].at) >= time.Minute {
		w.trail = append(w.trail, trailPoint{now, celsius})
	}
	for len(w.trail) > 1 && now.Sub(w.trail[0].at) > trailFor {
		w.trail = w.trail[1:]
	}
}

// compare learns how the place differs from what it stands in. While it settles
// it is on its way to that, which teaches nothing.
func (w *placeWatch) compare(celsius float64, outer *incubation.Celsius, around *placeWatch, dt time.Duration) {
	if outer == nil {
		return
	}
	if around != nil && around.haveTemp {
		w.wobbles.learn(w.differs, w.smooth-around.smooth, dt)
	}
	w.differs.learn(celsius-float64(*outer), dt)
}

// share is how far an exponential mean moves in dt.
func share(dt, constant time.Duration) float64 {
	return 1 - math.Exp(-dt.Seconds()/constant.Seconds())
}

// falling reports whether the place has become colder over the last minutes by
// more than a sensor's step or a thermostat's ripple.
func (w *placeWatch) falling(celsius float64) bool {
	i := slices.IndexFunc(w.trail, func(p trailPoint) bool { return w.last.Sub(p.at) <= fallOver })
	return i >= 0 && i < len(w.trail)-1 && celsius < w.trail[i].celsius-0.1
}

// median is that of the last hour: half of it and more was at least so warm,
// half and more at most.
func (w *placeWatch) median() float64 {
	all := make([]float64, 0, len(w.trail))
	for _, p := range w.trail {
		all = append(all, p.celsius)
	}
	slices.Sort(all)
	if len(all) == 0 {
		return w.smooth
	}
	return (all[(len(all)-1)/2] + all[len(all)/2]) / 2
}

// settling is when settling ends, zero when it has.
func (w *placeWatch) settling(now time.Time) time.Time {
	if now.Before(w.settled) {
		return w.settled
	}
	return time.Time{}
}

func (w *placeWatch) shift(d time.Duration) {
	w.last = w.last.Add(d)
	for i := range w.trail {
		w.trail[i].at = w.trail[i].at.Add(d)
	}
}

// settledAt is when a place is settled by what the book says was done to it.
func settledAt(b *book.State, place string, now time.Time) time.Time {
	var end time.Time
	later := func(t time.Time, wait time.Duration) {
		// What is entered for tomorrow must not keep today's alerts waiting.
		if !t.IsZero() && !t.After(now) && t.Add(wait).After(end) {
			end = t.Add(wait)
		}
	}
	later(b.Placed[place], settleBox)
	if v, of := b.ServiceAt(place, now); of == "" {
		later(v.Until, settleBox)
	}
	for _, id := range []string{place, incubation.At(b.Places[place].Stays, now)} {
		points := b.Setpoints[id]
		for i := len(points) - 1; i > 0; i-- { // the first is no change
			if !points[i].From.After(now) {
				later(points[i].From, settleSetpoint)
				break
			}
		}
	}
	return end
}
