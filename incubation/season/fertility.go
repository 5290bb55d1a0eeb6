package season

import (
	"slices"
	"strings"
	"time"

	"clutchd/incubation"
)

// Fertility counts eggs and what became of them: by season, female, male and
// pair. A clutch counts for a male where no other is possible.
func (h *Herd) Fertility() Fertility {
	var f Fertility
	females, males, pairs := map[string]*Named{}, map[string]*Named{}, map[string]*Named{}
	seasons := map[string]*SeasonTally{}
	for _, id := range sortedKeys(h.state.Clutches) {
		c := h.state.Clutches[id]
		count := func(m map[string]*Named, key, female, male string) {
			if m[key] == nil {
				m[key] = &Named{Female: female, Male: male}
			}
			m[key].add(c)
		}
		count(females, c.Female, c.Female, "")
		h.seasonOf(seasons, middle(c.Laid)).add(c)
		switch sires := h.Sires(id).Sires; len(sires) {
		case 0:
			f.Sireless++
		case 1:
			male := sires[0].Male
			count(males, male, "", male)
			count(pairs, c.Female+"/"+male, c.Female, male)
		default:
			f.Shared++
		}
	}
	f.Females, f.Males, f.Pairs = named(females), named(males), named(pairs)
	h.pairingsOf(seasons)
	for _, name := range sortedKeys(seasons) {
		f.Seasons = append(f.Seasons, h.finished(*seasons[name]))
	}
	return f
}

func named(m map[string]*Named) []Named {
	var out []Named
	for _, key := range sortedKeys(m) {
		out = append(out, *m[key])
	}
	return out
}

// add counts a clutch.
func (t *Tally) add(c *incubation.Clutch) {
	t.Clutches++
	for _, e := range c.Eggs {
		t.Eggs++
		if fertile(e) {
			t.Fertile++
		}
		if clearEgg(e) {
			t.Clear++
		}
		switch {
		case e.State == incubation.Hatched:
			t.Hatched++
		case e.State == incubation.Failed:
			t.Failed++
			if t.Causes == nil {
				t.Causes = map[string]int{}
			}
			t.Causes[strings.ToLower(strings.TrimSpace(e.Cause))]++
		default:
			t.Open++
		}
	}
}

func (h *Herd) seasonOf(seasons map[string]*SeasonTally, t time.Time) *SeasonTally {
	s := h.seasonAt(t)
	if seasons[s.Name] == nil {
		seasons[s.Name] = &SeasonTally{Season: s}
	}
	return seasons[s.Name]
}

// pairingsOf counts what was tried and what went back, by season.
func (h *Herd) pairingsOf(seasons map[string]*SeasonTally) {
	for _, id := range h.females {
		c := h.courses[id]
		for _, p := range c.pairings {
			s := h.seasonOf(seasons, p.At)
			if p.Outcome == incubation.Refused {
				s.Refusals++
			} else {
				s.Pairings++
			}
		}
		went := map[string]bool{}
		for _, check := range c.animal.Checks {
			if check.Stage != incubation.Resorbed {
				continue
			}
			if s := h.seasonOf(seasons, check.At); !went[s.Season.Name] {
				went[s.Season.Name] = true
				s.Resorptions++
			}
		}
	}
}

// finished adds what comes of the layings of a season taken together.
func (h *Herd) finished(s SeasonTally) SeasonTally {
	var first time.Time
	sum := 0.0
	for _, id := range h.females {
		laid := slices.DeleteFunc(slices.Clone(h.courses[id].laid), func(l laying) bool {
			return l.clutch == "" || !s.Season.Holds(l.at)
		})
		if len(laid) == 0 {
			continue
		}
		s.Females++
		if first.IsZero() || laid[0].at.Before(first) {
			first = laid[0].at
		}
		for i := 1; i < len(laid); i++ {
			if d := dayCount(laid[i].at.Sub(laid[i-1].at)); d <= h.value(PauseInLaying) {
				sum += d
				s.Intervals++
			} else {
				s.Pauses++
			}
		}
	}
	if !first.IsZero() {
		s.FirstLaid = dayCount(first.Sub(s.Season.From))
	}
	if s.Intervals > 0 {
		s.Interval = sum / float64(s.Intervals)
	}
	return s
}
