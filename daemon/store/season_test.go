package store_test

import (
	"math"
	"math/rand/v2"
	"time"

	"clutchd/incubation"
)

// A room invents readings: probes whose temperature swings a little over the
// day, under white noise of a given deviation, on a grid of 0.01 K.
type room struct {
	probes []string
	step   time.Duration
	noise  float64 // standard deviation, K
	rng    *rand.Rand
}

func newRoom(probes int, step time.Duration) *room {
	r := &room{step: step, noise: 0.02, rng: rand.New(rand.NewPCG(1, 2))}
	for i := range probes {
		r.probes = append(r.probes, "shelf-"+string(rune('a'+i)))
	}
	return r
}

// readings gives what all probes say from a time on, for a time.
func (r *room) readings(from time.Time, length time.Duration) []incubation.Reading {
	var all []incubation.Reading
	for at := from; at.Before(from.Add(length)); at = at.Add(r.step) {
		day := float64(at.Unix()%86400) / 86400
		for i, probe := range r.probes {
			mean := 27 + float64(i)/4 + 0.1*math.Sin(2*math.Pi*(day+float64(i)/20))
			celsius := math.Round((mean+r.noise*r.rng.NormFloat64())*100) / 100
			all = append(all, warm(probe, at, celsius))
		}
	}
	return all
}
