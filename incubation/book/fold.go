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
	all := ordered(entries)
	s, _ := fold(all, shapedAll(all))
	return s
}

// A read is an entry's data, decoded and looked at alone: the dear part of a
// fold, and the same in each.
type read struct {
	line    line
	problem *Problem
}

func shapedAll(entries []Entry) []read {
	out := make([]read, len(entries))
	for i, e := range entries {
		out[i].line, out[i].problem = shaped(e)
	}
	return out
}

// fold folds entries in order, each with its data; it also gives the problem
// of each skipped entry, by its sequence.
func fold(entries []Entry, lines []read) (*State, map[uint64]*Problem) {
	s, problems := empty(), map[uint64]*Problem{}
	s.Entries, s.lines = entries, lines
	s.Voided = voided(entries, lines)
	for i, e := range entries {
		s.LastSeq = max(s.LastSeq, e.Seq)
		if s.Voided[e.Seq] {
			continue
		}
		if p := s.take(e, lines[i]); p != nil {
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
	for _, old := range s.Entries {
		if old.Seq == e.Seq || e.Request != "" && old.Request == e.Request {
			return fold(s.Entries, s.lines) // it is in the book already
		}
	}
	var r read
	r.line, r.problem = shaped(e)
	i, _ := slices.BinarySearchFunc(s.Entries, e, landsBefore)
	return fold(slices.Insert(slices.Clip(s.Entries), i, e), slices.Insert(slices.Clip(s.lines), i, r))
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
func (s *State) take(e Entry, r read) *Problem {
	if r.problem != nil {
		return r.problem
	}
	at := e.At.UTC()
	if p := r.line.sense(s, at); p != nil {
		return p
	}
	r.line.write(s, at, e.Seq)
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
	slices.SortStableFunc(out, landsBefore)
	return out
}

// landsBefore orders entries by when they happened, then as they were entered.
func landsBefore(a, b Entry) int {
	return cmp.Or(a.At.Compare(b.At), cmp.Compare(age(a), age(b)))
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
func voided(entries []Entry, lines []read) map[uint64]bool {
	var voids []int
	for i, e := range entries {
		if (e.Kind == KindVoid || e.Replaces != 0) && lines[i].problem == nil {
			voids = append(voids, i)
		}
	}
	slices.SortFunc(voids, func(a, b int) int { return cmp.Compare(age(entries[b]), age(entries[a])) })
	gone := map[uint64]bool{}
	for _, i := range voids {
		e := entries[i]
		if gone[e.Seq] {
			continue
		}
		if v, ok := lines[i].line.(VoidData); ok && v.Entry < age(e) {
			gone[v.Entry] = true
		}
		if e.Replaces != 0 && e.Replaces < age(e) {
			gone[e.Replaces] = true
		}
	}
	return gone
}
