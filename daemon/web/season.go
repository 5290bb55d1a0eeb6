package web

import (
	"fmt"
	"net/http"
	"slices"

	"clutchd/incubation/season"
)

// seasonBody is the season ahead, and those before.
type seasonBody struct {
	Any                       bool // there is something to look ahead at
	Layings, Eggs, Hatchlings string
	Full                      []string
	LayingChart, BoxChart     *weekChart
	Weeks                     []weekLine
	Rests                     string
	Past                      []seasonLine
	Pairs, Males, Females     []fertileLine
	Shared, Sireless          int
	Few                       bool // pairings: they are shown at once
	Causes                    []fact
	Assumed                   []assumedFact
	Kept                      []fact
}

type weekLine struct{ Week, Layings, Boxes, Hatchlings string }

// A seasonLine is one past season.
type seasonLine struct{ Name, Females, Clutches, Eggs, Hatched, Fertile, Interval, First, Pairings string }

// A fertileLine is what became of the eggs of somebody.
type fertileLine struct{ Who, Href, Clutches, Eggs, Fertile, Hatched, Lost string }

// An assumedFact is a starting value that the forecast may rest on.
type assumedFact struct{ Title, Says, Mark, Source, Replaced string }

func (s *Server) season(v *visit) error {
	l := v.look()
	f := l.ahead()
	f.Weeks = untilQuiet(f.Weeks)
	b := seasonBody{
		Any: len(f.Weeks) > 0 && v.lives(), Layings: rangeWords(f.Layings), Eggs: rangeWords(f.Eggs),
		Hatchlings: rangeWords(f.Hatchlings), Rests: f.Rests, Kept: v.seasonFacts(),
	}
	if b.Any {
		b.Full = v.fullSays(f)
		b.LayingChart = v.say.weekly("Layings per week", "layings", f.Weeks, func(w season.Week) season.Range { return w.Layings }, 0)
		b.BoxChart = v.say.weekly("Egg boxes in use", "boxes", f.Weeks, func(w season.Week) season.Range { return w.Boxes }, f.Capacity)
	}
	for _, w := range f.Weeks {
		b.Weeks = append(b.Weeks, weekLine{
			v.say.day(w.From), rangeWords(w.Layings), rangeWords(w.Boxes), rangeWords(w.Hatchlings),
		})
	}
	v.pastSeasons(&b, l.fertility())
	b.Few = len(b.Pairs) <= groupShown
	b.Assumed = assumedFacts()
	return v.render("season", frame{Title: "The season", Nav: "today", Body: b}, http.StatusOK)
}

// assumedFacts are the starting values, with their marks; but those with the
// keys given.
func assumedFacts(but ...string) []assumedFact {
	var out []assumedFact
	for _, a := range season.Assumptions() {
		if slices.Contains(but, a.Key) {
			continue
		}
		out = append(out, assumedFact{a.Title, a.Says, a.Mark.Says(), a.Source, a.Replaced})
	}
	return out
}

// fullSays tells when the incubators run out of room.
func (v *visit) fullSays(f season.Forecast) []string {
	switch {
	case f.Capacity == 0:
		return []string{"How much room there is cannot be said: the book has no box that stands in an incubator."}
	case !f.Full.IsZero() && !f.MayBeFull.IsZero() && f.MayBeFull.Before(f.Full):
		return []string{fmt.Sprintf("The %d boxes are likely all wanted, and more, from the week of %s; they may be from the week of %s.",
			f.Capacity, v.say.day(f.Full), v.say.day(f.MayBeFull))}
	case !f.Full.IsZero():
		return []string{fmt.Sprintf("The %d boxes are likely all wanted, and more, from the week of %s.", f.Capacity, v.say.day(f.Full))}
	case !f.MayBeFull.IsZero():
		return []string{fmt.Sprintf("The %d boxes are likely enough; they may all be wanted, and more, from the week of %s.",
			f.Capacity, v.say.day(f.MayBeFull))}
	}
	return []string{fmt.Sprintf("The %d boxes are enough in more than 9 of 10 of the futures that were worked out.", f.Capacity)}
}

// fewestWeeks are shown of a season ahead, whatever they bring.
const fewestWeeks = 8

// untilQuiet leaves out the weeks at the end in which nothing is expected.
func untilQuiet(weeks []season.Week) []season.Week {
	for n := len(weeks); n > fewestWeeks; n-- {
		if w := weeks[n-1]; w.Layings.High+w.Boxes.High+w.Hatchlings.High >= 0.5 {
			return weeks[:n]
		}
	}
	return weeks[:min(fewestWeeks, len(weeks))]
}
