package book

import (
	"slices"
	"time"
)

// maxAhead is how far after it was written down an entry may happen: a zone's
// worth of slip, not a plan.
const maxAhead = 24 * time.Hour

// Check says whether the entry would make sense in the book that s was folded
// from, at the time the entry is about. Its error is a *Problem. An entry
// that would rob a later one of its sense is refused too, unless it is a
// void: taking back is how a mistake is mended. It folds the book once.
func Check(s *State, e Entry) error {
	l, p := shaped(e)
	if p != nil {
		return p
	}
	if e.Seq == 0 {
		e.Seq = s.LastSeq + 1
	}
	if p := first(fresh(s, e), alreadyVoid(s, l), replaceable(s, e)); p != nil {
		return p
	}
	if p := landing(s, e); p != nil {
		return p
	}
	return nil
}

// shaped decodes the entry and looks at it alone.
func shaped(e Entry) (line, *Problem) {
	if len(e.Data) > maxData {
		return nil, problem("data", "the entry is larger than %d bytes", maxData)
	}
	l, err := parse(e)
	if err != nil {
		return nil, problem("data", "%v", err)
	}
	p := first(checkTime("at", e.At), ahead(e), checkZone(e.Zone),
		checkText("by", e.By, maxName), checkText("request", e.Request, maxName))
	if p == nil {
		p = l.shape(e.At.UTC())
	}
	return l, p
}

func ahead(e Entry) *Problem {
	if e.Made.IsZero() || !e.At.After(e.Made.Add(maxAhead)) {
		return nil
	}
	return problem("at", "%s has not come yet", e.At.UTC().Format(shown))
}

// checkZone looks at the letters of an IANA name only: whether this machine
// knows the zone is not the book's business. Empty: UTC.
func checkZone(zone string) *Problem {
	if len(zone) > maxID {
		return problem("zone", "zone is longer than %d characters", maxID)
	}
	for _, r := range zone {
		ok := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' ||
			r == '/' || r == '_' || r == '-' || r == '+'
		if !ok {
			return problem("zone", "zone %q is not the name of a time zone", zone)
		}
	}
	return nil
}

// fresh refuses what the book already holds.
func fresh(s *State, e Entry) *Problem {
	for _, old := range s.Entries {
		if old.Seq == e.Seq {
			return problem("seq", "entry %d is in the book already", e.Seq)
		}
		if e.Request != "" && old.Request == e.Request {
			return problem("request", "this was entered already, as entry %d", old.Seq)
		}
	}
	return nil
}

func alreadyVoid(s *State, l line) *Problem {
	v, ok := l.(VoidData)
	if !ok {
		return nil
	}
	if s.Voided[v.Entry] {
		return problem("entry", "entry %d was taken back already", v.Entry)
	}
	for _, e := range s.Entries {
		if e.Seq == v.Entry && OfAlert(e.Kind) {
			return problem("entry", "entry %d tells what was done about an alert: that cannot be "+
				"undone here", v.Entry)
		}
	}
	return nil
}

// replaceable refuses to correct what is not there, no longer counts or is of
// another kind.
func replaceable(s *State, e Entry) *Problem {
	if e.Replaces == 0 {
		return nil
	}
	i := slices.IndexFunc(s.Entries, func(o Entry) bool { return o.Seq == e.Replaces })
	switch {
	case i < 0:
		return problem("replaces", "the book has no entry %d", e.Replaces)
	case s.Voided[e.Replaces]:
		return problem("replaces", "entry %d was taken back or corrected already", e.Replaces)
	case s.Entries[i].Kind != e.Kind:
		return problem("replaces", "entry %d is of another kind: %.40s", e.Replaces, s.Entries[i].Kind)
	case OfAlert(e.Kind) || e.Kind == KindVoid:
		return problem("replaces", "an entry of this kind cannot be corrected")
	}
	return nil
}

// landing folds the book with the entry and looks for what no longer counts.
func landing(s *State, e Entry) *Problem {
	after, problems := s.with(e)
	if p := problems[e.Seq]; p != nil || e.Kind == KindVoid {
		return p
	}
	for i, seq := range after.Skipped {
		if !slices.Contains(s.Skipped, seq) {
			return problem("at", "it would contradict a later entry: %s", after.Problems[i])
		}
	}
	return nil
}
