package monitor

import (
	"context"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A question asks the history of a gap.
type question struct {
	book     *book.State
	from, to time.Time
	// watched are the probes that the program reads itself. What others tell
	// of the gap was brought in from a logger: somebody may do that before the
	// program is started again, and it was away all the same.
	watched map[string]bool
}

// A meanwhile is what the history tells of a gap.
type meanwhile struct {
	from time.Time // when a probe of the program's own was last read; zero: none was
	// By place: the last temperature before the gap, and the coldest and the
	// warmest that was stored in it.
	before, coldest, warmest map[string]point
}

// takenTogether is how far apart two probes' last readings may lie to be taken
// together.
const takenTogether = 10 * time.Minute

// meanwhile reads the history of every placed probe. It runs beside the tick.
func (m *Monitor) meanwhile(ctx context.Context, q question) meanwhile {
	out := meanwhile{before: map[string]point{}, coldest: map[string]point{}, warmest: map[string]point{}}
	for _, p := range q.book.Placements {
		if r, ok := m.newestOf(ctx, q.book, p.Probe, q.to); ok && q.watched[p.Probe] {
			out.from = later(out.from, r.Time)
		}
	}
	from := q.from
	if !out.from.IsZero() {
		from = out.from
	}
	sums := map[string]mean{}
	for _, p := range q.book.Placements {
		if !p.Stay.Covers(from) {
			continue
		}
		place := p.Stay.Place
		if r, ok := m.newestOf(ctx, q.book, p.Probe, from.Add(time.Second)); ok && from.Sub(r.Time) < takenTogether {
			sum := sums[place]
			sum.add(float64(r.Celsius))
			sums[place] = sum
			c, _ := sum.value()
			out.before[place] = point{later(out.before[place].at, r.Time), c}
		}
		m.extremes(ctx, q.book, p.Probe, span{from.Add(time.Second), q.to}, func(r incubation.Reading) {
			out.gap(place, point{r.Time, float64(r.Celsius)})
		})
	}
	return out
}

// gap takes a temperature that was stored in the gap.
func (w *meanwhile) gap(place string, p point) {
	if c, ok := w.coldest[place]; !ok || p.celsius < c.celsius {
		w.coldest[place] = p
	}
	if h, ok := w.warmest[place]; !ok || p.celsius > h.celsius {
		w.warmest[place] = p
	}
}

// newestOf gives a probe's newest temperature before a time, corrected; false:
// there is none within a month.
func (m *Monitor) newestOf(ctx context.Context, b *book.State, probe string, before time.Time) (incubation.Reading, bool) {
	var newest incubation.Reading
	for _, back := range []time.Duration{time.Hour, 24 * time.Hour, 30 * 24 * time.Hour} {
		m.extremes(ctx, b, probe, span{before.Add(-back), before}, func(r incubation.Reading) { newest = r })
		if !newest.Time.IsZero() {
			return newest, true
		}
	}
	return newest, false
}

// extremes gives each temperature of a probe in a span that nothing argues
// against, oldest first.
func (m *Monitor) extremes(ctx context.Context, b *book.State, probe string, s span, take func(incubation.Reading)) {
	if !s.from.Before(s.to) {
		return
	}
	for r, err := range m.opt.Store.Range(ctx, probe, s.from, s.to) {
		if err != nil || r.Has&incubation.Temperature == 0 || r.Quality.Doubtful() {
			continue // a damaged stretch is a gap within the gap
		}
		take(correct(b, r))
	}
}
