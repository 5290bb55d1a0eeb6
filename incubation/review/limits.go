package review

import (
	"encoding/json"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// ownLimits is what a place had of its own, from a time on.
type ownLimits struct {
	from time.Time
	data book.LimitsData
}

// limitsOf gives every version of the own limits of places, in order of time:
// the book's state holds the last alone.
func limitsOf(b *book.State) map[string][]ownLimits {
	out := map[string][]ownLimits{}
	for _, e := range b.Entries {
		if e.Kind != book.KindLimits || b.Voided[e.Seq] || slices.Contains(b.Skipped, e.Seq) {
			continue
		}
		var d book.LimitsData
		if json.Unmarshal(e.Data, &d) == nil {
			out[d.Place] = append(out[d.Place], ownLimits{e.At.UTC(), d})
		}
	}
	return out
}

// A fence gives the limits of what eggs lay in at any time.
type fence struct {
	book  *book.State
	own   map[string][]ownLimits
	stays []incubation.Stay
	zone  *time.Location
}

// chain is the box that the eggs lay in and what it stood in.
func (f fence) chain(t time.Time) []string {
	box := incubation.At(f.stays, t)
	out := []string{}
	for at := box; at != "" && !slices.Contains(out, at); {
		out = append(out, at)
		p := f.book.Places[at]
		if p == nil {
			break
		}
		at = incubation.At(p.Stays, t)
	}
	return out
}

// at gives a place's own limits at a time; false: it had none.
func (f fence) at(place string, t time.Time) (book.LimitsData, bool) {
	list := f.own[place]
	for i := len(list) - 1; i >= 0; i-- {
		if !list[i].from.After(t) {
			return list[i].data, true
		}
	}
	return book.LimitsData{}, false
}

// limit gives a rule's limit at a time and whose it is: of the box's own, or
// of the nearest thing around it that has one, before what the rule starts
// with. False: the rule is not judged there.
func (f fence) limit(r Rule, t time.Time) (incubation.Celsius, Source, bool) {
	limit, source, found := r.Limit, Start, !r.OnlyOwn
	for _, place := range f.chain(t) {
		d, ok := f.at(place, t)
		if !ok {
			continue
		}
		if o, ok := d.RuleOverrides[r.Code]; ok && o.Off {
			return 0, "", false
		} else if ok && o.Limit != nil && !r.OnlyOwn {
			limit, source = *o.Limit, Own
			break
		}
		if v := r.Own.of(d, t.In(f.zone)); v != nil {
			limit, source, found = *v, Own, true
			break
		}
	}
	if !found {
		return 0, "", false
	}
	if !r.FromSetpoint {
		return incubation.Celsius(limit), source, true
	}
	aim := f.book.SetpointAt(incubation.At(f.stays, t), t)
	if aim == nil {
		return 0, "", false
	}
	if !r.High {
		limit = -limit
	}
	return thousandths(*aim + incubation.Celsius(limit)), source, true
}

// of gives the field that the name stands for, nil if it is not set.
func (o OwnLimit) of(d book.LimitsData, local time.Time) *float64 {
	var c *incubation.Celsius
	switch o {
	case LowCelsius:
		c = d.At(local).LowCelsius
	case HighCelsius:
		c = d.At(local).HighCelsius
	case OverSetpointKelvin:
		return d.OverSetpointKelvin
	}
	if c == nil {
		return nil
	}
	v := float64(*c)
	return &v
}

// cuts gives every time within a span at which a limit may change.
func (f fence) cuts(s Span) []time.Time {
	out := []time.Time{s.From, s.To}
	add := func(t time.Time) {
		if t.After(s.From) && t.Before(s.To) {
			out = append(out, t)
		}
	}
	for _, part := range Stretches(f.book, f.stays, s.From, s.To) {
		add(part.From)
	}
	for _, list := range f.book.Setpoints {
		for _, p := range list {
			add(p.From)
		}
	}
	for _, place := range f.placesIn(s) {
		for _, l := range f.own[place] {
			add(l.from)
			for _, t := range turns(l.data, s, f.zone) {
				add(t)
			}
		}
	}
	return out
}

// placesIn are all places that the eggs' box stood in, itself too.
func (f fence) placesIn(s Span) []string {
	var out []string
	for _, part := range Stretches(f.book, f.stays, s.From, s.To) {
		out = append(out, f.chain(part.From)...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// turns gives the quarter hours at which a night or a cooling season begins,
// ends or has settled; limits that know neither have none.
func turns(d book.LimitsData, s Span, zone *time.Location) []time.Time {
	if d.Night == nil && d.Cooling == nil {
		return nil
	}
	var out []time.Time
	const step = 15 * time.Minute
	last := d.At(s.From.In(zone))
	for t := s.From.Truncate(step).Add(step); t.Before(s.To); t = t.Add(step) {
		now := d.At(t.In(zone))
		if now.Night != last.Night || now.Cooling != last.Cooling || now.Settles != last.Settles {
			out = append(out, t)
		}
		last = now
	}
	return out
}

// limits gives each rule's limit over a span; equal neighbours are one.
func (f fence) limits(rules []Rule, s Span) []Limit {
	parts := between(f.cuts(s))
	out := []Limit{}
	for _, r := range rules {
		first := len(out)
		for _, part := range parts {
			c, source, ok := f.limit(r, part.From)
			if !ok {
				continue
			}
			l := Limit{r.Code, r.Title, r.High, c, source, part.From.UTC(), part.To.UTC()}
			if n := len(out); n > first && out[n-1].Celsius == c && out[n-1].Source == source &&
				out[n-1].To.Equal(l.From) {
				out[n-1].To = l.To
				continue
			}
			out = append(out, l)
		}
	}
	return out
}
