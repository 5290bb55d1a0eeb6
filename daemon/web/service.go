package web

import (
	"fmt"
	"strings"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation/book"
)

// outOfService is the state of a place that someone works on: neither calm
// nor an alarm.
var outOfService = state{"out", "out of service"}

func serviceForm() form {
	return form{
		Kind: book.KindService, Title: "Out of service", Verb: "Write it down",
		Hint: "For cleaning, mending or trying out: a place out of service, what stands in it and its " +
			"probes are not judged until the time that you give, 7 days at most. Then they settle and " +
			"are judged again.",
		fields: serviceFields, read: readService,
	}
}

func serviceFields(v *visit) []field {
	place := v.asked("place")
	if v.r.PostForm.Get("over") == "yes" || v.asked("over") == "yes" {
		if place == "" {
			place = v.r.PostForm.Get("place")
		}
		return []field{
			{
				Name: "place", Type: "hidden", Value: place,
				Label: v.teller().place(place) + " is back in service: it settles for 2 hours, then it is judged",
			},
			{Name: "over", Type: "hidden", Value: "yes"},
		}
	}
	which := v.placeField("Place")
	if p := placeOf(v.snap, place); p != nil {
		which.Hint = stillTold(*p)
	}
	return []field{
		which,
		{
			Name: "until", Label: "Out of service until", Type: "datetime-local",
			Value: v.say.in(v.snap.Time.Add(2 * time.Hour)).Format("2006-01-02T15:04"),
		},
		{Name: "why", Label: "Why", Optional: true},
	}
}

// stillTold says what goes on speaking of a place while live eggs lie in it.
func stillTold(p monitor.PlaceNow) string {
	if len(p.Eggs) == 0 {
		return ""
	}
	lie := fmt.Sprintf("%d live eggs lie in it", len(p.Eggs))
	if len(p.Eggs) == 1 {
		lie = "A live egg lies in it"
	}
	return lie + ": too warm, runaway and deadly heat, and that nobody watches them, are told all the " +
		"same. Cold is not. Better move the eggs first."
}

func readService(a *answers) any {
	d := book.ServiceData{Place: a.id("place"), Why: a.text("why")}
	if d.Back = a.text("over") == "yes"; d.Back {
		return d
	}
	d.Until = a.need("until")
	return d
}

func (t teller) serviceSays(e book.Entry, d book.ServiceData) string {
	if d.Back {
		return because(t.place(d.Place)+" back in service", d.Why)
	}
	return because(t.place(d.Place)+" out of service until "+t.dated(d.Until, e.At), d.Why)
}

// An outLine is a place out of service as a page shows it.
type outLine struct {
	ID, Name, Until, Why string
	Told                 string // what is told of it all the same
	Back                 string // address of the form that has it back
}

// outLines gives the places that were taken out of service, each with what
// stands in it.
func (v *visit) outLines() []outLine {
	var out []outLine
	for _, p := range v.snap.Places {
		if p.Service != nil && p.Service.Of == p.ID {
			out = append(out, v.outLine(p))
		}
	}
	return out
}

func (v *visit) outLine(p monitor.PlaceNow) outLine {
	s := p.Service
	return outLine{
		ID: s.Of, Name: s.Name, Why: s.Why, Until: v.teller().dated(s.Until, v.snap.Time),
		Told: strings.TrimSuffix(stillTold(p), " Better move the eggs first."),
		Back: "/entries/new?kind=service&over=yes&place=" + s.Of + "&back=/places/" + p.ID,
	}
}

type serviceJSON struct {
	Of    string    `json:"of"`
	From  time.Time `json:"from"`
	Until time.Time `json:"until"`
	Why   string    `json:"why,omitempty"`
}

func serviceOf(s *monitor.ServiceNow) *serviceJSON {
	if s == nil {
		return nil
	}
	return &serviceJSON{Of: s.Of, From: s.From.UTC(), Until: s.Until.UTC(), Why: s.Why}
}
