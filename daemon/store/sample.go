package store

import (
	"math"
	"time"

	"clutchd/incubation"
)

// A sample is a reading as it is stored: whole seconds and integers.
type sample struct {
	at      int64 // seconds since 1970, or since the boot
	celsius int32 // in steps of 0.1 mK; 0 unless measured
	humid   int32 // in steps of 0.01 %; 0 unless measured
	flags   uint8 // Has in the low two bits, Quality above
}

const (
	perKelvin    = 10_000
	centikelvin  = perKelvin / 100
	sixteenth    = perKelvin / 16
	perRatio     = 10_000
	hasMask      = uint8(incubation.Temperature | incubation.RelativeHumidity)
	qualityShift = 2
	maxQuality   = 1<<(8-qualityShift) - 1

	// What can be stored; sensors refuse far less extreme values as faults.
	minCelsius, maxCelsius   = -273.15, 2000
	minHumidity, maxHumidity = -1, 2
)

// sampleOf gives the reading's sample at the given second, or why it cannot
// be stored.
func sampleOf(r incubation.Reading, at int64) (sample, string) {
	s := sample{at: at, flags: uint8(r.Has) | uint8(r.Quality)<<qualityShift}
	switch {
	case r.Probe == "" || len(r.Probe) > maxName:
		return sample{}, "its probe has no name, or too long a one"
	case r.Has == 0 || uint8(r.Has)&^hasMask != 0:
		return sample{}, "it holds no known quantity"
	case r.Quality > maxQuality:
		return sample{}, "its quality is unknown"
	}
	if r.Has&incubation.Temperature != 0 {
		if !(float64(r.Celsius) >= minCelsius && float64(r.Celsius) <= maxCelsius) {
			return sample{}, "its temperature is out of bounds"
		}
		s.celsius = stepsOf(float64(r.Celsius))
	}
	if r.Has&incubation.RelativeHumidity != 0 {
		if !(float64(r.Humidity) >= minHumidity && float64(r.Humidity) <= maxHumidity) {
			return sample{}, "its humidity is out of bounds"
		}
		s.humid = int32(math.Round(float64(r.Humidity) * perRatio))
	}
	return s, ""
}

// stepsOf puts a temperature on the grid: sixteenths exactly, anything else
// to the nearest 0.01.
func stepsOf(celsius float64) int32 {
	x := celsius * perKelvin
	if s := math.Round(x/sixteenth) * sixteenth; math.Abs(x-s) < 0.01 {
		return int32(s)
	}
	return int32(math.Round(x/centikelvin) * centikelvin)
}

// reading gives the sample back as a probe's reading.
func (s sample) reading(probe string) incubation.Reading {
	r := incubation.Reading{
		Probe:   probe,
		Time:    time.Unix(s.at, 0).UTC(),
		Has:     incubation.Quantity(s.flags & hasMask),
		Quality: incubation.Quality(s.flags >> qualityShift),
	}
	if r.Has&incubation.Temperature != 0 {
		r.Celsius = incubation.Celsius(float64(s.celsius) / perKelvin)
	}
	if r.Has&incubation.RelativeHumidity != 0 {
		r.Humidity = incubation.Humidity(float64(s.humid) / perRatio)
	}
	return r
}

// merge gives both, in order of time; where both have a second, over wins.
// Each must be in order and without doubles.
func merge(under, over []sample) []sample {
	if len(over) == 0 {
		return under
	}
	if len(under) == 0 {
		return over
	}
	out := make([]sample, 0, len(under)+len(over))
	for len(under) > 0 && len(over) > 0 {
		switch {
		case under[0].at < over[0].at:
			out, under = append(out, under[0]), under[1:]
		case under[0].at > over[0].at:
			out, over = append(out, over[0]), over[1:]
		default:
			under = under[1:]
		}
	}
	return append(append(out, under...), over...)
}
