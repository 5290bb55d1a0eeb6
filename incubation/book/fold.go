package book

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"clutchd/incubation"
)

// Fold builds the state that the entries tell. They may come in any order: an
// entry lands at its own time, so the state is the same whichever arrived
// first. A request or sequence that comes twice counts once. An entry that
// makes no sense where it lands, because another was taken back or because
// it is damaged, is skipped and listed in Problems; Fold never fails.
func Fold(entries []Entry) *State {
	s, _ := fold(entries)
	return s
}

// fold also gives the problem of each skipped entry, by its sequence.
func fold(entries []Entry) (*State, map[uint64]*Problem) {
	s, problems := empty(), map[uint64]*Problem{}
	s.Entries = ordered(entries)
	s.Voided = voided(s.Entries)
	for _, e := range s.Entries {
		s.LastSeq = max(s.LastSeq, e.Seq)
		if s.Voided[e.Seq] {
			continue
		}
		if p := s.take(e); p != nil {
			problems[e.Seq] = p
			s.Skipped = append(s.Skipped, e.Seq)
			s.Problems = append(s.Problems, sentence(e, p))
		}
	}
	return s, problems
}

// With gives the state that the entry leads to; s is not changed. It folds
// the whole book again: the entry may be about last week.
func (s *State) With(e Entry) *State {
	after, _ := s.with(e)
	return after
}

func (s *State) with(e Entry) (*State, map[uint64]*Problem) {
	if e.Seq == 0 {
		e.Seq = s.LastSeq + 1
	}
	return fold(append(slices.Clip(s.Entries), e))
}

func empty() *State {
	return &State{
		Places:       map[string]*incubation.Place{},
		Gone:         map[string]bool{},
		Setpoints:    map[string][]Setpoint{},
		Calibrations: map[string]incubation.Calibration{},
		Plans:        map[string][]PlanStep{},
		Limits:       map[string]LimitsData{},
		Services:     map[string][]Service{},
		Animals:      map[string]*incubation.Animal{},
		Clutches:     map[string]*incubation.Clutch{},
		Eggs:         map[string]*incubation.Egg{},
		Placed:       map[string]time.Time{},
		Voided:       map[uint64]bool{},
	}
}

// take makes one entry true, or says why it cannot be.
func (s *State) take(e Entry) *Problem {
	l, p := shaped(e)
	if p != nil {
		return p
	}
	at := e.At.UTC()
	if p := l.sense(s, at); p != nil {
		return p
	}
	l.write(s, at, e.Seq)
	return nil
}

// sentence says for the keeper which entry does not count, and why.
func sentence(e Entry, p *Problem) string {
	return fmt.Sprintf("entry %d (%.40s, %s) does not count: %s",
		e.Seq, e.Kind, e.At.UTC().Format(shown), p.Text)
}

// ordered gives the entries by event time and sequence, each once. What is
// left to tell them apart is compared too, so that the order is the same
// whatever order they came in.
func ordered(entries []Entry) []Entry {
	out := slices.Clone(entries)
	slices.SortFunc(out, func(a, b Entry) int {
		return cmp.Or(cmp.Compare(age(a), age(b)), a.At.Compare(b.At), beyond(a, b))
	})
	out = once(out)
	slices.SortStableFunc(out, func(a, b Entry) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(age(a), age(b)))
	})
	return out
}

// shown is how a sentence writes a time.
const shown = "2006-01-02 15:04 UTC"

// beyond orders entries that agree in time and sequence.
func beyond(a, b Entry) int {
	return cmp.Or(strings.Compare(a.Request, b.Request),
		strings.Compare(string(a.Kind), string(b.Kind)),
		bytes.Compare(a.Data, b.Data), a.Made.Compare(b.Made),
		strings.Compare(a.Zone, b.Zone), strings.Compare(a.By, b.By))
}

// age is the sequence as an age: an entry not yet entered is the newest.
func age(e Entry) uint64 {
	if e.Seq == 0 {
		return math.MaxUint64
	}
	return e.Seq
}

// once drops repeated sequences and requests; the first of each stays.
func once(entries []Entry) []Entry {
	seqs := make(map[uint64]bool, len(entries))
	requests := make(map[string]bool, len(entries))
	return slices.DeleteFunc(entries, func(e Entry) bool {
		if e.Seq != 0 && seqs[e.Seq] || e.Request != "" && requests[e.Request] {
			return true
		}
		seqs[e.Seq], requests[e.Request] = true, true
		return false
	})
}

// voided gives the sequences that were taken back or replaced. An entry
// reaches only what was entered before it, and may itself be taken back: so
// newest first.
func voided(entries []Entry) map[uint64]bool {
	var voids []Entry
	for _, e := range entries {
		if e.Kind == KindVoid || e.Replaces != 0 {
			voids = append(voids, e)
		}
	}
	slices.SortFunc(voids, func(a, b Entry) int { return cmp.Compare(age(b), age(a)) })
	gone := map[uint64]bool{}
	for _, e := range voids {
		if gone[e.Seq] {
			continue
		}
		for _, old := range undoes(e) {
			if old < age(e) {
				gone[old] = true
			}
		}
	}
	return gone
}

// undoes gives the entries that an entry makes no longer count.
func undoes(e Entry) []uint64 {
	var out []uint64
	l, p := shaped(e)
	if p != nil {
		return nil
	}
	if e.Replaces != 0 {
		out = append(out, e.Replaces)
	}
	if v, ok := l.(VoidData); ok {
		out = append(out, v.Entry)
	}
	return out
}
