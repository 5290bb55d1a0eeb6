package alerts

import "slices"

// An occasion is one occurrence of one alert.
type occasion struct{ alert, occurrence string }

func (s State) occasion() occasion { return occasion{s.Alert, s.Occurrence} }

// coalesce takes the waiting reminders away that something newer of their
// occurrence waits behind. On the disk they stay until every cursor has passed
// them, and are taken away again by the next NewOutbox.
func (o *Outbox) coalesce() {
	newest := map[occasion]uint64{}
	for _, w := range o.queue {
		newest[w.occasion()] = w.ID
		o.reminded[w.occasion()] = w.Reason == ReasonReminded
	}
	o.drop(func(w queued) bool {
		return w.Reason == ReasonReminded && w.ID < newest[w.occasion()]
	})
}

// superseded does the same for one notice that was just put into the queue, and
// reports whether it was itself such a reminder: it came late.
func (o *Outbox) superseded(n Notice) bool {
	what, reminder := n.occasion(), n.Reason == ReasonReminded
	late := reminder && o.queue[len(o.queue)-1].ID > n.ID
	if !o.reminded[what] && !late {
		if reminder {
			o.reminded[what] = true
		}
		return false
	}
	newest := n.ID
	for _, w := range o.queue {
		if w.occasion() == what {
			newest = max(newest, w.ID)
		}
	}
	o.drop(func(w queued) bool {
		return w.Reason == ReasonReminded && w.ID < newest && w.occasion() == what
	})
	if !reminder && newest == n.ID {
		delete(o.reminded, what)
	}
	_, waits := o.find(n.ID)
	return !waits
}

// drop takes notices out of the queue, for every destination.
func (o *Outbox) drop(which func(queued) bool) {
	o.queue = slices.DeleteFunc(o.queue, func(w queued) bool {
		gone := which(w)
		for _, l := range o.lanes {
			if gone {
				l.forget(w.ID)
			}
		}
		return gone
	})
}
