package season

import (
	"fmt"
	"time"

	"clutchd/incubation"
)

// worthLooking is the least chance of a clutch that sends the keeper to the
// lay box. Judgement.
const worthLooking = 0.3

// lostFresh is how long eggs that vanished are looked for. Judgement.
const lostFresh = 14 * 24 * time.Hour

// dueLaying sends the keeper to a lay box: daily while white eggs show or the
// window of the next clutch runs, and where eggs must have been laid that are
// not in the book. A window that begins this week is told ahead.
func (h *Herd) dueLaying(c *course, next *Expected) (Item, bool) {
	i := h.of(LayBox, c)
	if box := h.layBox[i.Place]; box != "" && i.Place != "" {
		i.Place = box
	}
	name := h.state.Name(c.animal.ID)
	i.Do = "Look into " + name + "'s lay box"
	today := h.date(h.now).Format(time.DateOnly)
	looked := h.lookedToday(c)
	switch {
	case h.missing(c, &i):
		return i, true
	case c.phase.stage == incubation.Gravid:
		i.Key = key(LayBox, c.animal.ID, today)
		i.Why = fmt.Sprintf("White eggs since %s: laying is near.%s", h.day(c.phase.gravid), h.window(next))
		i.Rests = []string{GravidToLaying}
		if looked {
			h.tomorrow(&i, c)
		}
		return i, true
	case next == nil || next.Past || next.Comes < worthLooking || h.apart(h.now, next.From) > week:
		return i, false
	case h.apart(h.now, next.From) > 0:
		i.Kind, i.From, i.By = Clutch, next.From, next.By
		i.Key = key(Clutch, c.animal.ID, fmt.Sprintf("%s-%d", h.season.Name, c.laidIn(h.season)+1))
		i.Do = "Have " + name + "'s lay box ready and moist"
		i.Why = fmt.Sprintf("A clutch is expected %s: %s.", h.between(next.From, next.By), next.Rests)
		return i, true
	}
	i.Key = key(LayBox, c.animal.ID, today)
	i.Why = fmt.Sprintf("A clutch is expected %s: %s.", h.between(next.From, next.By), next.Rests)
	if looked {
		h.tomorrow(&i, c)
	}
	return i, true
}

// missing looks for eggs that must be somewhere: white ones that no longer
// show, or a check that says "laid", and no clutch in the book.
func (h *Herd) missing(c *course, i *Item) bool {
	lost, name := c.phase.lost, h.state.Name(c.animal.ID)
	switch n := len(c.laid); {
	case lost != nil && h.now.Sub(lost.At) < lostFresh:
		i.Key = key(LayBox, c.animal.ID, lost.Seq)
		i.By = lost.At.Add(days(1))
		i.Why = fmt.Sprintf("White eggs were seen before and none %s, and no laying is in the book: look through "+
			"%s's enclosure.", h.on(lost.At), name)
		return true
	case n > 0 && c.laid[n-1].clutch == "" && h.now.Sub(c.laid[n-1].at) < lostFresh:
		at := c.laid[n-1].at
		i.Key = key(LayBox, c.animal.ID, h.date(at).Format(time.DateOnly)+"-laid")
		i.By = at.Add(days(1))
		i.Why = fmt.Sprintf("%s had laid %s, and no clutch is in the book: find the eggs, or write the clutch "+
			"down.", name, h.on(at))
		return true
	}
	return false
}

// window says when a laying is expected, in a sentence.
func (h *Herd) window(next *Expected) string {
	if next == nil || next.Past {
		return ""
	}
	return fmt.Sprintf(" Expected %s.", h.between(next.From, next.By))
}

// lookedToday reports whether she was looked at today.
func (h *Herd) lookedToday(c *course) bool {
	last := c.last()
	return last != nil && h.apart(last.At, h.now) == 0
}

// tomorrow puts off a daily look that was done today.
func (h *Herd) tomorrow(i *Item, c *course) {
	next := h.date(h.now).AddDate(0, 0, 1)
	i.From = h.midnight(h.now).Add(36 * time.Hour) // some time tomorrow, whatever the clocks do
	i.By = i.From
	i.Key = key(LayBox, c.animal.ID, next.Format(time.DateOnly))
}
