// Package thermal says where a temperature is heading: how fast it changes,
// when it will reach a limit, what a place usually swings between, and how an
// incubator loses its warmth once nothing heats it.
//
// It judges nothing and knows no clock: each point brings its time. Slopes are
// by Theil and Sen, which up to 29 % of points gone wrong do not move far:
// Sen, P. K. (1968), J. Am. Stat. Assoc. 63:1379-1389. Temperatures are °C,
// differences K, slopes K per minute.
package thermal

import (
	"math"
	"slices"
	"time"
)

// A Point is what was read at one time.
type Point struct {
	At      time.Time
	Celsius float64
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// median sorts its values.
func median(values []float64) float64 {
	slices.Sort(values)
	n := len(values)
	return (values[(n-1)/2] + values[n/2]) / 2
}

// minutes is how long after t a time is.
func minutes(since, t time.Time) float64 { return t.Sub(since).Minutes() }

func duration(minutes float64) time.Duration {
	const most = 365 * 24 * 60
	return time.Duration(min(max(minutes, 0), most) * float64(time.Minute))
}
