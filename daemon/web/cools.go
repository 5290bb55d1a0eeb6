package web

import (
	"fmt"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation/thermal"
)

// coolingJSON is how a place loses its warmth over the room without heat.
type coolingJSON struct {
	Half float64 `json:"half_seconds"`
	// SD is how sure that is: one standard deviation of its logarithm.
	SD     float64 `json:"half_log_sd"`
	Seen   int     `json:"seen"`              // falls without heat
	Cycles int     `json:"thermostat_pauses"` // where no fall was seen
}

// countdownJSON is how long a place without mains stays warm enough. No
// seconds: it does not get too cool while the room stays as warm.
type countdownJSON struct {
	Limit float64  `json:"limit_celsius"`
	In    *float64 `json:"seconds,omitempty"`
	Early *float64 `json:"early_seconds,omitempty"`
	Guess bool     `json:"guess"`
}

func coolingOf(c *thermal.Cooling) *coolingJSON {
	if c == nil {
		return nil
	}
	half, sd := c.Half().Round(time.Second).Seconds(), c.SD
	return &coolingJSON{Half: half, SD: *tidy(&sd), Seen: c.Seen, Cycles: c.Cycles}
}

func countdownOf(c *monitor.Countdown) *countdownJSON {
	if c == nil {
		return nil
	}
	out := &countdownJSON{Limit: float64(c.Limit), Guess: c.Guess}
	if !c.Never {
		in, early := c.Likely.Round(time.Second).Seconds(), c.Early.Round(time.Second).Seconds()
		out.In, out.Early = &in, &early
	}
	return out
}

// coolsSays tells a learned curve: "loses half its warmth over the room in
// 2 h 5 min, seen 3 times".
func coolsSays(c *thermal.Cooling) string {
	if c == nil {
		return ""
	}
	seen := "seen once"
	switch {
	case c.Seen == 0:
		seen = fmt.Sprintf("from %d pauses of its thermostat", c.Cycles)
	case c.Seen == 2:
		seen = "seen twice"
	case c.Seen > 2:
		seen = fmt.Sprintf("seen %d times", c.Seen)
	}
	half := c.Half().Round(time.Minute)
	if half > 2*time.Hour {
		half = c.Half().Round(5 * time.Minute)
	}
	return "loses half its warmth over the room in " + alerts.Lasting(half) + ", " + seen
}

// countdownSays tells how long a place without mains stays warm enough.
func (w words) countdownSays(c *monitor.Countdown) string {
	if c == nil {
		return ""
	}
	limit := w.temp(c.Limit) + nbsp + w.Unit()
	switch {
	case c.Never:
		return "stays over " + limit + " while the room stays as warm"
	case c.Likely <= 0:
		return "is under " + limit + " already"
	}
	text := "falls under " + limit + " in about " + alerts.Lasting(c.Likely.Round(time.Minute)) +
		", in " + alerts.Lasting(c.Early.Round(time.Minute)) + " at the earliest"
	if c.Guess {
		text += ": a guess from a typical cabinet"
	}
	return text
}
