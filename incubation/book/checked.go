package book

import (
	"slices"
	"time"

	"clutchd/incubation"
)

// CheckedData is a look at a female's belly.
type CheckedData struct {
	Animal string            `json:"animal"`
	Stage  incubation.Stage  `json:"stage"`
	Sides  string            `json:"sides,omitempty"` // of follicles: "none", "one", "both"
	Size   string            `json:"size,omitempty"`  // of follicles: "small", "large"
	Signs  []incubation.Sign `json:"signs,omitempty"`
	Note   string            `json:"note,omitempty"`
}

func (d CheckedData) shape(time.Time) *Problem {
	p := first(CheckID("animal", d.Animal),
		oneOf("stage", string(d.Stage), string(incubation.Quiet), string(incubation.Follicular),
			string(incubation.Shelling), string(incubation.Gravid), string(incubation.Laid),
			string(incubation.Resorbed), string(incubation.Unsure)),
		oneOf("sides", d.Sides, "", incubation.NoSide, incubation.OneSide, incubation.BothSide),
		oneOf("size", d.Size, "", incubation.Small, incubation.Large), checkText("note", d.Note, maxText))
	if p == nil && d.Stage != incubation.Follicular && d.Size != "" {
		p = problem("size", "a size is noted of follicles")
	}
	for i, sign := range d.Signs {
		if p == nil {
			p = oneOf("signs", string(sign), string(incubation.Straining), string(incubation.Weak),
				string(incubation.Thin), string(incubation.RedBelly), string(incubation.Digging),
				string(incubation.NotEating))
		}
		if p == nil && slices.Contains(d.Signs[:i], sign) {
			p = problem("signs", "%s is noted twice", sign)
		}
	}
	return p
}

func (d CheckedData) sense(s *State, _ time.Time) *Problem {
	_, p := s.female("animal", d.Animal)
	return p
}

func (d CheckedData) write(s *State, at time.Time, seq uint64) {
	a := s.Animals[d.Animal]
	a.Checks = append(a.Checks, incubation.Check{
		At: at, Seq: seq, Stage: d.Stage, Sides: d.Sides, Size: d.Size, Signs: d.Signs, Note: d.Note,
	})
}

// PairedData is a female and a male brought together.
type PairedData struct {
	Female  string               `json:"female"`
	Male    string               `json:"male"`
	Outcome incubation.Reception `json:"outcome"`
	Until   time.Time            `json:"until,omitzero"` // taken apart; zero: the same day
	Note    string               `json:"note,omitempty"`
}

// maxTogether is longer than a supervised pairing lasts; more is a slip.
// Judgement.
const maxTogether = 60 * 24 * time.Hour

func (d PairedData) shape(at time.Time) *Problem {
	p := first(CheckID("female", d.Female), CheckID("male", d.Male),
		oneOf("outcome", string(d.Outcome), string(incubation.Accepted), string(incubation.Refused),
			string(incubation.Unseen)), checkText("note", d.Note, maxText))
	switch {
	case p != nil:
		return p
	case d.Female == d.Male:
		return problem("male", "a pairing takes two animals")
	case !d.Until.IsZero() && d.Until.Before(at):
		return problem("until", "they were taken apart before they were brought together")
	case d.Until.Sub(at) > maxTogether:
		return problem("until", "together for more than %d days", maxTogether/(24*time.Hour))
	}
	return nil
}

func (d PairedData) sense(s *State, _ time.Time) *Problem {
	if _, p := s.female("female", d.Female); p != nil {
		return p
	}
	a, p := s.here("male", d.Male)
	if p == nil && a.Sex == incubation.Female {
		p = problem("male", "%s is a female", s.Name(d.Male))
	}
	return p
}

func (d PairedData) write(s *State, at time.Time, seq uint64) {
	p := incubation.Pairing{
		At: at, Seq: seq, Female: d.Female, Male: d.Male,
		Outcome: d.Outcome, Note: d.Note,
	}
	if !d.Until.IsZero() {
		p.Until = d.Until.UTC()
	}
	s.Pairings = append(s.Pairings, p)
}
