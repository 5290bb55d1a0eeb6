package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
)

// words tells values to people: the only place where °F, percent and the
// room's zone appear. The zero value speaks °C and UTC.
type words struct {
	zone       *time.Location
	fahrenheit bool
	dates      dateStyle
	now        time.Time // of the tick that the page tells of
}

func (w words) in(t time.Time) time.Time {
	if w.zone == nil {
		return t.UTC()
	}
	return t.In(w.zone)
}

// degrees gives a temperature as a number in the visitor's unit.
func (w words) degrees(c incubation.Celsius) float64 {
	if w.fahrenheit {
		return float64(c)*9/5 + 32
	}
	return float64(c)
}

// celsius is the inverse of degrees, to a thousandth.
func (w words) celsius(d float64) incubation.Celsius {
	if w.fahrenheit {
		d = (d - 32) * 5 / 9
	}
	return incubation.Celsius(math.Round(d*1000) / 1000)
}

// kelvin turns a difference in the visitor's unit into K.
func (w words) kelvin(d float64) float64 {
	if w.fahrenheit {
		d = d * 5 / 9
	}
	return math.Round(d*1000) / 1000
}

// Unit is the sign of the visitor's unit.
func (w words) Unit() string {
	if w.fahrenheit {
		return "°F"
	}
	return "°C"
}

func (w words) scale() alerts.Scale {
	if w.fahrenheit {
		return alerts.InFahrenheit
	}
	return alerts.InCelsius
}

func (w words) temp(c incubation.Celsius) string {
	return minus(strconv.FormatFloat(w.degrees(c), 'f', 1, 64))
}

// difference tells K with its sign, in the visitor's unit.
func (w words) difference(k float64) string {
	if w.fahrenheit {
		k = k * 9 / 5
	}
	return minus(fmt.Sprintf("%+.1f", k))
}

// minus writes a proper minus sign, and none before a zero.
func minus(s string) string {
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

func percent(ratio float64) string {
	return strconv.FormatFloat(100*ratio, 'f', 0, 64) + nbsp + "%"
}

// share is a percent that never says 0 or 100 for what is neither.
func share(p float64) string {
	switch {
	case p > 0 && p < 0.005:
		return "under 1" + nbsp + "%"
	case p < 1 && p >= 0.995:
		return "over 99" + nbsp + "%"
	}
	return percent(p)
}

// between tells two shares as a range; as share, neither end says 0 or 100 for
// what is neither.
func between(low, high float64) string {
	a, b := share(low), share(high)
	if a == b {
		return b
	}
	return strings.TrimSuffix(a, nbsp+"%") + "–" + b
}

// moment is a time of day, with the date unless that is today.
func (w words) moment(t time.Time) string {
	if t.IsZero() {
		return "never"
	}
	if w.in(t).Format(time.DateOnly) == w.in(w.now).Format(time.DateOnly) {
		return w.in(t).Format("15:04")
	}
	return w.day(t) + " " + w.in(t).Format("15:04")
}

// age is how long ago t was.
func (w words) age(t time.Time) string {
	if t.IsZero() {
		return "never read"
	}
	return span(w.now.Sub(t)) + " ago"
}

// span is a length of time in its largest unit, rounded down.
func span(d time.Duration) string {
	d = max(0, d)
	switch {
	case d < time.Minute:
		return fmt.Sprintf("%d s", d/time.Second)
	case d < time.Hour:
		return fmt.Sprintf("%d min", d/time.Minute)
	case d < 48*time.Hour:
		return fmt.Sprintf("%d h", d/time.Hour)
	}
	return fmt.Sprintf("%d days", d/(24*time.Hour))
}

func seconds(d time.Duration) string {
	return strconv.FormatInt(int64((d+time.Second-1)/time.Second), 10)
}

// value tells an alert's number in its own unit.
func (w words) value(v *float64, unit string) string {
	switch {
	case v == nil || math.IsNaN(*v) || math.IsInf(*v, 0):
		return ""
	case unit == "celsius":
		return w.temp(incubation.Celsius(*v)) + " " + w.Unit()
	case unit == "ratio":
		return percent(*v)
	case unit == "seconds" && math.Abs(*v) < 1e9:
		return span(time.Duration(*v * float64(time.Second)))
	}
	return strconv.FormatFloat(*v, 'g', 4, 64)
}

// nbsp keeps a number and its unit on one line.
const nbsp = "\u00a0"

// A state is a colour's meaning: its class, and the word that says it too.
type state struct{ Class, Word string }

var (
	normal = state{"normal", "normal"}
	quiet  = state{"quiet", ""}
	must   = state{"must", "waits for you"}
)

func stateOf(s alerts.Severity) state {
	switch s {
	case alerts.Critical:
		return state{"danger", "critical"}
	case alerts.Warning:
		return state{"warning", "warning"}
	case alerts.Info:
		return state{"notice", "notice"}
	}
	return normal
}

// list joins words as a sentence does.
func list(items []string) string {
	if len(items) < 2 {
		return strings.Join(items, "")
	}
	last := len(items) - 1
	return strings.Join(items[:last], ", ") + " and " + items[last]
}
