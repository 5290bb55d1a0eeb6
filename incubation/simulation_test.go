package incubation_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"clutchd/incubation"
)

// The simulation itself. An egg at one temperature hatches when its rate says.
func TestSimulatedEgg(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	path := make([]float64, simDays*simPerDay)
	for i := range path {
		path[i] = 30
	}
	a := &animals{
		rate:    func(celsius float64) float64 { return (celsius - 18) / 540 }, // 45 days
		counts:  func(done float64) float64 { return 1 },
		hatches: func(*rand.Rand) float64 { return 1 },
		chance:  func(f *felt) float64 { return f.mean() / 40 },
		leaning: func(f *felt, z float64) float64 { return 1 },
	}
	h := a.live(t, path, 0.5, 0, rng)
	near(t, "day of hatching, laid half a day in", h.hatched, 45.5, 2*simDay)
	near(t, "development on day 21", h.grown[21], 20.5/45, 1e-9)
	near(t, "median felt", h.median, 30, feltBin)
	near(t, "chance", h.chance, 0.75, 1e-9)
	if !h.male {
		t.Error("a sure male is none")
	}
	// Half the weight at 26, half at 32 °C and a bit.
	var f felt
	f.add(26, 1)
	f.add(32, 1.01)
	near(t, "median of two", f.median(), 32, feltBin)
	near(t, "mean of a function", f.average(func(c float64) float64 { return c * c }),
		(26*26+1.01*32*32)/2.01, 1)
}

// Twenty clutches of one keeper, whose one probe is 0.6 K off: the record is as
// much off throughout, the looks hold the hatch, the gaps are gaps.
func TestSimulatedSeason(t *testing.T) {
	rng := rand.New(rand.NewPCG(20, 2))
	k := roomAt(30, normally, rng)
	k.probes[0].bias, k.probes[0].apart = 0.6, 0.1
	k.gaps, k.longest = 2, 2
	clutches := k.season(t, firstWorld, 20, rng)
	sum, n, males, missing := 0.0, 0, 0, 0.0
	for i, b := range clutches {
		last := b.laid.To
		for _, block := range b.records[0] {
			if block.Start.Before(last) && !block.Start.Equal(last.Truncate(incubation.BlockLength)) {
				t.Fatalf("clutch %d: block at %v after one that ended %v", i, block.Start, last)
			}
			missing += max(block.Start.Sub(last).Hours(), 0)
			last = block.End()
			sum += float64(block.Celsius)
			n++
		}
		if b.laid.To.Sub(b.laid.From) != 13*time.Hour || b.records[1] != nil || len(b.eggs) != 2 {
			t.Errorf("clutch %d: laid %v, %d eggs, second box %d blocks", i, b.laid, len(b.eggs),
				len(b.records[1]))
		}
		for _, e := range b.eggs {
			hatched := b.laid.From.Add(time.Duration(e.hatched * 24 * float64(time.Hour)))
			if hatched.Before(e.found.From) || hatched.After(e.found.To) ||
				e.found.From.Hour()%12 != 8 || e.found.To.Sub(e.found.From) != 12*time.Hour {
				t.Errorf("clutch %d: hatched %v, looked %v", i, hatched, e.found)
			}
			if e.male {
				males++
			}
		}
	}
	// Half of the doors' and the thermostat's wandering is averaged out; the
	// drift is not.
	real := 30 + k.shelves[0]
	near(t, "mean of the records over the box", sum/float64(n)-real, 0.5, 0.15)
	if missing < 40*2 || missing > 40*48 {
		t.Errorf("%.0f hours are missing in 40 gaps of 2 to 48", missing)
	}
	if males == 0 || males == 40 {
		t.Errorf("%d of 40 eggs at about the pivotal temperature are male", males)
	}
	// The thermostat clicks as the keeper has it.
	boxes := k.warm(day0, 0, nil, rand.New(rand.NewPCG(8, 8)))
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range boxes[0][2*simPerDay : 20*simPerDay] {
		low, high = min(low, c), max(high, c)
	}
	if high-low < 0.1 || high-low > 3 {
		t.Errorf("a box goes from %.2f to %.2f °C", low, high)
	}
}
