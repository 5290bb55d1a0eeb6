package book

import "time"

func (d NoteData) shape(time.Time) *Problem {
	if d.Subject != "" {
		if p := CheckID("subject", d.Subject); p != nil {
			return p
		}
	}
	return checkWords("text", d.Text, maxText)
}

func (d NoteData) sense(s *State, _ time.Time) *Problem {
	if d.Subject == "" || s.taken("subject", d.Subject) != nil || s.probeKnown(d.Subject) {
		return nil
	}
	return problem("subject", "the book has nothing called %q at that time", d.Subject)
}

// probeKnown reports whether the probe ever had a place.
func (s *State) probeKnown(id string) bool {
	for _, p := range s.Placements {
		if p.Probe == id {
			return true
		}
	}
	return false
}

func (d NoteData) write(s *State, at time.Time, _ uint64) {
	s.Notes = append(s.Notes, Note{At: at, Subject: d.Subject, Text: d.Text})
}

func (d VoidData) shape(time.Time) *Problem {
	if d.Entry == 0 {
		return problem("entry", "entry is missing: which one is to be taken back?")
	}
	return checkText("why", d.Why, maxText)
}

func (d VoidData) sense(s *State, _ time.Time) *Problem {
	for _, e := range s.Entries {
		if e.Seq == d.Entry {
			return nil
		}
	}
	return problem("entry", "the book has no entry %d", d.Entry)
}

// write does nothing: what is taken back was never taken; see voided.
func (d VoidData) write(*State, time.Time, uint64) {}
