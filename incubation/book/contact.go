package book

import (
	"slices"
	"time"

	"clutchd/incubation"
)

// ContactData says which place a contact tells of.
type ContactData struct {
	Contact string                 `json:"contact"`
	Kind    incubation.ContactKind `json:"kind,omitempty"`
	Place   string                 `json:"place"` // "": of none any more
}

func (d ContactData) shape(time.Time) *Problem {
	p := CheckID("contact", d.Contact)
	if p == nil && d.Place != "" {
		p = CheckID("place", d.Place)
	}
	if p == nil && d.Place != "" && !slices.Contains(incubation.ContactKinds(), d.Kind) {
		p = problem("kind", "%.40q is no kind of contact: it is mains, door or leak", string(d.Kind))
	}
	return p
}

func (d ContactData) sense(s *State, at time.Time) *Problem {
	if d.Place == "" {
		for _, c := range s.Contacts {
			if c.Contact == d.Contact && c.Stay.Covers(at) {
				return nil
			}
		}
		return problem("contact", "contact %s tells of no place", d.Contact)
	}
	place, p := s.usable("place", d.Place)
	if p != nil {
		return p
	}
	fits := map[incubation.ContactKind][]incubation.PlaceKind{
		incubation.Mains: {incubation.Room, incubation.Incubator},
		incubation.Door:  {incubation.Room, incubation.Incubator, incubation.Enclosure},
	}[d.Kind]
	if fits != nil && !slices.Contains(fits, place.Kind) {
		return problem("place", "%s is %s: it has no %s of its own", place.Name, kindWords[place.Kind], d.Kind)
	}
	return nil
}

func (d ContactData) write(s *State, at time.Time, _ uint64) {
	s.disconnect(func(c incubation.ContactStay) bool { return c.Contact == d.Contact }, at)
	if d.Place == "" {
		return
	}
	s.Contacts = append(s.Contacts, incubation.ContactStay{
		Contact: d.Contact, Kind: d.Kind, Stay: incubation.Stay{Place: d.Place, From: at},
	})
}

// disconnect ends the open stays of contacts that match; one without length
// is dropped.
func (s *State) disconnect(match func(incubation.ContactStay) bool, at time.Time) {
	kept := s.Contacts[:0]
	for _, c := range s.Contacts {
		if match(c) && c.Stay.To.IsZero() {
			if !c.Stay.From.Before(at) {
				continue
			}
			c.Stay.To = at
		}
		kept = append(kept, c)
	}
	s.Contacts = kept
}

// ContactAt gives the place that a contact told of at t; false: of none.
func (s *State) ContactAt(contact string, t time.Time) (incubation.ContactStay, bool) {
	for _, c := range slices.Backward(s.Contacts) {
		if c.Contact == contact && c.Stay.Covers(t) {
			return c, true
		}
	}
	return incubation.ContactStay{}, false
}

// Around gives a place and what it stood in at t, from the inside out; empty
// for a place that is not in the book.
func (s *State) Around(place string, t time.Time) []*incubation.Place { return s.chain(place, t) }
