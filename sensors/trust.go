package sensors

import (
	"fmt"
	"math"

	"clutchd/incubation"
)

// The span in which a single value can be true. Temperature: the widest range
// that a supported chip is specified for (DS18B20, −55 to 125 °C). Humidity:
// chips overshoot a little in condensation, so up to 106 % counts as
// saturated; where that ends is judgement.
const (
	coldest incubation.Celsius  = -55
	hottest incubation.Celsius  = 125
	wettest incubation.Humidity = 1.06
)

// Trust gives the reading as it may be passed on, or a *Fault and no reading:
// a value that is not a number or outside what is physically possible is
// refused whole. Humidity of 1 or a little more becomes 1 and Saturated; a
// quantity that the reading does not hold becomes 0. An empty Probe is filled.
func Trust(p Probe, r incubation.Reading) (incubation.Reading, error) {
	if r.Probe == "" {
		r.Probe = p.ID
	}
	r.Has &= incubation.Temperature | incubation.RelativeHumidity
	if r.Has == 0 {
		return refuse(p, Unparsable, "the reading holds no quantity")
	}
	if r.Has&incubation.Temperature == 0 {
		r.Celsius = 0
	}
	if r.Has&incubation.RelativeHumidity == 0 {
		r.Humidity = 0
	}
	switch {
	case math.IsNaN(float64(r.Celsius)) || math.IsNaN(float64(r.Humidity)):
		return refuse(p, Unparsable, "not a number")
	case r.Celsius < coldest || r.Celsius > hottest:
		return refuse(p, OutOfRange, "%g °C is not within %g to %g", r.Celsius, coldest, hottest)
	case r.Humidity < 0 || r.Humidity > wettest:
		return refuse(p, OutOfRange, "humidity %g is not within 0 to %g", r.Humidity, wettest)
	case r.Humidity >= 1:
		r.Humidity = 1
		if r.Quality == incubation.Good {
			r.Quality = incubation.Saturated
		}
	}
	return r, nil
}

func refuse(p Probe, c Cause, format string, args ...any) (incubation.Reading, error) {
	return incubation.Reading{}, &Fault{Probe: p.ID, Cause: c, Err: fmt.Errorf(format, args...)}
}
