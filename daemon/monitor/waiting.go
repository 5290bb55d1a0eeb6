package monitor

import (
	"maps"
	"slices"
	"time"

	"clutchd/alerts"
	"clutchd/incubation/book"
)

// waiting is what of the book and the alerts is true already and not yet on
// the disk.
type waiting struct {
	entries  []book.Entry
	states   map[string]alerts.State // by alert
	forget   map[string]bool         // alerts
	past     map[string]alerts.State // by occurrence
	notices  []alerts.Notice
	dropPast time.Time
}

func newWaiting() *waiting {
	return &waiting{
		states: map[string]alerts.State{}, forget: map[string]bool{}, past: map[string]alerts.State{},
	}
}

// add notes what came later: of an alert and an occurrence the newest counts.
func (w *waiting) add(entries []book.Entry, c alerts.Changes) {
	w.entries = append(w.entries, entries...)
	for _, s := range c.States {
		w.states[s.Alert] = s
		delete(w.forget, s.Alert)
	}
	for _, id := range c.Forget {
		w.forget[id] = true
		delete(w.states, id)
	}
	for _, s := range c.Past {
		w.past[s.Occurrence] = s
	}
	w.notices = append(w.notices, c.Notices...)
	w.dropPast = later(w.dropPast, c.DropPast)
}

// changes gives what waits of the alerts.
func (w *waiting) changes() alerts.Changes {
	return alerts.Changes{
		States: slices.Collect(maps.Values(w.states)), Forget: slices.Collect(maps.Keys(w.forget)),
		Past: slices.Collect(maps.Values(w.past)), Notices: w.notices, DropPast: w.dropPast,
	}
}

func (w *waiting) none() bool { return len(w.entries) == 0 && w.changes().None() }
