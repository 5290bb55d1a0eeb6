package store

import (
	"iter"
	"slices"
	"time"

	"clutchd/incubation"
)

// A Point is a stretch of readings thinned to its extremes. A gap is a Point
// with Count 0: From is the reading before it, To the one behind it.
type Point struct {
	From, To time.Time // of its first and last reading
	Count    int
	Celsius  Extremes
	Humidity Extremes
	// Damaged is how many errors were met between this Point and the one
	// before.
	Damaged int
}

// Extremes are the lowest and highest value of a quantity with their times,
// and the mean. Count 0: none of the readings held it.
type Extremes struct {
	Count        int
	Min, Max     float64 // °C, or ratio
	Mean         float64
	MinAt, MaxAt time.Time
}

// gapIntervals is how many usual distances between two readings make a gap:
// as many as make a probe stale.
const gapIntervals = 5

// Thin folds readings, oldest first, into at most points stretches of equal
// length between from and to, keeping the lowest and highest value of each. A
// stretch without readings between two that have some is a gap, unless
// readings simply come more seldom than points: it must be longer than five
// usual distances between readings. Gaps come on top of points. Readings
// outside [from, to) are passed over.
func Thin(seq iter.Seq2[incubation.Reading, error], from, to time.Time, points int) []Point {
	span := to.Sub(from)
	if points < 1 || span <= 0 {
		return nil
	}
	t := thinner{length: (span + time.Duration(points) - 1) / time.Duration(points), slot: -1}
	for r, err := range seq {
		if err != nil {
			t.damaged++
			continue
		}
		if since := r.Time.Sub(from); since >= 0 && since < span {
			t.add(r, since)
		}
	}
	return t.withGaps()
}

type thinner struct {
	length  time.Duration // of a stretch
	slot    int           // the present stretch
	until   time.Duration // its end
	damaged int           // errors not yet told
	all     []Point
	slots   []int           // by Point: its stretch
	apart   [maxApart]int32 // how many readings came so many seconds behind another
	last    time.Duration
}

// maxApart bounds the distances that are told from each other, s.
const maxApart = 7200

func (t *thinner) add(r incubation.Reading, since time.Duration) {
	if t.slot >= 0 {
		t.apart[min(max((since-t.last)/time.Second, 0), maxApart-1)]++
	}
	t.last = since
	if t.slot < 0 || since >= t.until {
		t.slot = int(since / t.length)
		t.until = time.Duration(t.slot+1) * t.length
		t.slots = append(t.slots, t.slot)
		t.all = append(t.all, Point{From: r.Time})
	}
	p := &t.all[len(t.all)-1]
	p.To = r.Time
	p.Count++
	if t.damaged > 0 {
		p.Damaged, t.damaged = p.Damaged+t.damaged, 0
	}
	if r.Has&incubation.Temperature != 0 {
		p.Celsius.add(float64(r.Celsius), r.Time)
	}
	if r.Has&incubation.RelativeHumidity != 0 {
		p.Humidity.add(float64(r.Humidity), r.Time)
	}
}

func (e *Extremes) add(v float64, at time.Time) {
	if e.Count == 0 || v < e.Min {
		e.Min, e.MinAt = v, at
	}
	if e.Count == 0 || v > e.Max {
		e.Max, e.MaxAt = v, at
	}
	e.Count++
	e.Mean += v // the sum, until withGaps
}

// usual gives the median distance between two readings.
func (t *thinner) usual() time.Duration {
	total := int32(0)
	for _, n := range t.apart {
		total += n
	}
	seen := int32(0)
	for s, n := range t.apart {
		if seen += n; seen > total/2 {
			return time.Duration(s) * time.Second
		}
	}
	return 0
}

func (t *thinner) withGaps() []Point {
	longest := gapIntervals * t.usual()
	out := make([]Point, 0, len(t.all))
	for i, p := range t.all {
		p.Celsius.Mean /= float64(max(p.Celsius.Count, 1))
		p.Humidity.Mean /= float64(max(p.Humidity.Count, 1))
		if i > 0 && t.slots[i]-t.slots[i-1] > 1 && p.From.Sub(t.all[i-1].To) > longest {
			out = append(out, Point{From: t.all[i-1].To, To: p.From})
		}
		out = append(out, p)
	}
	if n := len(out); n > 0 && t.damaged > 0 {
		out[n-1].Damaged += t.damaged
	}
	return slices.Clip(out)
}
