package monitor

import (
	"context"
	"errors"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/learn"
)

// A Lesson is what the estimates of live eggs have learned from the eggs that
// ended in this room, the latest learn.Most clutches of them, and how good the
// estimates of those were. Its zero value is what stands before the first was
// worked out.
type Lesson struct {
	Clutches, Hatches, Sexes int
	// Effective is how many of the members that ship were left, Renewed
	// whether others were drawn near them.
	Effective float64
	Renewed   bool
	Hindsight learn.Hindsight
	// Failed: the last try came to nothing, and the log says why. The rest
	// stands as it was before.
	Failed bool
}

// teach has the room's outcomes learned from again. Caller holds mu.
func (w *eggWatch) teach() {
	w.untaught = true
	select {
	case w.wake <- struct{}{}:
	default:
	}
}

// learnOutcomes makes the ensemble of live eggs one that has seen what ended
// here, if anything of that is new. Ended eggs keep what was said of them by
// the ensemble that ships: it has never seen what they are held against.
func (m *Monitor) learnOutcomes(ctx context.Context) {
	m.mu.Lock()
	ready := m.eggs.untaught && m.clock.trusted && !m.quiet
	var clutches []learn.Clutch
	if ready {
		m.eggs.untaught = false
		clutches = outcomes(m.book, m.eggs.past)
	}
	m.mu.Unlock()
	if !ready {
		return
	}
	class := learn.Class{Base: m.opt.Ensemble, Stop: func() bool {
		return ctx.Err() != nil || m.eggs.gaveWay < gaveWayMost && len(m.eggs.wake) > 0
	}}
	result, err := class.From(clutches)
	if err != nil {
		m.giveUp(err)
		return
	}
	lesson := Lesson{
		Clutches: result.Clutches, Hatches: result.Hatches, Sexes: result.Sexes,
		Effective: result.Effective, Renewed: result.Renewed,
	}
	m.takeLesson(result.Ensemble, lesson)
	if lesson.Hindsight, err = class.LookBack(clutches); err != nil {
		m.giveUp(err)
		return
	}
	m.takeLesson(result.Ensemble, lesson)
	m.eggs.gaveWay = 0
}

// gaveWayMost is how often in a row learning gives way to records that are to
// be read and to outcomes that changed meanwhile: a new egg is not to wait for
// minutes, and a probe that falls silent again and again is not to keep the
// room from ever having learned. Judgement.
const gaveWayMost = 5

// giveUp goes on with what was known before; work that gave way is done again
// behind what it gave way to.
func (m *Monitor) giveUp(err error) {
	if errors.Is(err, learn.ErrStopped) {
		m.eggs.gaveWay++
		m.mu.Lock()
		defer m.mu.Unlock()
		m.eggs.untaught = true
		return
	}
	m.opt.Log.Error("nothing learned from what hatched", "error", err)
	m.mu.Lock()
	defer m.mu.Unlock()
	m.eggs.settled, m.eggs.lesson.Failed = true, true
}

// takeLesson puts an ensemble in force for every live egg.
func (m *Monitor) takeLesson(e *incubation.Ensemble, l Lesson) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.eggs.settled, m.eggs.lesson = true, l
	if m.eggs.ensemble == e {
		return
	}
	m.eggs.ensemble = e
	for id, track := range m.eggs.tracks {
		m.eggs.tracks[id] = track.Under(e)
		m.eggs.fallDue(m.book.Eggs[id].Clutch)
	}
}

// inForce is the ensemble that live eggs are estimated under.
func (m *Monitor) inForce() *incubation.Ensemble {
	if m.eggs.ensemble != nil {
		return m.eggs.ensemble
	}
	return m.opt.Ensemble
}

// outcomes is what became of the clutches of which an egg has ended, with the
// records there are.
func outcomes(b *book.State, past map[string]*incubation.Track) []learn.Clutch {
	var out []learn.Clutch
	for id, c := range b.Clutches {
		clutch := learn.Clutch{ID: id}
		place := map[string]int{}
		for _, egg := range c.Eggs {
			if egg.Live() || past[egg.ID] == nil {
				continue
			}
			place[egg.ID] = len(clutch.Eggs)
			clutch.Eggs = append(clutch.Eggs, outcome(egg, past[egg.ID]))
		}
		if len(clutch.Eggs) == 0 {
			continue
		}
		if mixed := c.Mixed; mixed.Sexed.How.Seen() {
			clutch.Mixed = learn.Mixed{
				Males: mixed.Males, Females: mixed.Females, Wrong: wrong(mixed.Sexed.How),
			}
			for _, egg := range c.NotSexed() {
				if k, known := place[egg.ID]; known {
					// What was seen of it at hatching is of the same animals.
					clutch.Eggs[k].Sex = ""
					clutch.Mixed.Of = append(clutch.Mixed.Of, k)
				}
			}
		}
		out = append(out, clutch)
	}
	return out
}

func outcome(egg *incubation.Egg, track *incubation.Track) learn.Outcome {
	o := learn.Outcome{Egg: egg.ID, Track: track, After: egg.AliveAt}
	if egg.State == incubation.Hatched {
		o.By = egg.Ended
	}
	if egg.Sexed.How.Seen() {
		o.Sex, o.Wrong = egg.Sex, wrong(egg.Sexed.How)
	}
	return o
}

// wrong is how often a sex that was told so is another.
func wrong(how incubation.SexedHow) float64 {
	if how == incubation.AtHatch {
		return learn.WrongAtHatch
	}
	return learn.WrongByAnatomy
}

// taught reports whether the book says otherwise of what became of an egg.
func taught(before, after *book.State, old, egg *incubation.Egg) bool {
	a, b := before.Clutches[old.Clutch], after.Clutches[egg.Clutch]
	return old.State != egg.State || !old.Ended.Equal(egg.Ended) || !old.AliveAt.Equal(egg.AliveAt) ||
		old.Sex != egg.Sex || old.Sexed != egg.Sexed || a != nil && b != nil && a.Mixed != b.Mixed
}
