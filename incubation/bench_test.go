package incubation_test

import (
	"math"
	"runtime"
	"testing"
	"time"

	"clutchd/incubation"
)

// swinging is a thermostat's swing of half a degree in forty minutes about a
// mean, with a slow drift over the day.
func swinging(mean float64) curve {
	return func(d float64) float64 {
		return mean + 0.5*math.Sin(2*math.Pi*d*36) + 0.3*math.Sin(2*math.Pi*d)
	}
}

// Sixty days of readings ten seconds apart, and what they say of the egg.
func BenchmarkColdEstimate(b *testing.B) {
	const step = 10 * time.Second
	record := make([]incubation.Reading, 0, 60*24*360)
	c := swinging(28)
	for at := day0; at.Before(day(60)); at = at.Add(step) {
		record = append(record, incubation.Reading{
			Probe: "p1", Time: at, Has: incubation.Temperature,
			Celsius: incubation.Celsius(c(at.Sub(day0).Hours() / 24)),
		})
	}
	e := leopards()
	for b.Loop() {
		aligner := incubation.Aligner{Accuracy: 0.2}
		track := incubation.NewTrack(e, laidAt(day0))
		for _, r := range record {
			if block, ok := aligner.Add(r); ok {
				if err := track.Add(block); err != nil {
					b.Fatal(err)
				}
			}
		}
		track.Estimate(incubation.Question{Now: day(60)})
	}
}

// One block, in the TSP and before it.
func BenchmarkBlock(b *testing.B) {
	for _, from := range []struct {
		name string
		day  float64
	}{{"before", 2}, {"open", 18}, {"closed", 35}} {
		b.Run(from.name, func(b *testing.B) {
			track := swinging(28).lay(b, leopards(), from.day)
			at, n := day(from.day), 0
			for b.Loop() {
				if n++; n > 300 { // about two days on, the same again
					b.StopTimer()
					track, at, n = swinging(28).lay(b, leopards(), from.day), day(from.day), 0
					b.StartTimer()
				}
				if err := track.Add(block(at, 28+float64(n%11)/10)); err != nil {
					b.Fatal(err)
				}
				at = at.Add(incubation.BlockLength)
			}
		})
	}
}

// One estimate while the TSP is open, the dearest time.
func BenchmarkEstimate(b *testing.B) {
	track := swinging(28).lay(b, leopards(), 18)
	for _, q := range []struct {
		name string
		q    incubation.Question
	}{
		{"plain", incubation.Question{Now: day(18)}},
		{"holds", incubation.Question{Now: day(18), Holds: true}},
	} {
		b.Run(q.name, func(b *testing.B) {
			for b.Loop() {
				track.Estimate(q.q)
			}
		})
	}
	b.Run("males", func(b *testing.B) {
		one := track.Ask(incubation.Question{Now: day(18)})
		two := []incubation.Answer{one, one}
		for b.Loop() {
			incubation.Males(two)
		}
	})
}

// What a track takes in memory, while its TSP is open and afterwards.
func BenchmarkTrackSize(b *testing.B) {
	for _, at := range []struct {
		name string
		c    curve
		day  float64
	}{
		{"open", swinging(28), 24},
		{"open, four degrees a day", func(d float64) float64 { return 28 + 4*math.Sin(2*math.Pi*d) }, 24},
		{"closed", swinging(28), 45},
	} {
		b.Run(at.name, func(b *testing.B) {
			const n = 10
			leopards()
			for b.Loop() {
				var before, after runtime.MemStats
				runtime.GC()
				runtime.ReadMemStats(&before)
				var tracks [n]*incubation.Track
				for i := range tracks {
					tracks[i] = at.c.lay(b, leopards(), at.day)
				}
				runtime.GC()
				runtime.ReadMemStats(&after)
				runtime.KeepAlive(&tracks)
				b.ReportMetric((float64(after.HeapAlloc)-float64(before.HeapAlloc))/n, "B/track")
			}
		})
	}
}

// A room full: four hundred open eggs in twenty boxes, each with its own
// record of thirty days, estimated from nothing. What they take in memory
// stands beside it.
func BenchmarkFourHundredEggs(b *testing.B) {
	const eggs, boxes = 400, 20
	records := make([][]incubation.Block, boxes)
	for k := range records {
		c := swinging(27 + float64(k)/4)
		for at := day0; at.Before(day(30)); at = at.Add(incubation.BlockLength) {
			records[k] = append(records[k], block(at, c(at.Sub(day0).Hours()/24)))
		}
	}
	e := leopards()
	var before, after runtime.MemStats
	for b.Loop() {
		runtime.GC()
		runtime.ReadMemStats(&before)
		tracks := make([]*incubation.Track, eggs)
		for i := range tracks {
			tracks[i] = incubation.NewTrack(e, laidAt(day0))
			for _, block := range records[i%boxes] {
				add(b, tracks[i], block)
			}
			tracks[i].Estimate(incubation.Question{Now: day(30)})
		}
		runtime.GC()
		runtime.ReadMemStats(&after)
		runtime.KeepAlive(tracks)
	}
	b.ReportMetric((float64(after.HeapAlloc)-float64(before.HeapAlloc))/(1<<20), "MiB")
}

// What the tracks spare: every member's rate at each of 518,400 readings, the
// loop that one would write first. It gives development and nothing else.
func BenchmarkPerSampleLoop(b *testing.B) {
	const step = 10.0 / 86400
	c := swinging(28)
	var record []float64
	for i := range 60 * 8640 {
		record = append(record, c(float64(i)*step))
	}
	e := leopards()
	for b.Loop() {
		for i := range e.Members {
			m, done := &e.Members[i], 0.0
			for _, celsius := range record {
				done += m.Rate(celsius) * step
			}
			if !(done > 0) {
				b.Fatal("nothing grew")
			}
		}
	}
}
