package mqtt

import (
	"math"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// Each payload has a JSON Schema of the same name in schema/. Numbers are
// rounded to what a sensor can know, and are never NaN or infinite: such a
// value is left out.

// Status is the payload of clutchd/<site>/status.
type Status struct {
	Status string `json:"status"` // "online" or "offline"
	// Since is when it came to be so. It is absent from the last will, which
	// the broker sends when the connection has died and which cannot know,
	// and while the machine's clock is not trusted.
	Since *time.Time `json:"since,omitempty"`
	// Next is when the next status is due; a listener that has not heard one
	// by then, and a little, should worry. Absent as Since is, and offline.
	Next *time.Time `json:"next,omitempty"`
}

// The words of Status.
const (
	Online  = "online"
	Offline = "offline"
)

// Reading is the payload of clutchd/<site>/reading/<probe>.
type Reading struct {
	// Time is absent if there was no reading, or the clock is not set.
	Time          *time.Time `json:"time,omitempty"`
	Celsius       *float64   `json:"celsius,omitempty"`
	HumidityRatio *float64   `json:"humidity_ratio,omitempty"`
	Place         string     `json:"place"` // id; "": not yet given a place
	// Quality is a reading's, or Stale: then there are no values.
	Quality string `json:"quality"`
}

// Stale is the quality of a probe whose newest reading is too old to be shown.
const Stale = "stale"

// Alert is the payload of clutchd/<site>/alert/<alert>.
type Alert = alerts.Payload

// Notice is the payload of clutchd/<site>/notice: at least once, in order. A
// listener drops what has an id that it has seen.
type Notice = alerts.NoticePayload

func statusOnline(since, next time.Time, trusted bool) Status {
	if !trusted {
		return Status{Status: Online}
	}
	return Status{Status: Online, Since: alerts.Moment(since), Next: alerts.Moment(next)}
}

func readingOf(p monitor.ProbeNow, trusted bool) Reading {
	if !trusted {
		p.Latest.Time = time.Time{} // a guess, until the clock is set
	}
	r := Reading{Time: alerts.Moment(p.Latest.Time), Place: p.Place, Quality: p.Latest.Quality.String()}
	if p.Stale {
		r.Quality = Stale
		return r
	}
	if p.Latest.Has&incubation.Temperature != 0 {
		r.Celsius = rounded(float64(p.Latest.Celsius), 1000)
	}
	if p.Latest.Has&incubation.RelativeHumidity != 0 {
		r.HumidityRatio = rounded(float64(p.Latest.Humidity), 10000)
	}
	return r
}

// clutchOf gives the clutch as the API does, without hold_from_now: a retained
// message is no place for a what-if.
func clutchOf(c monitor.ClutchNow) monitor.ClutchNow {
	c.Males = append([]float64{}, c.Males...)
	c.Eggs = append([]monitor.EggNow{}, c.Eggs...)
	for i := range c.Eggs {
		if e := c.Eggs[i].Estimate; e != nil {
			short := *e
			short.HoldFromNow = nil
			c.Eggs[i].Estimate = &short
		}
	}
	return c
}

func rounded(f, steps float64) *float64 {
	f = math.Round(f*steps) / steps
	if math.IsNaN(f) || math.IsInf(f, 0) {
		return nil
	}
	return &f
}
