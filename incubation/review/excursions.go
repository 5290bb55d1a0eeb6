package review

import (
	"cmp"
	"slices"
	"time"

	"clutchd/incubation"
)

// How long a box settles after it was placed and after its thermostat was set:
// as the rules have it. Judgement.
const (
	settlesPlaced = 2 * time.Hour
	settlesSet    = 3 * time.Hour
)

// excursions makes the crossings of a record, of every probe and rule, into
// excursions.
func (a Asked) excursions(all []crossing, r *Record) []Excursion {
	var joined []crossing
	for i := range a.Rules {
		mine := slices.DeleteFunc(slices.Clone(all), func(c crossing) bool { return c.rule != i })
		joined = append(joined, a.united(mine)...)
	}
	out := []Excursion{}
	for _, high := range [...]bool{true, false} {
		out = append(out, a.nested(joined, high)...)
	}
	for i := range out {
		out[i].Settling = a.settling(out[i], r)
	}
	slices.SortStableFunc(out, func(x, y Excursion) int { return x.From.Compare(y.From) })
	return out
}

// united puts the crossings of one rule together that overlap, as of two
// probes side by side, or that only a change of the room parted.
func (a Asked) united(list []crossing) []crossing {
	slices.SortStableFunc(list, func(x, y crossing) int { return x.From.Compare(y.From) })
	var out []crossing
	for _, c := range list {
		n := len(out)
		if n == 0 || c.From.After(out[n-1].To) && !(out[n-1].edge && c.From.Sub(out[n-1].To) <= shortestGap) {
			out = append(out, c)
			continue
		}
		o := &out[n-1]
		if a.Rules[c.rule].High == (c.worst > o.worst) {
			o.worst = c.worst
		}
		if !c.To.Before(o.To) {
			o.To, o.edge = c.To, c.edge
		}
	}
	return out
}

// nested makes one excursion of crossings on one side that lie within each
// other.
func (a Asked) nested(list []crossing, high bool) []Excursion {
	list = slices.DeleteFunc(slices.Clone(list), func(c crossing) bool { return a.Rules[c.rule].High != high })
	slices.SortStableFunc(list, func(x, y crossing) int {
		return cmp.Or(x.From.Compare(y.From), y.To.Compare(x.To))
	})
	var out []Excursion
	for _, c := range list {
		n := len(out)
		if n == 0 || !c.From.Before(out[n-1].To) && !c.From.Equal(out[n-1].From) {
			out = append(out, Excursion{From: c.From.UTC(), To: c.To.UTC(), High: high, Worst: c.worst, Brief: true})
			n++
		}
		e := &out[n-1]
		if high == (c.worst > e.Worst) {
			e.Worst = c.worst
		}
		e.To = later(e.To, c.To.UTC())
		e.cross(c, a.Rules[c.rule])
	}
	for i := range out {
		e := &out[i]
		e.Seconds, e.Worst = e.To.Sub(e.From).Seconds(), thousandths(e.Worst)
		slices.SortStableFunc(e.Limits, func(x, y Crossed) int {
			if high {
				return cmp.Compare(x.Celsius, y.Celsius)
			}
			return cmp.Compare(y.Celsius, x.Celsius)
		})
	}
	return out
}

// cross adds a crossing to what was crossed.
func (e *Excursion) cross(c crossing, r Rule) {
	length := c.To.Sub(c.From)
	e.Brief = e.Brief && length < r.OnDelay
	for i, k := range e.Limits {
		if k.Rule == r.Code && k.Celsius == c.limit.Celsius {
			e.Limits[i].Seconds += length.Seconds()
			return
		}
	}
	e.Limits = append(e.Limits, Crossed{r.Code, r.Title, c.limit.Celsius, c.limit.Source, length.Seconds()})
}

// settling reports whether every rule that was crossed waits while a box
// settles, and the box was.
func (a Asked) settling(e Excursion, r *Record) bool {
	for _, c := range e.Limits {
		if !slices.ContainsFunc(a.Rules, func(r Rule) bool { return r.Code == c.Rule && r.Settles }) {
			return false
		}
	}
	after := func(t time.Time, d time.Duration) bool { return !e.From.Before(t) && e.From.Before(t.Add(d)) }
	for _, s := range r.Stays {
		if after(s.From, settlesPlaced) {
			return true
		}
	}
	for _, s := range r.Setpoints[min(1, len(r.Setpoints)):] {
		if after(s.From, settlesSet) {
			return true
		}
	}
	return false
}

// mean rounds a sum of temperatures over their number.
func mean(sum float64, n int) incubation.Celsius {
	return thousandths(incubation.Celsius(sum / float64(n)))
}
