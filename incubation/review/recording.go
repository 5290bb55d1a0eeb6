package review

import (
	"cmp"
	"slices"
	"time"

	"clutchd/incubation"
)

// A recording is a record while it is read.
type recording struct {
	a         Asked
	stays     []incubation.Stay
	out       *Record
	points    *Thinner
	limits    [][]Limit // by rule
	crossings []crossing
	series    map[int]*Thinner // by index into out.Probes
	rows      map[probeKey]int // index into out.Probes
	gaps      []Span
	sum       float64
	doubtful  []incubation.Reading // of this stretch, corrected
}

// record makes the record of eggs that always lay together.
func (a Asked) record(c *incubation.Clutch, group []*incubation.Egg) Record {
	egg := longest(group)
	span := Span{c.Laid.From.UTC(), a.Now.UTC()}
	if !egg.Live() && !egg.Ended.IsZero() {
		span.To = egg.Ended.UTC()
	}
	span = a.window(span)
	r := Record{
		From: span.From, To: span.To, Probes: []Probe{}, Points: []Point{}, Setpoints: []Setpoint{},
		Limits: []Limit{}, Gaps: []Gap{}, Excursions: []Excursion{}, Stays: a.stays(egg, span),
		BoxWeights: []BoxWeight{}, BoxLooks: []BoxLook{},
	}
	for _, e := range group {
		r.Eggs = append(r.Eggs, e.ID)
	}
	a.boxes(&r)
	known := Span{span.From, earlier(span.To, a.Now.UTC())}
	for _, p := range Setpoints(a.Book, egg.Stays, known.From, known.To) {
		r.Setpoints = append(r.Setpoints, Setpoint{p.From.UTC(), p.Celsius})
	}
	if known.From.Before(known.To) {
		f := fence{a.Book, limitsOf(a.Book), egg.Stays, a.Zone}
		r.Limits = f.limits(a.Rules, known)
	}
	if a.Readings != nil {
		a.read(&r, egg.Stays, known)
	}
	return r
}

// window gives the part of a time that was asked for, never an empty one.
func (a Asked) window(s Span) Span {
	if !a.From.IsZero() && a.From.After(s.From) {
		s.From = a.From.UTC()
	}
	if !a.To.IsZero() && a.To.Before(s.To) {
		s.To = a.To.UTC()
	}
	if !s.To.After(s.From) {
		s.To = s.From.Add(time.Hour)
	}
	return s
}

// read fills in what was read.
func (a Asked) read(r *Record, stays []incubation.Stay, known Span) {
	in := &recording{
		a: a, stays: stays, out: r, points: NewThinner(r.From, r.To, a.Points),
		limits: make([][]Limit, len(a.Rules)), series: map[int]*Thinner{}, rows: map[probeKey]int{},
	}
	for i, rule := range a.Rules {
		for _, l := range r.Limits {
			if l.Rule == rule.Code && l.High == rule.High {
				in.limits[i] = append(in.limits[i], l)
			}
		}
	}
	for _, part := range Stretches(a.Book, stays, known.From, known.To) {
		in.stretch(part)
	}
	r.PointSeconds, r.Points = in.points.Width().Seconds(), read(in.points.Points())
	if r.Readings > 0 {
		m := mean(in.sum, r.Readings)
		r.Mean = &m
	}
	for i, t := range in.series {
		r.Probes[i].Points = read(t.Points())
	}
	for _, g := range Joined(in.gaps) {
		r.Gaps = append(r.Gaps, Gap{g.From.UTC(), g.To.UTC(), g.To.Sub(g.From).Seconds()})
	}
	r.Excursions = a.excursions(in.crossings, r)
}

// stretch reads a stretch from its probes, the nearest first: what a farther
// one says counts only in what is left of it then. Damaged blocks are holes,
// and so appear as gaps.
func (in *recording) stretch(part Span) {
	sources := incubation.Sources(in.a.Book.Room(), in.stays, part.From)
	open := []Span{part}
	in.doubtful = in.doubtful[:0]
	for i := 0; i < len(sources); {
		j := i
		for j < len(sources) && sources[j].Position.Rank() == sources[i].Position.Rank() {
			j++
		}
		holes := []Span{part}
		for _, p := range sources[i:j] {
			row := in.row(p, part)
			var own []Span
			if len(open) > 0 || in.a.Series {
				own = in.probe(p, part, open, row)
			} else {
				own = []Span{}
			}
			in.count(row, open, part, own)
			holes = Both(holes, own)
		}
		open = Both(open, holes)
		i = j
	}
	in.gaps = append(in.gaps, in.fill(open)...)
}

// probe reads one probe in a stretch; what lies in open counts. It gives the
// probe's gaps, those that broken readings filled among them.
func (in *recording) probe(p incubation.Placement, part Span, open []Span, row int) []Span {
	interval := in.a.interval(p.Probe)
	gaps := NewGapWatch(part.From, interval)
	watches := in.watches()
	calm := in.calm(part)
	long := max(shortestGap, GapIntervals*interval)
	series := in.series[row]
	k, last := 0, part.From
	for reading, err := range in.a.Readings(p.Probe, part.From, part.To) {
		if err != nil {
			in.out.Damaged++
			continue
		}
		if reading.Has&incubation.Temperature == 0 {
			continue
		}
		t := reading.Time
		c := p.Celsius(reading.Celsius)
		if series != nil {
			series.Add(t, c)
		}
		for k < len(open) && !t.Before(open[k].To) {
			k++
		}
		// At the very beginning of a hole the nearer probe still spoke.
		counts := k < len(open) && (t.After(open[k].From) || t.Equal(part.From) && open[k].From.Equal(t))
		if reading.Quality.Broken() {
			if counts {
				reading.Celsius = c
				in.doubtful = append(in.doubtful, reading)
			}
			continue
		}
		gaps.Seen(t)
		if counts {
			in.add(t, c)
			watchAll(watches, calm, t, c, t.Sub(last) > long)
		} else {
			leaveAll(watches)
		}
		last = t
	}
	found := gaps.End(part.To)
	for _, w := range watches {
		w.end()
		in.crossings = append(in.crossings, w.mended(found)...)
	}
	return found
}

// add counts a reading into the record.
func (in *recording) add(t time.Time, c incubation.Celsius) {
	r := in.out
	in.points.Add(t, c)
	in.sum += float64(c)
	r.Readings++
	if r.Lowest == nil {
		low, high := c, c
		r.Lowest, r.Highest = &low, &high
		return
	}
	*r.Lowest, *r.Highest = min(*r.Lowest, c), max(*r.Highest, c)
}

// fill has broken readings speak where nothing else did, and gives what is
// left silent.
func (in *recording) fill(open []Span) []Span {
	if len(in.doubtful) == 0 {
		return open
	}
	slices.SortStableFunc(in.doubtful, func(a, b incubation.Reading) int {
		return cmp.Or(a.Time.Compare(b.Time), cmp.Compare(a.Probe, b.Probe))
	})
	var left []Span
	for _, s := range open {
		interval := time.Minute
		g := NewGapWatch(s.From, interval)
		for _, r := range in.doubtful {
			if s.covers(r.Time) {
				g.Seen(r.Time)
				in.add(r.Time, r.Celsius)
			}
		}
		silent := g.End(s.To)
		left = append(left, silent...)
		for _, part := range s.without(silent) {
			in.out.Doubtful += part.To.Sub(part.From).Seconds()
		}
	}
	return left
}

func (in *recording) watches() []*watch {
	out := make([]*watch, 0, len(in.a.Rules))
	for i, r := range in.a.Rules {
		if len(in.limits[i]) > 0 {
			out = append(out, &watch{
				rule: i, high: r.High, deadband: incubation.Celsius(r.Deadband), limits: in.limits[i],
			})
		}
	}
	return out
}

// A calm is between which values no limit of a stretch lies: most readings do,
// and need not be shown to each watch.
type calm struct{ low, high incubation.Celsius }

func (in *recording) calm(part Span) calm {
	c := calm{-1e9, 1e9}
	for i, r := range in.a.Rules {
		for _, l := range in.limits[i] {
			if !l.From.Before(part.To) || !l.To.After(part.From) {
				continue
			}
			if r.High {
				c.high = min(c.high, l.Celsius-incubation.Celsius(r.Deadband))
			} else {
				c.low = max(c.low, l.Celsius+incubation.Celsius(r.Deadband))
			}
		}
	}
	return c
}

func watchAll(watches []*watch, calm calm, t time.Time, c incubation.Celsius, long bool) {
	within := c >= calm.low && c < calm.high
	for _, w := range watches {
		if within && !w.open {
			w.last = t
			continue
		}
		w.see(t, c, long)
	}
}

// leaveAll ends what is open: from here on a nearer probe speaks.
func leaveAll(watches []*watch) {
	for _, w := range watches {
		w.end()
	}
}

// stays tells where an egg lay, box by box and incubator by incubator.
func (a Asked) stays(egg *incubation.Egg, span Span) []Stay {
	out := []Stay{}
	for _, s := range egg.Stays {
		end := s.To
		if end.IsZero() {
			end = span.To
		}
		cuts := []time.Time{s.From, end}
		box := a.Book.Places[s.Place]
		if box == nil || !s.From.Before(end) {
			continue
		}
		for _, in := range box.Stays {
			for _, t := range [...]time.Time{in.From, in.To} {
				if t.After(s.From) && t.Before(end) {
					cuts = append(cuts, t)
				}
			}
		}
		for _, part := range between(cuts) {
			stay := Stay{Box: box.ID, BoxName: box.Name, From: part.From.UTC(), To: part.To.UTC()}
			if in := a.Book.Places[incubation.At(box.Stays, part.From)]; in != nil {
				stay.Incubator, stay.IncubatorName, stay.Cabinet = in.ID, in.Name, in.Kind == incubation.Incubator
			}
			if part.To.Equal(end) && s.To.IsZero() {
				stay.To = time.Time{}
			}
			out = append(out, stay)
		}
	}
	return out
}

// boxes gives what was written down of the boxes while the eggs lay in them.
func (a Asked) boxes(r *Record) {
	for _, s := range r.Stays {
		p := a.Book.Places[s.Box]
		span := Span{s.From, s.To}
		if s.To.IsZero() {
			span.To = r.To.Add(time.Second)
		}
		for _, w := range p.Weights {
			if span.covers(w.At) {
				r.BoxWeights = append(r.BoxWeights, BoxWeight{s.Box, Weight{w.At.UTC(), w.Grams}})
			}
		}
		for _, l := range p.Looks {
			if span.covers(l.At) {
				r.BoxLooks = append(r.BoxLooks, BoxLook{s.Box, lookOf(l)})
			}
		}
	}
}

func lookOf(l incubation.Look) Look {
	return Look{Time: l.At.UTC(), Dents: l.Dents, Wet: l.Wet, Mould: l.Mould, Aired: l.Aired, Note: l.Note}
}
