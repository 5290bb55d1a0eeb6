package monitor

import (
	"fmt"

	"clutchd/incubation"
)

// asked gives a live egg's record as it is now and what is asked of it. It
// holds the tick up for no longer than a copy of the record's list of parts
// takes.
func (m *Monitor) asked(egg string) (*incubation.Track, incubation.Question, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	e := m.book.Eggs[egg]
	switch {
	case e == nil:
		return nil, incubation.Question{}, &Refusal{Field: "egg", Text: fmt.Sprintf("the book has no egg %q", egg)}
	case !e.Live():
		return nil, incubation.Question{}, &Refusal{Field: "egg", Text: fmt.Sprintf("egg %s %s", egg, e.State)}
	case m.eggs.tracks[egg] == nil:
		return nil, incubation.Question{}, &Refusal{Field: "egg", Text: "its record is still being read: ask again in a moment"}
	}
	return m.eggs.tracks[egg].Freeze(), m.question(m.book, e, m.clock.now), nil
}

// Consider gives a live egg's estimate with hold_from_now, and what each of
// the plans would give in place of the one in force. It changes nothing. The
// error is a *Refusal.
func (m *Monitor) Consider(egg string, plans ...[]incubation.Step) (incubation.Answer, error) {
	track, q, err := m.asked(egg)
	if err != nil {
		return incubation.Answer{}, err
	}
	q.Holds = true
	return track.Ask(q, plans...), nil
}

// Propose gives where a live egg could lie from now on for the sex that is
// wanted, among the boxes there are. It changes nothing. The error is a
// *Refusal.
func (m *Monitor) Propose(egg string, want incubation.Wish) (incubation.Proposals, error) {
	if want != incubation.AnySex && want != incubation.WantMale && want != incubation.WantFemale {
		return incubation.Proposals{}, &Refusal{Field: "want", Text: fmt.Sprintf("%.20q is not male, female or any", want)}
	}
	track, q, err := m.asked(egg)
	if err != nil {
		return incubation.Proposals{}, err
	}
	snap := m.Snapshot()
	q.Now = q.Now.In(m.zone)
	c := incubation.Choice{Want: want, Spots: snap.Spots()}
	if e := snap.Book.Eggs[egg]; e != nil {
		c.Home = incubation.At(e.Stays, snap.Time)
	}
	return track.Propose(q, c), nil
}

// Narrowings gives a live egg's estimate without each of the doubts that a
// keeper can do something about. The error is a *Refusal.
func (m *Monitor) Narrowings(egg string) ([]incubation.Narrowing, error) {
	track, q, err := m.asked(egg)
	if err != nil {
		return nil, err
	}
	return track.Narrowings(q), nil
}
