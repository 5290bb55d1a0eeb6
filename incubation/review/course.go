package review

import (
	"math"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// courseStep is how far apart the forecasts of a course lie.
const courseStep = 7 * 24 * time.Hour

// A course is what was asked and said of an egg on the way. Siblings that
// always lay together are told the same where the same is asked of them.
type course []told

type told struct {
	asked incubation.Question
	said  Forecast
}

// at gives what was said at a time, if the same was asked.
func (c course) at(q incubation.Question) (Forecast, bool) {
	for _, t := range c {
		if t.asked.Now.Equal(q.Now) && slices.Equal(t.asked.Plan, q.Plan) && near(t.asked.AliveAt, q.AliveAt) &&
			near(t.asked.PippedAt, q.PippedAt) {
			return t.said, true
		}
	}
	return Forecast{}, false
}

// forecasts asks the egg's record what it said on the way and in the end, and
// holds the hatch against it.
func (a Asked) forecasts(out *Egg, e *incubation.Egg, laid Laid, known *course) {
	if a.Track != nil {
		if t := a.Track(e.ID); t != nil {
			a.along(out, e, t, laid, known)
		}
	}
	if out.Estimate != nil && e.State == incubation.Hatched {
		out.Against = a.against(e, *out.Estimate)
	}
}

func (a Asked) along(out *Egg, e *incubation.Egg, t *incubation.Track, laid Laid, known *course) {
	end := a.Now.UTC()
	if !e.Live() && !e.Ended.IsZero() {
		end = e.Ended.UTC()
	}
	for at := laid.Middle().Add(courseStep); a.Course && at.Before(end.Add(-courseStep/2)); at = at.Add(courseStep) {
		q := a.then(e, at)
		f, ok := known.at(q)
		if !ok {
			was := t.Until(at)
			if _, recorded := was.Last(); !recorded {
				continue
			}
			f = forecastOf(was.Estimate(q), at, laid)
			*known = append(*known, told{q, f})
		}
		out.Course = append(out.Course, f)
	}
	q := a.then(e, end)
	answer := t.Ask(q)
	if answer.Chances == nil {
		return
	}
	if out.Estimate == nil {
		now := answer.Estimate
		out.Estimate = &now
	}
	out.Course = append(out.Course, forecastOf(*out.Estimate, end, laid))
	out.TSP = tspSpan(answer, laid)
	if a.Course {
		out.Doubts = doubts(answer.Estimate, t.Narrowings(q))
	}
}

func forecastOf(n incubation.Estimate, at time.Time, laid Laid) Forecast {
	return Forecast{
		Time: at.UTC(), Day: thousandths(laid.DayOf(at)), Development: n.Development,
		Male: n.Sex.MaleProbability, Low: n.Sex.Low, High: n.Sex.High, Words: n.Sex.Words,
		Hatch: n.Hatch, Basis: n.Basis,
	}
}

// then is what could be asked of an egg at a time of its past: the plan in
// force then, and what the book knew of it. At an egg's end there is neither
// plan nor word of it being alive: what it said must not know what came.
func (a Asked) then(e *incubation.Egg, at time.Time) incubation.Question {
	q := incubation.Question{Now: at}
	if !e.Live() && !at.Before(e.Ended) {
		return q
	}
	was := book.Fold(upTo(a.Book, at))
	if egg := was.Eggs[e.ID]; egg != nil && egg.Live() {
		q.Plan = was.PlanSteps(e.ID, at)
		q.AliveAt, q.PippedAt = egg.AliveAt, egg.PippedAt
	}
	return q
}

// upTo gives the entries that say where eggs lie and what is planned, up to a
// time.
func upTo(b *book.State, at time.Time) []book.Entry {
	var out []book.Entry
	for _, e := range b.Entries {
		if e.At.After(at) {
			break // they are in order of event time
		}
		if !b.Voided[e.Seq] && slices.Contains(planning, e.Kind) {
			e.Replaces = 0
			out = append(out, e)
		}
	}
	return out
}

// planning are the kinds that the forecast of an egg rests on, or that those
// need to make sense.
var planning = []book.Kind{
	book.KindPlace, book.KindStand, book.KindSetpoint, book.KindPlan, book.KindFemale,
	book.KindAnimal, book.KindLaying, book.KindEgg, book.KindCandle, book.KindPip,
	book.KindHatch, book.KindFail,
}

// tspSpan gives when the TSP opened and closed, with the 5 % and 95 % points of
// the ensemble.
func tspSpan(a incubation.Answer, laid Laid) *TSPSpan {
	if len(a.TSPOpens) == 0 {
		return nil
	}
	from := laid.From
	span := func(days []float64) TimeSpan {
		days = slices.Clone(days)
		slices.Sort(days)
		at := func(p float64) time.Time {
			d := days[min(max(int(math.Ceil(p*float64(len(days))))-1, 0), len(days)-1)]
			if d > 365 {
				return time.Time{}
			}
			return from.Add(time.Duration(d * 24 * float64(time.Hour))).Truncate(time.Minute)
		}
		return TimeSpan{Likely: at(0.5), Low: at(0.05), High: at(0.95)}
	}
	return &TSPSpan{span(a.TSPOpens), span(a.TSPCloses)}
}
