package alerts

import (
	"cmp"
	"slices"
)

// shed makes room when more notices wait than MaxWaiting. What it drops was
// on its way to a destination that has been dead for long; it is counted and
// logged, never silently gone.
func (o *Outbox) shed() {
	over := len(o.queue) - MaxWaiting
	if over <= 0 {
		return
	}
	drop := map[uint64]bool{}
	for _, w := range o.cheapest(over) {
		drop[w.ID] = true
		for _, l := range o.lanes {
			l.forget(w.ID)
		}
		o.dropped++
		if over == 1 {
			o.log.Error("outbox is full, notice dropped", "notice", w.ID, "alert", w.Alert,
				"occurrence", w.Occurrence, "reason", w.Reason, "dropped", o.dropped)
		}
	}
	if over > 1 {
		o.log.Error("outbox is full, notices dropped", "count", over, "dropped", o.dropped)
	}
	o.queue = slices.DeleteFunc(o.queue, func(w queued) bool { return drop[w.ID] })
}

// cheapest gives the n notices that are worth least and, among equals, the
// newest, so that the oldest is dropped last.
func (o *Outbox) cheapest(n int) []queued {
	present := map[string]string{} // by alert: its newest occurrence
	for _, w := range o.queue {
		present[w.Alert] = w.Occurrence
	}
	sorted := slices.SortedFunc(slices.Values(o.queue), func(a, b queued) int {
		return cmp.Or(
			cmp.Compare(worth(a.Notice, present[a.Alert]), worth(b.Notice, present[b.Alert])),
			cmp.Compare(b.ID, a.ID))
	})
	return sorted[:n]
}

// worth orders notices by what their loss would cost: first go reminders, which
// change nothing, then those that neither begin nor end an alert, then those of occurrences that a newer one
// has replaced, last the beginning and end of the present ones; within each
// of these the milder alert first.
func worth(n Notice, present string) int {
	v := n.Severity.rank()
	switch {
	case n.Reason == ReasonReminded:
		return v - 10
	case n.Reason != ReasonRaised && n.Reason != ReasonCleared:
		return v
	case n.Occurrence != present:
		return v + 10
	}
	return v + 20
}
