package web

import (
	"net/http"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
)

// morningHour is when a shelf "until morning" ends, by the room's clock.
// Judgement: before most people leave the house.
const morningHour = 7

// nextMorning gives the next time that it is seven o'clock in the room.
func nextMorning(now time.Time, zone *time.Location) time.Time {
	if zone == nil {
		zone = time.UTC
	}
	here := now.In(zone)
	day := time.Date(here.Year(), here.Month(), here.Day(), morningHour, 0, 0, 0, zone)
	if !day.After(now) {
		day = time.Date(here.Year(), here.Month(), here.Day()+1, morningHour, 0, 0, 0, zone)
	}
	return day.UTC()
}

// shelveForm reads how long a button or form asks for: "hours" 1 or 8,
// "until" morning, "until" then, with a date and time of the room's clock in
// "then", or "until" that itself.
func (s *Server) shelveForm(v *visit) error {
	if err := v.r.ParseForm(); err != nil {
		return err
	}
	c := monitor.Shelve{
		Alert: v.r.PathValue("id"), Occurrence: v.r.PostForm.Get("occurrence"), By: who,
		Why: v.r.PostForm.Get("why"),
	}
	hours := map[string]time.Duration{"1": time.Hour, "8": 8 * time.Hour}
	switch until := v.r.PostForm.Get("until"); until {
	case "":
		c.For = hours[v.r.PostForm.Get("hours")]
	case "morning":
		c.Until = nextMorning(v.snap.Time, s.o.Zone)
	case "then":
		a := &answers{values: v.r.PostForm, say: v.say}
		c.Until = a.moment("then")
	default:
		a := &answers{values: v.r.PostForm, say: v.say}
		c.Until = a.moment("until")
	}
	if c.For == 0 && c.Until.IsZero() {
		return v.showAlerts("Say how long to shelve it: an hour, until morning, or until a date and time.",
			http.StatusUnprocessableEntity)
	}
	if left := c.Until.Sub(v.snap.Time); !c.Until.IsZero() && (left <= 0 || left > alerts.MaxShelf) {
		return v.showAlerts("Shelve it until some time in the next 7 days: what is to stay quiet for "+
			"longer belongs in its limits.", http.StatusUnprocessableEntity)
	}
	return v.change(monitor.Change{Shelve: &c})
}

func (s *Server) unshelveForm(v *visit) error {
	return v.change(monitor.Change{Unshelve: &monitor.Unshelve{
		Alert: v.r.PathValue("id"), Occurrence: v.r.PostFormValue("occurrence"), By: who,
		Why: v.r.PostFormValue("why"),
	}})
}

// program is written beside what another program changes and does not sign.
const program = "API"

type shelveJSON struct {
	seenJSON
	Seconds float64   `json:"seconds,omitempty"` // how long, or
	Until   time.Time `json:"until,omitzero"`    // until when
}

func (s *Server) apiShelve(snap *monitor.Snapshot, r *http.Request) (any, error) {
	var b shelveJSON
	if err := readJSON(r.Body, &b); err != nil {
		return nil, err
	}
	left := b.Until.Sub(snap.Time)
	switch {
	case b.Occurrence == "":
		return nil, wrong("occurrence", "occurrence is missing")
	case b.Seconds != 0 && !b.Until.IsZero():
		return nil, wrong("until", "seconds or until, not both")
	case b.Until.IsZero() && !(b.Seconds >= 1 && b.Seconds <= alerts.MaxShelf.Seconds()):
		return nil, wrong("seconds", "seconds is outside 1 to 604800")
	case !b.Until.IsZero() && (left <= 0 || left > alerts.MaxShelf):
		return nil, wrong("until", "until is over, or more than 7 days away")
	}
	return s.changed(r, monitor.Change{Shelve: &monitor.Shelve{
		Alert: r.PathValue("id"), Occurrence: b.Occurrence, By: b.by(), Why: b.Why,
		For: time.Duration(b.Seconds * float64(time.Second)), Until: b.Until.UTC(),
	}})
}

func (s *Server) apiUnshelve(snap *monitor.Snapshot, r *http.Request) (any, error) {
	var b seenJSON
	if err := readJSON(r.Body, &b); err != nil {
		return nil, err
	}
	if b.Occurrence == "" {
		return nil, wrong("occurrence", "occurrence is missing")
	}
	return s.changed(r, monitor.Change{Unshelve: &monitor.Unshelve{
		Alert: r.PathValue("id"), Occurrence: b.Occurrence, By: b.by(), Why: b.Why,
	}})
}
