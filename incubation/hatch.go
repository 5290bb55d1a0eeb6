package incubation

// windowProbability is the share of members between earliest and latest.
const windowProbability = highPoint - lowPoint

// hatch gives the window of the members' hatch times, in days.
//
// Of an egg known to be alive and not hatched only the members that had it
// hatch later count; of one that has pipped, only the time from there on.
// Where nobody has seen it hatch and nearly all members have had it hatch
// already, it is overdue: the window then begins now and is as long as its
// late half was. Judgement: nothing published says how long a late egg may
// still take, so that window has no probability.
func (o *outlook) hatch(times sample, q Question) HatchSpan {
	late := times.at(highPoint) - times.at(0.5)
	due := float64(len(times)-len(times.above(o.now))) / float64(len(times))
	from := 0.0
	if !q.PippedAt.IsZero() {
		times = o.pipped(q)
		late = times.at(highPoint) - times.at(0.5)
	}
	if alive := q.alive(); !alive.IsZero() {
		from = o.track.day(alive)
		times = times.above(from)
	}
	if len(times) > 0 && !(q.Unhatched && times.at(highPoint) < o.now) {
		return HatchSpan{
			Earliest: o.date(times.at(lowPoint)), Likely: o.date(times.at(0.5)),
			Latest: o.date(times.at(highPoint)), Probability: windowProbability, Due: due,
		}
	}
	if q.Unhatched {
		from = max(from, o.now)
	}
	return HatchSpan{
		Earliest: o.date(from), Likely: o.date(from + late/2), Latest: o.date(from + late),
		Overdue: q.Unhatched, Due: due,
	}
}

// pipped gives the days on which members have an egg hatch that has pipped.
func (o *outlook) pipped(q Question) sample {
	at := o.track.day(q.PippedAt)
	out := o.track.ensemble.normals(causeOf("pip", ""))
	for i, z := range out {
		out[i] = at + max(o.track.ensemble.Profile.Development.Pip.At(z), 0)
	}
	return sampleOf(out)
}
