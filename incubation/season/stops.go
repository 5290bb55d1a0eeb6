package season

import (
	"math"

	"clutchd/incubation"
)

// stops is how likely a female that has laid k clutches in a season lays
// another, from how many the herd's females laid in past seasons.
type stops struct {
	start   Assumption
	reached map[int]int // female-seasons with at least k clutches
	// paired seasons, and those of them in which a clutch followed
	paired, followed int
}

// stopWorth is how many female-seasons the starting value counts as, and
// pairedWorth how likely a clutch follows an accepted pairing to begin with.
// Judgement.
const (
	stopWorth   = 4
	pairedWorth = 0.9
)

func (h *Herd) stopping() stops {
	s := stops{start: h.values[ClutchesInSeason], reached: map[int]int{}}
	for _, c := range h.courses {
		counts := map[string]int{}
		for _, l := range c.laid {
			if l.at.Before(h.season.From) {
				counts[h.seasonAt(l.at).Name]++
			}
		}
		for _, n := range counts {
			for k := 1; k <= n; k++ {
				s.reached[k]++
			}
		}
		paired := map[string]bool{}
		for _, p := range c.pairings {
			if p.Outcome == incubation.Accepted && p.At.Before(h.season.From) {
				paired[h.seasonAt(p.At).Name] = true
			}
		}
		for name := range paired {
			s.paired++
			if counts[name] > 0 {
				s.followed++
			}
		}
	}
	return s
}

// another gives the chance of one more clutch after k in a season, k at least
// one: (4·p + went on) / (4 + reached), p being the starting value's.
func (s stops) another(k int) float64 {
	start := s.atLeast(k+1) / s.atLeast(k)
	return (stopWorth*start + float64(s.reached[k+1])) / (stopWorth + float64(s.reached[k]))
}

// first gives the chance that a clutch follows an accepted pairing.
func (s stops) first() float64 {
	return (stopWorth*pairedWorth + float64(s.followed)) / (stopWorth + float64(s.paired))
}

// atLeast is the starting chance of k clutches or more, a normal distribution
// cut at halves; never quite none.
func (s stops) atLeast(k int) float64 {
	sd := (s.start.High - s.start.Low) / (2 * z90)
	return max(1-phi((float64(k)-0.5-s.start.Value)/sd), 1e-6)
}

// phi is the standard normal distribution, probit its inverse.
func phi(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

func probit(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }
