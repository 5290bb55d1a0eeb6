package season

import (
	"math"

	"clutchd/incubation"
)

// hatchWorth is how many eggs the starting share that hatches counts as.
// Judgement.
const hatchWorth = 10

// simulation collects what the runs are drawn from.
func (h *Herd) simulation(weeks int) *simulation {
	s := &simulation{weeks: weeks, interval: h.pools[BetweenClutches]}
	for k := range mostInSeason {
		s.another[k] = h.stops.another(max(k, 1))
	}
	h.eggsOf(s)
	for _, id := range h.females {
		if c := h.courses[id]; c.animal.Breeds() {
			if l, ok := h.layer(c); ok {
				s.layers = append(s.layers, l)
			}
		}
	}
	return s
}

// eggsOf counts how eggs went, and where the live ones lie.
func (h *Herd) eggsOf(s *simulation) {
	hatched, ended, singles := 0.0, 0.0, 0.0
	took := map[string][]float64{}
	for _, id := range sortedKeys(h.state.Clutches) {
		c := h.state.Clutches[id]
		if len(c.Eggs) == 1 {
			singles++
		}
		for _, e := range c.Eggs {
			if !e.Live() {
				ended++
			}
			if e.State == incubation.Hatched {
				hatched++
				took[c.Female] = append(took[c.Female], dayCount(e.Ended.Sub(middle(c.Laid))))
			}
		}
	}
	s.hatch = (hatchWorth*h.value(HatchShare) + hatched) / (hatchWorth + ended)
	s.n = int(ended)
	// One clutch in ten is a single to begin with; ten clutches' worth. Judgement.
	s.double = 1 - (1+singles)/(10+float64(len(h.state.Clutches)))
	s.took = learnt(h.values[IncubationDays], took).of("")
	h.lyingOf(s)
}

// lyingOf finds the live eggs, their boxes, and how many eggs share one.
func (h *Herd) lyingOf(s *simulation) {
	eggs := 0
	for n, b := range h.boxes() {
		s.boxes = n + 1
		for _, e := range b.eggs {
			eggs++
			s.lying = append(s.lying, h.lain(e, n, s.took))
		}
	}
	s.perBox = 2 // a clutch to a box, until boxes are seen to be shared
	if s.boxes > 0 {
		s.perBox = max(float64(eggs)/float64(s.boxes), 2)
	}
}

// lain dates a live egg by its own estimate, or by how long eggs take here.
func (h *Herd) lain(e *incubation.Egg, box int, took Learned) lain {
	out := lain{box: box, pipped: e.State == incubation.Pipped}
	if w, ok := h.o.Hatch[e.ID]; ok && !w.Likely.IsZero() {
		out.likely = dayCount(w.Likely.Sub(h.now))
		if !w.Latest.IsZero() && !w.Earliest.IsZero() {
			out.sd = dayCount(w.Latest.Sub(w.Earliest)) / (2 * z90)
		}
		return out
	}
	laid := middle(h.state.Clutches[e.Clutch].Laid)
	out.likely, out.sd = dayCount(laid.Sub(h.now))+took.Days, took.SD
	return out
}

// layer gives a female's part; false: nothing says that she will lay.
func (h *Herd) layer(c *course) (layer, bool) {
	mean, variance := h.pools[BetweenClutches].mean(c.animal.ID)
	l := layer{mean: mean, sd: math.Sqrt(variance)}
	guesses, comes := h.guesses(c)
	if len(guesses) > 0 && c.phase.stage != incubation.Resorbed {
		g := joined(guesses)
		b := start{
			at: dayCount(g.at.Sub(h.now)), sd: g.sd, comes: comes, laid: c.laidIn(h.season),
			end: dayCount(h.season.To.Sub(h.now)),
		}
		if still := 1 - phi(-b.at/b.sd); !c.phase.carries() {
			b.comes = comes * still / (comes*still + 1 - comes)
		}
		l.starts = append(l.starts, b)
	}
	if b, ok := h.laterOn(c); ok {
		l.starts = append(l.starts, b)
	}
	return l, len(l.starts) > 0
}

// laterOn is a season to come, this one's where she has not begun, or what may
// follow a resorption: the first clutch falls as long after the opening as
// after a first pairing.
func (h *Herd) laterOn(c *course) (start, bool) {
	last := h.seasonAt(h.season.From.AddDate(0, 0, -1))
	if c.laidIn(h.season)+c.laidIn(last) == 0 && !c.pairedIn(h.season) && !c.pairedIn(last) {
		return start{}, false
	}
	wait, o := h.pools[PairingToClutch].of(c.animal.ID), h.opening(c.animal.ID, openLate)
	from, sd := o.Likely, dayCount(o.By.Sub(o.From))/(2*z80)
	if c.phase.stage == incubation.Resorbed {
		p := h.pools[AfterResorption].of(c.animal.ID)
		from, sd = c.phase.check.At.Add(days(p.Days)), p.SD
	}
	first := from.Add(days(wait.Days))
	return start{
		at: dayCount(first.Sub(h.now)), sd: math.Hypot(sd, wait.SD), comes: h.stops.first(),
		end: dayCount(h.seasonAt(first).To.Sub(h.now)),
	}, true
}

func (c *course) pairedIn(s Season) bool {
	for _, p := range c.pairings {
		if p.Outcome != incubation.Refused && s.Holds(p.At) {
			return true
		}
	}
	return false
}
