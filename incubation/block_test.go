package incubation_test

import (
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
)

func reading(at time.Time, celsius float64) incubation.Reading {
	return incubation.Reading{
		Probe: "p1", Time: at, Has: incubation.Temperature, Celsius: incubation.Celsius(celsius),
	}
}

// minute is a time that many minutes after day0.
func minute(m float64) time.Time { return day(m / 1440) }

func TestAligner(t *testing.T) {
	suspect := reading(minute(2), 32)
	suspect.Quality = incubation.Suspect
	damp := incubation.Reading{
		Probe: "p1", Time: minute(3), Has: incubation.RelativeHumidity,
		Humidity: 0.8,
	}
	other := reading(minute(4), 50)
	other.Probe = "p2"
	at := func(m, celsius, covered float64) incubation.Block {
		return incubation.Block{
			Start: minute(m), Celsius: incubation.Celsius(celsius), Covered: covered, Probe: "p1",
			Accuracy: 0.3,
		}
	}
	for _, row := range []struct {
		why      string
		readings []incubation.Reading
		close    time.Time
		want     []incubation.Block
	}{
		{
			"a block is the mean of its readings",
			[]incubation.Reading{reading(minute(0), 28), reading(minute(5), 29), reading(minute(9.9), 30)},
			minute(10),
			[]incubation.Block{at(0, 29, 1)},
		},
		{
			"a reading on the border opens the next block",
			[]incubation.Reading{reading(minute(0), 28), reading(minute(10), 29)},
			minute(20),
			[]incubation.Block{at(0, 28, 1), at(10, 29, 1)},
		},
		{
			"a block that is not over is not closed",
			[]incubation.Reading{reading(minute(0), 28)},
			minute(9.99), nil,
		},
		{
			"a suspect reading counts a quarter",
			[]incubation.Reading{reading(minute(0), 27), suspect},
			minute(10),
			[]incubation.Block{at(0, 28,
				1)},
		},
		{
			"inside a block any order will do",
			[]incubation.Reading{reading(minute(9), 30), reading(minute(1), 28)},
			minute(10),
			[]incubation.Block{at(0, 29, 0.9)},
		},
		{
			"a reading older than the open block is dropped",
			[]incubation.Reading{reading(minute(12), 28), reading(minute(3), 40)},
			minute(20),
			[]incubation.Block{at(10, 28, 0.8)},
		},
		{
			"humidity, another probe and no number are not this probe's temperature",
			[]incubation.Reading{
				reading(minute(0), 28), damp, other, reading(minute(5), math.NaN()),
				reading(minute(6), math.Inf(1)),
			},
			minute(10),
			[]incubation.Block{at(0, 28, 1)},
		},
		{
			"blocks without readings are not made up",
			[]incubation.Reading{reading(minute(0), 28), reading(minute(25), 29)},
			minute(30),
			[]incubation.Block{at(0, 28, 1), at(20, 29, 1)},
		},
		{
			"what no reading within half an hour speaks for is not covered",
			[]incubation.Reading{reading(minute(0), 28), reading(minute(64), 29)},
			minute(70),
			[]incubation.Block{at(0, 28, 1), at(60, 29, 0.6)},
		},
	} {
		aligner := incubation.Aligner{Accuracy: 0.3}
		var got []incubation.Block
		for _, r := range row.readings {
			if b, ok := aligner.Add(r); ok {
				got = append(got, b)
			}
		}
		if b, ok := aligner.Close(row.close); ok {
			got = append(got, b)
		}
		if diff := cmp.Diff(row.want, got, closeEnough); diff != "" {
			t.Errorf("%s (-want +got):\n%s", row.why, diff)
		}
	}
}

// closeEnough lets sums of floats differ in their last digits.
var closeEnough = cmp.Comparer(func(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 1e-9*max(math.Abs(a), math.Abs(b), 1)
})

// Closing blocks by the clock, as the daemon does, and by the next reading, as
// a replay does, gives the same blocks; and a reading for a closed block is
// dropped.
func TestAlignerLiveAndReplayed(t *testing.T) {
	var live, replayed incubation.Aligner
	var a, b []incubation.Block
	for i := range 400 {
		m := float64(i) * 3.7
		if i%50 > 42 {
			continue // silence of half an hour
		}
		r := reading(minute(m), 28+math.Sin(m))
		if block, ok := live.Close(minute(m).Truncate(incubation.BlockLength)); ok {
			a = append(a, block)
			late := reading(block.Start.Add(time.Minute), 60)
			if _, ok := live.Add(late); ok {
				t.Error("a late reading closed a block")
			}
		}
		if block, ok := live.Add(r); ok {
			a = append(a, block)
		}
		if block, ok := replayed.Add(r); ok {
			b = append(b, block)
		}
	}
	if diff := cmp.Diff(a, b); diff != "" || len(a) < 100 {
		t.Errorf("%d blocks by the clock are not the %d by the readings:\n%s", len(a), len(b), diff)
	}
}
