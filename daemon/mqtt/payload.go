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

// believable is the year 2000 in Unix seconds: a clock that was never set says
// 1970.
const believable = 946684800

// Stale is the quality of a probe whose newest reading is too old to be shown.
const Stale = "stale"

// Alert is the payload of clutchd/<site>/alert/<alert>.
type Alert struct {
	Alert          string          `json:"alert"`
	Occurrence     string          `json:"occurrence"`
	Rule           string          `json:"rule"`
	Subject        alerts.Subject  `json:"subject"`
	Eggs           []string        `json:"eggs"`
	State          string          `json:"state"` // "active" or "cleared"
	Severity       alerts.Severity `json:"severity"`
	Value          *float64        `json:"value,omitempty"`
	Limit          *float64        `json:"limit,omitempty"`
	Unit           string          `json:"unit,omitempty"` // of value and limit
	Since          *time.Time      `json:"since,omitempty"`
	Text           string          `json:"text"`
	Acknowledged   *time.Time      `json:"acknowledged,omitempty"`
	AcknowledgedBy string          `json:"acknowledged_by,omitempty"`
	ShelvedUntil   *time.Time      `json:"shelved_until,omitempty"`
}

// Notice is the payload of clutchd/<site>/notice: at least once, in order. A
// listener drops what has an id that it has seen.
type Notice struct {
	ID     uint64        `json:"id"`
	Reason alerts.Reason `json:"reason"`
	Time   *time.Time    `json:"time,omitempty"`
	Alert
}

func statusOnline(since, next time.Time, trusted bool) Status {
	if !trusted {
		return Status{Status: Online}
	}
	return Status{Status: Online, Since: moment(since), Next: moment(next)}
}

func readingOf(p monitor.ProbeNow, trusted bool) Reading {
	if !trusted {
		p.Latest.Time = time.Time{} // a guess, until the clock is set
	}
	r := Reading{Time: moment(p.Latest.Time), Place: p.Place, Quality: p.Latest.Quality.String()}
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

// alertOf gives the alert as others are told of it: while the off-delay runs
// it still counts as active, while an on-delay runs not yet.
func alertOf(s alerts.State) Alert {
	a := Alert{
		Alert: s.Alert, Occurrence: s.Occurrence, Rule: s.Rule, Subject: s.Subject,
		Eggs: s.Eggs, State: string(s.Phase), Severity: s.Severity,
		Value: finite(s.Value), Limit: finite(s.Limit), Unit: s.Unit,
		Since: moment(s.Since), Text: s.Text,
		Acknowledged: moment(s.Acknowledged), AcknowledgedBy: s.AcknowledgedBy,
		ShelvedUntil: moment(s.ShelvedUntil),
	}
	switch {
	case s.Told():
		a.State = string(alerts.Active)
	case s.Phase == alerts.InOnDelay:
		a.State = string(alerts.Normal)
	}
	if a.Eggs == nil {
		a.Eggs = []string{}
	}
	return a
}

func noticeOf(n alerts.Notice) Notice {
	return Notice{ID: n.ID, Reason: n.Reason, Time: moment(n.Time), Alert: alertOf(n.State)}
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

// moment gives a time, or nil for none: nobody is told the time of a clock
// that was never set.
func moment(t time.Time) *time.Time {
	if t.Unix() < believable {
		return nil
	}
	t = t.UTC()
	return &t
}

func finite(f *float64) *float64 {
	if f == nil || math.IsNaN(*f) || math.IsInf(*f, 0) {
		return nil
	}
	return f
}

func rounded(f, steps float64) *float64 {
	f = math.Round(f*steps) / steps
	return finite(&f)
}
