package review

import (
	"time"

	"clutchd/incubation"
)

// A crossing is a stretch beyond one rule's limit.
type crossing struct {
	rule  int // index into the rules
	limit Limit
	Span
	worst incubation.Celsius
	// edge: the readings of a stretch of the room ended before it did.
	edge bool
	// silent: it was ended by a long step, to a reading at then.
	silent bool
	then   time.Time
}

// A watch watches one probe's readings, in order, for what lies beyond one
// rule's limit.
type watch struct {
	rule     int
	high     bool
	deadband incubation.Celsius
	limits   []Limit // of this rule, in order
	k        int
	open     bool
	now      crossing
	last     time.Time // of the last reading
	out      []crossing
}

// see takes a reading. long says that the step before it may be a gap.
func (w *watch) see(t time.Time, c incubation.Celsius, long bool) {
	if w.open && long {
		w.close(w.last, true)
		w.out[len(w.out)-1].then = t
	}
	for w.k < len(w.limits) && !t.Before(w.limits[w.k].To) {
		w.k++
	}
	if w.k == len(w.limits) || t.Before(w.limits[w.k].From) {
		w.shut(t)
		w.last = t
		return
	}
	l := w.limits[w.k]
	switch {
	case !w.open && w.beyond(c, l.Celsius):
		w.open, w.now = true, crossing{rule: w.rule, limit: l, Span: Span{From: t}, worst: c}
	case w.open && w.beyond(c, l.Celsius):
		if w.high && c > w.now.worst || !w.high && c < w.now.worst {
			w.now.worst = c
		}
	case w.open && w.back(c, l.Celsius):
		w.close(t, false)
	}
	w.last = t
}

// beyond reports whether a value lies beyond a limit: one at an upper limit
// does, one at a lower does not, as the rules have it.
func (w *watch) beyond(c, limit incubation.Celsius) bool {
	if w.high {
		return c >= limit
	}
	return c < limit
}

func (w *watch) back(c, limit incubation.Celsius) bool {
	if w.high {
		return c < limit-w.deadband
	}
	return c >= limit+w.deadband
}

func (w *watch) close(at time.Time, silent bool) {
	w.now.To, w.now.silent = at, silent
	w.out = append(w.out, w.now)
	w.open = false
}

// shut ends what is open because no limit holds any more.
func (w *watch) shut(at time.Time) {
	if w.open {
		w.close(at, false)
	}
}

// end closes the watch: the readings go on elsewhere, if at all.
func (w *watch) end() {
	if w.open {
		w.close(w.last, false)
		w.out[len(w.out)-1].edge = true
	}
}

// mended joins what a long step cut that turned out to be no gap.
func (w *watch) mended(gaps []Span) []crossing {
	var out []crossing
	for _, c := range w.out {
		if n := len(out); n > 0 && out[n-1].silent && out[n-1].then.Equal(c.From) &&
			len(Both([]Span{{out[n-1].To, c.From}}, gaps)) == 0 {
			worse := out[n-1].worst
			if w.high == (c.worst > worse) {
				worse = c.worst
			}
			out[n-1].To, out[n-1].worst = c.To, worse
			out[n-1].edge, out[n-1].silent, out[n-1].then = c.edge, c.silent, c.then
			continue
		}
		out = append(out, c)
	}
	return out
}
