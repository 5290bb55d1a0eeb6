package season

import (
	"time"

	"clutchd/incubation/book"
)

// A Herd is a book's animals and eggs as they are looked at once.
type Herd struct {
	state *book.State
	now   time.Time
	o     Options
}

// Look reads what the book tells at a time. It keeps the state and changes
// nothing in it.
func Look(s *book.State, now time.Time, o Options) *Herd {
	return &Herd{state: s, now: now.UTC(), o: o}
}

// Due gives what is due today and this week.
func (h *Herd) Due() []Item { return nil }

// Rhythm gives a female's; of one that the book does not know what any female
// starts with.
func (h *Herd) Rhythm(female string) Rhythm { return Rhythm{Female: female} }

// Pairable says whether a female and a male may be brought together now.
func (h *Herd) Pairable(female, male string) Verdict { return Verdict{Female: female, Male: male} }

// Males judges every male for a female, the best first.
func (h *Herd) Males(female string) []Verdict { return nil }

// Kin gives how two animals are related.
func (h *Herd) Kin(a, b string) Kinship { return Kinship{A: a, B: b} }

// Sires gives who may be the sire of a clutch.
func (h *Herd) Sires(clutch string) Parentage { return Parentage{Clutch: clutch} }

// Fertility counts eggs and what became of them.
func (h *Herd) Fertility() Fertility { return Fertility{} }

// Ahead throws the dice for the weeks to come.
func (h *Herd) Ahead(s Span) Forecast { return Forecast{} }
