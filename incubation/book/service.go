package book

import (
	"time"

	"clutchd/incubation"
)

// A Service is a stretch in which a place is out of service: it is being
// cleaned, mended or tried out, and is not judged.
type Service struct {
	From, Until time.Time // Until is not in it; equal to From: back in service
	Why         string    // may be empty
}

func (d ServiceData) shape(at time.Time) *Problem {
	p := first(CheckID("place", d.Place), checkText("why", d.Why, maxCause))
	switch {
	case p != nil:
		return p
	case d.Back && !d.Until.IsZero():
		return problem("until", "what is back in service is so without an end")
	case d.Back:
		return nil
	}
	return first(checkTime("until", d.Until), lasts("until", at, d.Until))
}

func (d ServiceData) sense(s *State, at time.Time) *Problem {
	place, p := s.usable("place", d.Place)
	if p != nil || !d.Back {
		return p
	}
	if _, out := s.serviceOf(d.Place, at); !out {
		return problem("place", "%s is not out of service then", place.Name)
	}
	return nil
}

// write notes the stretch; it takes the place of one that is not over yet.
func (d ServiceData) write(s *State, at time.Time, _ uint64) {
	until := d.Until.UTC()
	if d.Back {
		until = at
	}
	s.Services[d.Place] = append(s.Services[d.Place], Service{From: at, Until: until, Why: d.Why})
}

// serviceOf gives the latest stretch of the place itself that began by t, and
// whether that goes on at t.
func (s *State) serviceOf(place string, t time.Time) (Service, bool) {
	var latest Service
	for _, v := range s.Services[place] {
		if !v.From.After(t) {
			latest = v
		}
	}
	return latest, t.Before(latest.Until)
}

// ServiceAt gives the stretch in which a place is out of service at t, and
// which place was taken out: itself, or what it stood in. A room does not
// take along what stands in it. of is "" if the place is in service; the
// stretch is then the latest that is over, the zero one if there was none.
func (s *State) ServiceAt(place string, t time.Time) (v Service, of string) {
	var over Service
	for i, p := range s.chain(place, t) {
		if i > 0 && p.Kind == incubation.Room {
			break
		}
		latest, out := s.serviceOf(p.ID, t)
		if out {
			return latest, p.ID
		}
		if latest.Until.After(over.Until) {
			over = latest
		}
	}
	return over, ""
}
