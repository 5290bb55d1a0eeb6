package review

import (
	"cmp"
	"fmt"
	"iter"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// Readings gives a probe's stored readings in [from, to), oldest first, raw:
// without the correction of its placement. An error inside is a stretch that
// cannot be read; the range goes on behind it.
type Readings func(probe string, from, to time.Time) iter.Seq2[incubation.Reading, error]

// Asked is what a review is made from.
type Asked struct {
	Book   *book.State
	Clutch string
	Egg    string    // only this egg and those that always lay with it; "": all
	Now    time.Time // the last tick
	Zone   *time.Location
	Rules  []Rule
	// Points is how many columns a record is thinned to, at most; 0: 400.
	Points int
	// From and To bound the records, where they are set: a part of them, looked at
	// closer. What is told of eggs is of all their time.
	From, To time.Time
	// Series asks for each probe's own points. It reads probes too that never
	// counted because a nearer one spoke.
	Series   bool
	Readings Readings // nil: records without points, gaps and excursions
	// Interval is how often a probe speaks; nil or 0: once a minute.
	Interval func(probe string) time.Duration
	// Accuracy is how far its maker says a probe may be off, K, 0: not known;
	// nil: of none.
	Accuracy func(probe string) float64
	// Track gives an egg's whole record, Estimate what was said of it in the end;
	// each may be nil or give nil. Course asks the record also what it said on
	// the way, and what would have made the estimate surer.
	Track    func(egg string) *incubation.Track
	Estimate func(egg string) *incubation.Estimate
	Course   bool

	Site, Species string
	// Notes are further sentences of Said: what whoever asks knows of how it was
	// made.
	Notes []string
}

// A Rule is one limit of a rule of the product, as the review needs it. What a
// difference from the setpoint cannot be counted from is not judged.
type Rule struct {
	Code, Title string
	High        bool // an upper limit
	// Limit is °C, or with FromSetpoint K away from the setpoint.
	Limit        float64
	FromSetpoint bool
	// Own is the field of a place's own limits that replaces Limit, "" if none
	// does; OnlyOwn: without one of its own the rule is not judged.
	Own      OwnLimit
	OnlyOwn  bool
	Deadband float64 // K
	OnDelay  time.Duration
	Settles  bool // waits while a box settles
}

// OwnLimit names one of a place's own limits, as the book does.
type OwnLimit string

// The own limits that bear on eggs.
const (
	LowCelsius         OwnLimit = "low_celsius"
	HighCelsius        OwnLimit = "high_celsius"
	OverSetpointKelvin OwnLimit = "over_setpoint_kelvin"
)

const usualPoints = 400

// Of makes the review of a clutch. The error is for a clutch that the book
// does not have.
func Of(a Asked) (Review, error) {
	c := a.Book.Clutches[a.Clutch]
	if c == nil {
		return Review{}, fmt.Errorf("the book has no clutch %q", a.Clutch)
	}
	if a.Zone == nil {
		a.Zone = time.UTC
	}
	if a.Points == 0 {
		a.Points = usualPoints
	}
	r := Review{
		Schema: Schema, Site: a.Site, Clutch: c.ID, Species: a.Species,
		Made: a.Now.UTC(), Zone: a.Zone.String(), Over: true,
		Dam: a.dam(c), Sires: a.sires(c), Laid: a.laid(c),
		Eggs: []Egg{}, Records: []Record{},
		Cautions: []string{incubation.Caution},
	}
	for _, egg := range c.Eggs {
		r.Over = r.Over && !egg.Live()
	}
	for _, group := range Together(c.Eggs) {
		if a.Egg != "" && !slices.ContainsFunc(group, func(e *incubation.Egg) bool { return e.ID == a.Egg }) {
			continue
		}
		r.Records = append(r.Records, a.record(c, group))
		var told course
		for _, egg := range group {
			one := a.egg(r.Laid, egg, len(r.Records)-1)
			a.forecasts(&one, egg, r.Laid, &told)
			r.Eggs = append(r.Eggs, one)
		}
	}
	r.sort(c)
	r.mixed(c)
	r.say()
	r.Said = append(r.Said, a.Notes...)
	return r, nil
}

// sort has the eggs in the order of the clutch.
func (r *Review) sort(c *incubation.Clutch) {
	place := func(id string) int {
		return slices.IndexFunc(c.Eggs, func(e *incubation.Egg) bool { return e.ID == id })
	}
	slices.SortStableFunc(r.Eggs, func(a, b Egg) int { return cmp.Compare(place(a.ID), place(b.ID)) })
}

func (r *Review) mixed(c *incubation.Clutch) {
	if m := c.Mixed; m.Count() > 0 {
		r.Mixed = &Mixed{Males: m.Males, Females: m.Females, At: m.Sexed.At, How: m.Sexed.How}
	}
}

func (a Asked) laid(c *incubation.Clutch) Laid {
	l := Laid{From: c.Laid.From.UTC(), To: c.Laid.To.UTC()}
	if p := a.Book.Places[c.Laid.Place]; p != nil {
		l.Place = p.Name
	}
	l.Day = l.Middle().In(a.Zone).Format(time.DateOnly)
	return l
}

func (a Asked) interval(probe string) time.Duration {
	if a.Interval != nil {
		if d := a.Interval(probe); d > 0 {
			return d
		}
	}
	return time.Minute
}
