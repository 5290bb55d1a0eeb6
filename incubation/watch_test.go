package incubation_test

import (
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/species"
)

// A watched egg is a simulated one and what was said of it.
type watched struct {
	hatchling
	early incubation.Estimate // three weeks in
	late  incubation.Estimate // ten days before it hatched, when it was candled alive
}

// watch lets the ensemble estimate a brood from its record as it comes in, and
// gives the eggs and, from the late estimates, the chances of 0, 1, … males.
func (b brood) watch(t testing.TB, e *incubation.Ensemble) (eggs []watched, males []float64) {
	t.Helper()
	eggs = make([]watched, len(b.eggs))
	answers := make([]incubation.Answer, len(b.eggs))
	for box, record := range b.records {
		if record == nil {
			continue
		}
		track := incubation.NewTrack(e, b.laid)
		feed := func(until time.Time) {
			n := 0
			for n < len(record) && !record[n].End().After(until) {
				add(t, track, record[n])
				n++
			}
			record = record[n:]
		}
		ask := func(days float64) incubation.Question {
			return incubation.Question{Now: b.laid.From.Add(time.Duration(days * 24 * float64(time.Hour)))}
		}
		early := ask(21)
		feed(early.Now)
		said := track.Estimate(early)
		var here []int
		for n, egg := range b.eggs {
			if egg.box == box {
				here = append(here, n)
			}
		}
		slices.SortFunc(here, func(i, j int) int {
			return int(b.eggs[i].hatched*1e6) - int(b.eggs[j].hatched*1e6)
		})
		for _, n := range here {
			q := ask(b.eggs[n].hatched - 10)
			q.Unhatched, q.AliveAt = true, q.Now
			feed(q.Now)
			answers[n] = track.Ask(q)
			eggs[n] = watched{hatchling: b.eggs[n], early: said, late: answers[n].Estimate}
		}
	}
	return eggs, incubation.Males(answers)
}

// A draw is an error that is drawn, of standard deviation 1 as it is believed.
type draw func(rng *rand.Rand) float64

func normally(rng *rand.Rand) float64 { return rng.NormFloat64() }

// evenly takes a stated ±a for what it says, anything up to a, and a is two
// standard deviations: its sd is 2/√3.
func evenly(rng *rand.Rand) float64 { return 4*rng.Float64() - 2 }

// warmRange is the range of temperatures that keepers choose from, °C.
var warmRange = [2]float64{26.5, 33.2}

// roomAt is a keeper with nothing amiss: a cabinet that swings by 0.3 K and
// creeps a little, and a probe in the substrate of each box, good to 0.2 K.
func roomAt(set float64, d draw, rng *rand.Rand) keeper {
	k := keeper{
		set: set, swing: 0.3, power: 20, night: 3, doors: 1, drift: 0.1 * d(rng),
		shelves: [2]float64{0.2 * d(rng), 0.2 * d(rng)},
	}
	k.equip(0.2, incubation.Substrate, d, rng)
	return k
}

// anyRoom is roomAt at any temperature of warmRange.
func anyRoom(d draw, rng *rand.Rand) keeper {
	return roomAt(warmRange[0]+rng.Float64()*(warmRange[1]-warmRange[0]), d, rng)
}

// equip gives the keeper probes of a kind. How far eggs are from where a probe
// sits is the profile's to say.
func (k *keeper) equip(accuracy float64, at incubation.Position, d draw, rng *rand.Rand) {
	r := species.Leopard().Record
	apart := map[incubation.Position]float64{
		incubation.Substrate: r.Substrate.Value, incubation.BoxAir: r.BoxAir.Value,
		incubation.IncubatorAir: r.IncubatorAir.Value,
	}[at]
	for b := range k.probes {
		k.probes[b] = simProbe{
			name: "p" + strconv.Itoa(rng.IntN(1e6)), bias: accuracy / 2 * d(rng), apart: apart * d(rng),
			noise: 0.03, resolution: 0.0625, accuracy: accuracy, position: at,
		}
	}
}

// season is n clutches of one keeper and the same animals, four days apart:
// the same probes with the same errors, and other eggs. What a keeper would
// know of them is laid, records, and of each egg found and male.
func (k *keeper) season(t testing.TB, w world, n int, rng *rand.Rand) []brood {
	t.Helper()
	a := w(rng)
	out := make([]brood, n)
	for i := range out {
		out[i] = k.clutch(t, a, day(4*float64(i)+8.0/24), rng)
	}
	return out
}
