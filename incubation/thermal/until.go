package thermal

import (
	"math"
	"time"
)

// A Reach is how long it takes until a limit is reached.
type Reach struct {
	Likely time.Duration
	Early  time.Duration // straight on by the steepest slope that the points allow
}

// Rise says when the temperature rises to a limit. False: it does not rise,
// beyond what chance does, or bends so that it stays under it. One that is
// over the limit already has reached it at once.
func (w *Window) Rise(limit float64) (Reach, bool) {
	up, known := w.Trend()
	if !known || up.Low <= 0 {
		return Reach{}, false
	}
	a, bent := w.Approach()
	return up.until(limit, a, bent)
}

// Fall is Rise downwards. floor is what it cannot fall under, as the room
// around it; nil: not known, and what its own bend tells is taken.
func (w *Window) Fall(limit float64, floor *float64) (Reach, bool) {
	t, known := w.Trend()
	down := Trend{-t.PerMinute, -t.High, -t.Low, -t.Celsius, t.Minutes}
	if !known || down.Low <= 0 {
		return Reach{}, false
	}
	own, bent := w.Approach()
	own.Toward, own.Far = -own.Toward, -own.Far
	if floor == nil || bent && own.Far <= -limit {
		return down.until(-limit, own, bent) // it may end above the room: heated, its door open
	}
	// It goes there as fast as the slope says, which is that of the middle.
	middle := down.Celsius - down.PerMinute*down.Minutes/2
	tau := (-*floor - middle) / down.PerMinute
	a := Approach{Toward: -*floor, Far: -*floor, Tau: duration(tau), slow: tau}
	// A room that is warmer than the place is no floor.
	return down.until(-limit, a, finite(*floor) && -*floor > down.Celsius)
}

// until is the time that a rising trend takes to a limit: straight on, or as
// long as its bend makes that.
func (t Trend) until(limit float64, a Approach, bent bool) (Reach, bool) {
	if t.Low <= 0 || !finite(limit) {
		return Reach{}, false
	}
	rest := limit - t.Celsius
	if rest <= 0 {
		return Reach{}, true
	}
	out := Reach{Likely: duration(rest / t.PerMinute), Early: duration(rest / t.High)}
	if !bent || a.Toward <= t.Celsius {
		return out, true
	}
	toward, tau := a.Toward, a.Tau.Minutes()
	switch {
	case a.Far <= limit:
		return Reach{}, false
	case toward <= limit:
		toward, tau = a.Far, a.slow // it may fall short, and may not
	}
	all := toward - t.Celsius
	out.Likely = max(out.Likely, duration(tau*math.Log(all/(all-rest))))
	return out, true
}
