package mqtt

import (
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// Contact is the payload of clutchd/<site>/contact/<contact>.
type Contact struct {
	Kind incubation.ContactKind `json:"kind"`
	// State is "present" or "off" (mains), "open" or "shut" (door), "wet" or
	// "dry" (leak), or "unknown": then nothing else tells of it.
	State  string     `json:"state"`
	Since  *time.Time `json:"since,omitempty"`
	Detail string     `json:"detail,omitempty"` // "battery 64 %, discharging"
	Fault  string     `json:"fault,omitempty"`  // why it is unknown
	Place  string     `json:"place"`            // id; "": not yet given a place
}

func contactOf(n monitor.ContactNow, trusted bool) Contact {
	c := Contact{Kind: n.Kind, State: n.State(), Place: n.Place}
	if !n.Sure() {
		c.Fault = string(n.Fault)
		return c
	}
	c.Detail = n.Detail
	if trusted {
		c.Since = alerts.Moment(n.Since)
	}
	return c
}
