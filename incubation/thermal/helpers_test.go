package thermal_test

import (
	"math"
	"math/rand/v2"
	"time"

	"clutchd/incubation/thermal"
)

var t0 = time.Date(2026, 3, 1, 6, 0, 0, 0, time.UTC)

// at is a time so many minutes into a record.
func at(minutes float64) time.Time {
	return t0.Add(time.Duration(minutes * float64(time.Minute)))
}

// record is what a curve gives every step, with a chip's noise.
func record(length, step time.Duration, noise float64, curve func(minutes float64) float64) []thermal.Point {
	dice := rand.New(rand.NewPCG(7, uint64(length)))
	var out []thermal.Point
	for d := time.Duration(0); d <= length; d += step {
		out = append(out, thermal.Point{
			At: t0.Add(d), Celsius: curve(d.Minutes()) + noise*dice.NormFloat64(),
		})
	}
	return out
}

func window(points []thermal.Point) *thermal.Window {
	w := &thermal.Window{}
	for _, p := range points {
		w.Add(p)
	}
	return w
}

// toward is an exponential approach.
func toward(from, to, tau float64) func(float64) float64 {
	return func(m float64) float64 { return to + (from-to)*math.Exp(-m/tau) }
}

func straight(from, perMinute float64) func(float64) float64 {
	return func(m float64) float64 { return from + perMinute*m }
}

func ptr[T any](v T) *T { return &v }
