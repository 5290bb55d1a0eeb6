package web

import (
	"fmt"
	"strings"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// noOdds is from where down odds are not worth the name. Judgement.
const noOdds = 0.05

// A planner's words: each proposal, reason and warning in a keeper's sentence,
// without its full stop.
type planTeller struct {
	words
	snap *monitor.Snapshot
}

// shelf names a box and what is expected there; the incubator too where two
// boxes bear one name.
func (t planTeller) shelf(id string) string {
	p := placeOf(t.snap, id)
	if p == nil {
		return "no box"
	}
	name := p.Name
	for _, o := range t.snap.Places {
		if o.Name == p.Name && o.ID != p.ID {
			name = p.Path
		}
	}
	var at []string
	for i, s := range t.snap.Course(id) {
		text := t.temp(s.Celsius) + nbsp + t.Unit()
		if i > 0 {
			text = "from " + t.day(s.From) + " " + text
		}
		at = append(at, text)
	}
	if at == nil {
		return name
	}
	return name + " (" + strings.Join(at, ", ") + ")"
}

// proposal tells where an egg is to lie and when.
func (t planTeller) proposal(p incubation.Proposal) string {
	first, stays := p.Stays[0], p.Moves < len(p.Stays)
	verb := "Move to "
	if stays {
		verb = "Stay in "
	}
	out := verb + t.shelf(first.Place)
	if len(p.Stays) == 1 {
		if !stays {
			out += " now"
		}
		return out
	}
	if stays {
		out += " to " + t.day(first.To)
	} else {
		out += " now"
	}
	for _, s := range p.Stays[1:] {
		out += ", then " + t.shelf(s.Place)
		if !stays {
			out += " on " + t.day(s.From)
		}
	}
	return out
}

// reason tells why a proposal is there, with the low end of its interval: that
// is what the list goes by.
func (t planTeller) reason(p incubation.Proposal) string {
	odds := ""
	if p.Odds >= noOdds {
		odds = ": at least " + percent(p.Odds)
	}
	switch p.Why {
	case incubation.ForOdds:
		if odds == "" {
			return "The best chance"
		}
		return "The best odds" + odds
	case incubation.ForStaying:
		return "Nothing to do" + odds
	case incubation.ForMoves:
		return "Fewer moves" + odds
	case incubation.ForWaiting:
		return "Nothing to do before " + t.day(p.Stays[0].To) + odds
	case incubation.ForShowing:
		return "" // the heading says it
	}
	return "Another box" + odds
}

// warning tells what speaks against a plan's temperatures.
func (t planTeller) warning(w incubation.Warning, l incubation.LimitSet) string {
	limit := func(n incubation.Number) string { return t.temp(incubation.Celsius(n.Value)) + nbsp + t.Unit() }
	switch w {
	case incubation.TooWarm:
		return "Too warm: above " + limit(l.High) + ", where eggs of this species die"
	case incubation.NearLimit:
		return "Near the limit: above " + limit(l.High) + " eggs of this species die, and thermostats drift"
	case incubation.TooCold:
		return "Too cold: below " + limit(l.Low) + ", this species' lower limit"
	case incubation.Unhatched:
		return "Colder than " + limit(*l.Hatched) + ", the lowest constant temperature with published hatching"
	}
	return ""
}

func (t planTeller) warnings(list []incubation.Warning, l incubation.LimitSet) []string {
	out := []string{}
	for _, w := range list {
		out = append(out, t.warning(w, l))
	}
	return out
}

// leftOut tells which boxes no proposal moves the egg to.
func (t planTeller) leftOut(p incubation.Proposals) []string {
	out := []string{}
	for _, o := range p.LeftOut {
		text := t.shelf(o.Place)
		if o.Why != "" {
			out = append(out, text+" is left out. "+t.warning(o.Why, p.Profile().Limits))
		} else {
			out = append(out, text+" is much like "+t.shelf(o.As))
		}
	}
	return out
}

// due tells until when a move still counts, and what that means.
func (t planTeller) due(tsp incubation.TSP) (says, means string) {
	switch {
	case tsp.State == incubation.TSPClosed:
		return "Nothing changes the sex any more", "The TSP closed about " + t.day(tsp.Closes)
	case tsp.LastChange.IsZero():
		return "Too late to change much", "No other temperature moves the odds by ten points any more"
	}
	by := t.decideBy(tsp)
	if by != "now" {
		by = "by " + by
	}
	return "Decide " + by, "Until then a move can still shift the odds by ten points or more. " +
		"Nobody knows the true last day: 19 in 20 plausible ones are later than this"
}

// notes are what must be said beside a list of proposals.
func (t planTeller) notes(p incubation.Proposals) []string {
	out := []string{}
	if p.Want == incubation.AnySex || p.TSP.State == incubation.TSPClosed || len(p.List) == 0 {
		return out
	}
	if at, most := p.Profile().Sex.MostMale(); p.Want == incubation.WantMale && most < 0.95 {
		out = append(out, fmt.Sprintf("No temperature makes sure of a male: the best constant one, about %s%s%s, "+
			"gives about %s", t.temp(at), nbsp, t.Unit(), percent(most)))
	}
	if len(p.List) == 1 {
		out = append(out, "No move betters this by more than two points")
	}
	if p.List[0].Odds < noOdds {
		out = append(out, fmt.Sprintf("By the edge of the interval no plan makes a %s likely: the better chance stands first",
			p.Want))
	}
	return out
}
