package web

import (
	"net/http"
	"strings"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A contactLine is one contact in a list. Its live parts carry its id.
type contactLine struct {
	ID, Name, Says, Source, Place string
	Free                          bool // it tells of no place yet
	State                         state
}

func (v *visit) contactLines(keep func(monitor.ContactNow) bool) []contactLine {
	var out []contactLine
	for _, c := range v.snap.Contacts {
		if keep(c) {
			out = append(out, v.contactLine(c))
		}
	}
	return out
}

func (v *visit) contactLine(c monitor.ContactNow) contactLine {
	l := contactLine{
		ID: c.ID, Name: kindOfContact(c.Kind), Source: c.Source, Says: v.contactSaysNow(c),
		Free: c.Place == "", State: v.contactState(c),
	}
	if p := placeOf(v.snap, c.Place); p != nil {
		l.Place = p.Path
		if c.Kind == incubation.Door {
			l.Name = "door of " + p.Name
		}
	}
	return l
}

// contactSaysNow is the state and since when, or that it is not known.
func (v *visit) contactSaysNow(c monitor.ContactNow) string {
	if !c.Sure() {
		said := "not known"
		if c.Fault != "" {
			said += ": " + causeWord(c.Fault)
		}
		if !c.Read.IsZero() {
			said += "; last heard " + v.say.age(c.Read)
		}
		return said
	}
	said := c.State() + " since " + v.say.moment(c.Since)
	if c.Detail != "" {
		said += " · " + c.Detail
	}
	return said
}

// contactState is a contact's colour: that of its worst alert. Without one it
// is green only where its state is the good one.
func (v *visit) contactState(c monitor.ContactNow) state {
	for _, a := range v.snap.Alerts { // worst first
		if a.Told() && a.Subject.Kind == alerts.ContactSubject && a.Subject.ID == c.ID {
			return stateOf(a.Severity)
		}
	}
	switch {
	case !c.Sure():
		return state{"quiet", "not known"}
	case c.On == (c.Kind == incubation.Mains):
		return normal
	}
	return state{"quiet", c.State()}
}

func kindOfContact(k incubation.ContactKind) string {
	if k == incubation.Leak {
		return "leak contact"
	}
	return string(k)
}

func contactForm() form {
	return form{
		Kind: book.KindContact, Title: "Contact put in a place", Verb: "Write it down",
		Hint: "A contact is a yes/no input that the configuration names: mains, a door, water.",
		fields: func(v *visit) []field {
			places := append(options("", nowhere, "nothing: taken out"), v.places(v.asked("place"))...)
			return []field{
				{Name: "contact", Label: "Contact", Type: "select", Options: v.contacts()},
				{
					Name: "place", Label: "Tells of", Type: "select", Options: places,
					Hint: "Mains: of the room, or of one incubator. A door: of its incubator or enclosure. " +
						"Water: of what it lies under.",
				},
			}
		},
		read: func(a *answers) any {
			kind, id, _ := strings.Cut(a.id("contact"), ":")
			d := book.ContactData{Contact: id, Place: a.where("place")}
			if d.Place != "" {
				d.Kind = incubation.ContactKind(kind)
			}
			return d
		},
	}
}

// contacts lists those that tell of no place first.
func (v *visit) contacts() []option {
	var free, placed []option
	for _, c := range v.snap.Contacts {
		// The book keeps the kind too: its answer is both.
		o := option{string(c.Kind) + ":" + c.ID, c.ID + " (" + kindOfContact(c.Kind) + ")", c.ID == v.asked("contact")}
		if in := placeOf(v.snap, c.Place); in != nil {
			o.Text += " · now of " + in.Path
			placed = append(placed, o)
			continue
		}
		free = append(free, o)
	}
	return append(free, placed...)
}

type contactJSON struct {
	ID     string                 `json:"id"`
	Kind   incubation.ContactKind `json:"kind"`
	State  string                 `json:"state"` // "unknown", or a word of its kind
	Since  time.Time              `json:"since,omitzero"`
	Detail string                 `json:"detail,omitempty"`
	Read   time.Time              `json:"read,omitzero"`
	Fault  string                 `json:"fault,omitempty"`
	Stale  bool                   `json:"stale"`
	Place  string                 `json:"place,omitempty"`
	Source string                 `json:"source"`
}

func (s *Server) apiContacts(snap *monitor.Snapshot, _ *http.Request) (any, error) {
	out := []contactJSON{}
	for _, c := range snap.Contacts {
		j := contactJSON{
			ID: c.ID, Kind: c.Kind, State: c.State(), Read: c.Read.UTC(), Fault: string(c.Fault),
			Stale: c.Stale, Place: c.Place, Source: c.Source,
		}
		if c.Sure() {
			j.Since, j.Detail = c.Since.UTC(), c.Detail
		}
		out = append(out, j)
	}
	return out, nil
}
