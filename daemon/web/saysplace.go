package web

import (
	"cmp"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

func (t teller) placeSays(e book.Entry, d book.PlaceData) string {
	old := before[book.PlaceData](t.book, e, func(o book.PlaceData) bool { return o.Place == d.Place })
	was := t.place(d.Place)
	if old != nil {
		was = cmp.Or(old.Name, was)
	}
	switch {
	case d.Gone:
		return cmp.Or(d.Name, was) + " is no longer in use"
	case old == nil && d.Kind == incubation.Room:
		return cmp.Or(d.Name, was) + " set up"
	case old == nil:
		return cmp.Or(d.Name, was) + " set up: " + oneOf(d.Kind)
	case d.Name != "" && d.Name != was:
		return was + " is now called " + d.Name
	case d.Kind != "" && d.Kind != old.Kind:
		return was + " is now " + oneOf(d.Kind)
	}
	return was + " is in use"
}

func (t teller) standSays(e book.Entry, d book.StandData) string {
	from := ""
	if p := t.book.Places[d.Place]; p != nil {
		from = incubation.At(p.Stays, e.At.Add(-1))
	}
	switch {
	case d.In == "" && from == "":
		return t.place(d.Place) + " taken out"
	case d.In == "":
		return t.place(d.Place) + " taken out of " + t.place(from)
	case from != "" && from != d.In:
		return t.place(d.Place) + " from " + t.place(from) + " into " + t.place(d.In)
	}
	return t.place(d.Place) + " into " + t.place(d.In)
}

func (t teller) contactSays(d book.ContactData) string {
	switch {
	case d.Place == "":
		return "Contact " + d.Contact + " taken out"
	case d.Kind == incubation.Leak:
		return "Contact " + d.Contact + " tells of water in " + t.place(d.Place)
	}
	return "Contact " + d.Contact + " tells of the " + string(d.Kind) + " of " + t.place(d.Place)
}

func (t teller) probeSays(d book.ProbeData) string {
	if d.Place == "" {
		return "Probe " + d.Probe + " taken out"
	}
	var parts []string
	if d.Position != "" {
		parts = append(parts, positionWord(d.Position))
	}
	if d.OffsetKelvin != 0 {
		parts = append(parts, t.apart(d.OffsetKelvin)+" added to its value")
	}
	if d.AccuracyKelvin != 0 {
		parts = append(parts, "right to within "+t.apart(d.AccuracyKelvin))
	}
	return because("Probe "+d.Probe+" into "+t.place(d.Place), strings.Join(parts, "; "))
}

func (t teller) planSays(d book.PlanData) string {
	about := t.place(d.Place)
	if d.Egg != "" {
		about = t.egg(d.Egg)
	}
	if len(d.Steps) == 0 {
		return "No plan for " + about + " any more"
	}
	var steps []string
	for _, s := range d.Steps {
		steps = append(steps, t.stepSays(s))
	}
	return "Plan for " + about + ": " + strings.Join(steps, ", then ")
}

// stepSays tells one change of a plan.
func (t teller) stepSays(s book.PlanStep) string {
	when := "day " + plainly(s.Day, 1)
	if !s.At.IsZero() {
		when = t.moment(s.At)
	}
	if s.Box != "" {
		at := " on "
		if !s.At.IsZero() && t.in(s.At).Format(time.DateOnly) == t.in(t.now).Format(time.DateOnly) {
			at = " today at "
		}
		return "into " + t.place(s.Box) + at + when
	}
	return t.exact(s.Celsius) + " from " + when
}

func (t teller) limitsSays(d book.LimitsData) string {
	parts := t.periodSays(book.PeriodLimits{
		LowCelsius: d.LowCelsius, HighCelsius: d.HighCelsius, LowHumidityRatio: d.LowHumidityRatio,
	})
	if d.OffSetpointKelvin != nil {
		parts = append(parts, "warn when off the setpoint by "+t.apart(*d.OffSetpointKelvin))
	}
	if d.OverSetpointKelvin != nil {
		parts = append(parts, "wake me when over the setpoint by "+t.apart(*d.OverSetpointKelvin))
	}
	said := strings.Join(parts, ", ")
	for _, more := range t.periodsSay(d) {
		said = strings.TrimPrefix(said+"; "+more, "; ")
	}
	if own := t.overridesSay(d.RuleOverrides); len(own) > 0 {
		said = strings.TrimPrefix(said+"; "+strings.Join(own, ", "), "; ")
	}
	if said == "" {
		return t.place(d.Place) + " goes by the rules’ own limits"
	}
	return "Limits of " + t.place(d.Place) + ": " + said
}

// periodsSay tells the limits of the night and of the cooling season.
func (t teller) periodsSay(d book.LimitsData) []string {
	var out []string
	if n := d.Night; n != nil {
		out = append(out, "from "+marshalled(n.From)+" to "+marshalled(n.To)+" "+
			strings.Join(t.periodSays(n.PeriodLimits), ", "))
	}
	if c := d.Cooling; c != nil {
		out = append(out, "from "+dayOfYear(c.From)+" to "+dayOfYear(c.To)+" "+
			strings.Join(t.periodSays(c.PeriodLimits), ", "))
	}
	return out
}

func (t teller) periodSays(l book.PeriodLimits) []string {
	var parts []string
	if l.LowCelsius != nil {
		parts = append(parts, "too cold under "+t.exact(*l.LowCelsius))
	}
	if l.HighCelsius != nil {
		parts = append(parts, "too warm over "+t.exact(*l.HighCelsius))
	}
	if l.LowHumidityRatio != nil {
		parts = append(parts, "too dry under "+plainly(100**l.LowHumidityRatio, 1)+nbsp+"%")
	}
	return parts
}
