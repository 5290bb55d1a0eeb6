package incubation

// A walk is one member's egg on its way through a record.
type walk struct {
	m *Member
	course
	grid *grid // the TSP so far over temperature; nil: not wanted
}

// A lot is what one member holds of a track beside its parameters: the error of
// each source, °C, and the day its egg was laid.
type lot struct {
	bias []float64
	laid float64
}

// step takes the egg along a leg.
func (w *walk) step(l leg) {
	if weight := w.advance(w.m, l); weight > 0 && w.grid != nil {
		w.grid.add(l.celsius, weight)
	}
}

// through takes the egg along a run: by whole pages where nothing begins or
// ends in them.
func (w *walk) through(r *run, l *lot) {
	bias := l.bias[r.source]
	for k := range r.pages {
		first := k * pageSteps
		if l.laid <= r.at(first) && w.page(&r.pages[k], r.length, bias) {
			continue
		}
		w.steps(r, l, first, first+pageSteps)
	}
	w.steps(r, l, len(r.pages)*pageSteps, len(r.steps))
}

func (w *walk) steps(r *run, l *lot, from, to int) {
	bias := l.bias[r.source]
	for k := from; k < to; k++ {
		celsius := float64(r.steps[k]) + bias
		if after := w.done + w.m.Rate(celsius)*r.length; l.laid <= r.at(k) && w.idle(after) {
			w.done = after
			continue
		}
		w.step(leg{from: max(r.at(k), l.laid), to: r.at(k + 1), celsius: celsius, gap: r.quiet(k)})
	}
}

// idle reports whether nothing but development comes of growing up to after:
// neither does the TSP open, nor is it open, nor does the egg hatch.
func (w *walk) idle(after float64) bool {
	if w.opens == 0 {
		return after <= w.m.Start
	}
	return w.closes != 0 && (w.hatches != 0 || after < w.m.Hatch)
}

// page takes the egg over a whole page, unless it must be gone through step by
// step: the TSP opens or closes in it, the egg hatches, or it is broken.
func (w *walk) page(p *page, length, bias float64) bool {
	m := w.m
	if p.broken && w.opens != 0 && w.closes == 0 {
		return false
	}
	after := w.done + p.gain(m, bias)*length
	switch {
	case w.opens == 0 && after > m.Start,
		w.closes == 0 && after >= m.End,
		w.hatches == 0 && after >= m.Hatch:
		return false
	}
	w.done = after
	if w.opens == 0 || w.closes != 0 {
		return true
	}
	for _, b := range p.bins {
		c := float64(b.celsius) + bias
		weight, at := float64(b.n)*m.Rate(c)*length, c-reference
		w.first += weight * at
		w.second += weight * at * at
		if w.grid != nil && weight > 0 {
			w.grid.add(c, weight)
		}
	}
	return true
}

// A view is a track made ready to be gone through by the members of its
// ensemble.
type view struct {
	track   *Track
	bias    [][]float64 // by source, by member
	bridges []bridge    // of the gaps, in order of the parts
	lot     lot
}

func (t *Track) view() *view {
	v := &view{track: t, lot: lot{bias: make([]float64, len(t.sources))}}
	for _, s := range t.sources {
		v.bias = append(v.bias, t.errors(s))
	}
	for _, p := range t.parts {
		if p.run == nil {
			v.bridges = append(v.bridges, t.bridge(p.gap))
		}
	}
	return v
}

// draw gives what the i-th member holds; the next call overwrites it.
func (v *view) draw(i int) *lot {
	for k := range v.bias {
		v.lot.bias[k] = v.bias[k][i]
	}
	v.lot.laid = v.track.laidOn(&v.track.ensemble.Members[i])
	return &v.lot
}

// pass takes the i-th member's egg through the whole record.
func (v *view) pass(w *walk, l *lot, i int) {
	gaps := 0
	for _, p := range v.track.parts {
		if p.run != nil {
			w.through(p.run, l)
			continue
		}
		b := &v.bridges[gaps]
		gaps++
		for _, s := range b.stretches {
			w.step(b.leg(s, l, i))
		}
	}
}
