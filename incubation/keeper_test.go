package incubation_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"clutchd/incubation"
)

// simStep is the step in which these rooms, and the eggs in them, go on.
const simStep = 2 * time.Minute

// simDays is how long a room is followed; every egg must hatch within it.
const simDays = 110

const (
	simPerDay = int(24 * time.Hour / simStep)
	simDay    = 1.0 / float64(simPerDay) // of a step, days
)

// A keeper is one simulated room and the habits of whoever keeps it.
type keeper struct {
	set     float64    // °C that the incubator is really at when its heater wins
	swing   float64    // K that the air goes either way before the heater switches
	power   float64    // K above a warm room that the heater can hold
	night   float64    // K by which the room is colder from 22 to 7 o'clock
	drift   float64    // K by which the incubator creeps in sixty days
	doors   float64    // openings a day
	shelves [2]float64 // K, each egg box against the incubator
	split   bool       // the second egg lies in the second box
	seen    bool       // the laying was seen; else it was between two looks
	gaps    int        // stretches without readings
	longest float64    // days; the shortest is two hours
	cuts    bool       // readings failed because the power did
	probes  [2]simProbe
}

// A simProbe sits in one box, and says where it thinks it is.
type simProbe struct {
	name       string
	bias       float64 // K
	apart      float64 // K, the eggs against the place where it sits
	noise      float64 // K, sd of a reading
	resolution float64 // K
	accuracy   float64 // K, as stated; two standard deviations
	position   incubation.Position
}

// says is one reading at an egg's temperature.
func (p simProbe) says(celsius float64, rng *rand.Rand) float64 {
	c := celsius - p.apart + p.bias + p.noise*rng.NormFloat64()
	return math.Round(c/p.resolution) * p.resolution
}

// A silence is a stretch without readings, in steps.
type silence struct{ from, to int }

// silences draws the gaps of a clutch, in its first forty days in the box.
func (k *keeper) silences(placed int, rng *rand.Rand) []silence {
	var out []silence
	for range k.gaps {
		length := math.Exp(math.Log(2.0/24) + rng.Float64()*math.Log(k.longest*12))
		from := placed + int((0.2+rng.Float64()*40)*float64(simPerDay))
		out = append(out, silence{from, from + int(length*float64(simPerDay))})
	}
	return out
}

func silent(silences []silence, step int) bool {
	for _, s := range silences {
		if step >= s.from && step < s.to {
			return true
		}
	}
	return false
}

// Time constants of a small cabinet and of a tub of damp substrate in it, days.
// Judgement; they decide how fast a thermostat clicks and how little of it an
// egg feels.
const (
	airConstant = 2.0 / 24
	boxConstant = 0.75 / 24
)

// warm follows the room: what an egg in each box feels at each step. Until it
// was placed it lay in a lay box.
func (k *keeper) warm(from time.Time, placed int, cuts []silence, rng *rand.Rand) (boxes [2][]float64) {
	steps := simDays * simPerDay
	boxes[0], boxes[1] = make([]float64, steps), make([]float64, steps)
	lay := 26 + 3*rng.Float64()
	air, box, heating := k.set, k.set, false
	phase := float64(from.Hour()) + float64(from.Minute())/60
	for i := range steps {
		room, aim := 22.0, k.set+k.drift*float64(i)*simDay/60
		if hour := math.Mod(phase+24*float64(i)*simDay, 24); hour >= 22 || hour < 7 {
			room -= k.night
		}
		switch {
		case air < aim-k.swing:
			heating = true
		case air > aim+k.swing:
			heating = false
		}
		heater := 0.0
		if heating && !silent(cuts, i) {
			heater = k.power
		}
		air += (room + heater - air) * (simDay / airConstant)
		if rng.Float64() < k.doors*simDay {
			air -= 0.6 * (air - room)
		}
		box += (air - box) * (simDay / boxConstant)
		for b := range boxes {
			boxes[b][i] = box + k.shelves[b]
			if i < placed {
				boxes[b][i] = lay
			}
		}
	}
	return boxes
}

// A brood is one laying: its record, and what really became of its eggs.
type brood struct {
	laid    incubation.Laying
	records [2][]incubation.Block // by box; nil where no egg lay
	eggs    []hatchling
}

// A hatchling is one egg's fate. Days are since the earliest laying.
type hatchling struct {
	box     int
	hatched float64
	found   incubation.Laying // the look that found it hatched, and the one before
	male    bool
	chance  float64   // of a male, in an average clutch of that world, °C felt as it was
	median  float64   // °C, of what counted for its sex
	grown   []float64 // development at the beginning of each day
}

// clutch simulates one laying of these animals, on the evening of from or in
// the night after it.
func (k *keeper) clutch(t testing.TB, a *animals, from time.Time, rng *rand.Rand) brood {
	t.Helper()
	laid, found := 0.0, 13.0/24 // from eight in the evening to nine in the morning
	if k.seen {
		found = 0
	} else {
		laid = rng.Float64() * found
	}
	placed := int(found * float64(simPerDay))
	silences := k.silences(placed, rng)
	var cuts []silence
	if k.cuts {
		cuts = silences
	}
	boxes := k.warm(from, placed, cuts, rng)
	out := brood{laid: incubation.Laying{From: from, To: from.Add(time.Duration(placed) * simStep)}}
	lean, ends := rng.NormFloat64(), [2]int{} // where each box's record ends, in steps
	for n := range 2 {
		b := 0
		if k.split {
			b = n
		}
		h := a.live(t, boxes[b], laid, lean, rng)
		h.box = b
		h.found = looks(from, h.hatched)
		out.eggs = append(out.eggs, h)
		ends[b] = max(ends[b], int(h.hatched*float64(simPerDay)))
	}
	for b, end := range ends {
		if end > 0 {
			out.records[b] = k.probes[b].record(boxes[b][:end], from, placed, silences, rng)
		}
	}
	return out
}

// looks gives the keeper's looks, at eight in the morning and in the evening,
// between which an egg was found hatched.
func looks(from time.Time, hatched float64) incubation.Laying {
	const half = 12 * time.Hour
	at := from.Add(time.Duration(hatched * 24 * float64(time.Hour)))
	last := at.Add(-8 * time.Hour).Truncate(half).Add(8 * time.Hour)
	return incubation.Laying{From: last, To: last.Add(half)}
}

// record is what the probe says of a box, read at every step, aligned; until
// the last egg in it hatched.
func (p simProbe) record(
	box []float64, from time.Time, placed int, silences []silence, rng *rand.Rand,
) []incubation.Block {
	aligner := incubation.Aligner{Accuracy: p.accuracy}
	var out []incubation.Block
	for i := placed; i < len(box); i++ {
		if silent(silences, i) {
			continue
		}
		b, ok := aligner.Add(incubation.Reading{
			Probe: p.name, Time: from.Add(time.Duration(i) * simStep), Has: incubation.Temperature,
			Celsius: incubation.Celsius(p.says(box[i], rng)),
		})
		if ok {
			b.Position = p.position
			out = append(out, b)
		}
	}
	return out
}
