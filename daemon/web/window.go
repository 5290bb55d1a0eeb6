package web

import (
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// cutsIn is how near before the window the egg must have been seen alive for
// the page to say that the window goes by it. Judgement.
const cutsIn = 3 * 24 * time.Hour

// given says what the hatch window of a live egg goes by besides its record;
// "" where that is nothing.
func (v *visit) given(e monitor.EggNow) string {
	egg, h := v.snap.Book.Eggs[e.ID], e.Estimate.Hatch
	if egg == nil || !live(e) {
		return ""
	}
	text := ""
	in := v.snap.Book.Places[e.Box]
	switch {
	case in != nil && in.Kind != incubation.Box:
		text = "It is not in an egg box yet: all this takes it to stay as warm as it lies now."
	case !egg.PippedAt.IsZero():
		text = "Pipped by " + v.say.day(egg.PippedAt) + ": the window counts from there. Let it rest."
	case !egg.AliveAt.IsZero() && h.Earliest.Sub(egg.AliveAt) < cutsIn && !h.Earliest.IsZero():
		text = "It was alive and not hatched on " + v.say.day(egg.AliveAt) + ": the window counts from there."
	}
	if h.Due >= incubation.DueMatters {
		if text != "" {
			text += " "
		}
		// Of the ensemble's members never all that eggs may do.
		text += share(min(h.Due, 0.999)) + " of such eggs have hatched by now."
	}
	return text
}

// overdue says that a live egg is past its window; "" where it is not.
func (v *visit) overdue(e monitor.EggNow) string {
	h := e.Estimate.Hatch
	switch {
	case !live(e):
		return ""
	case h.Overdue:
		return "It is past its window; nobody knows how long a late egg may still take."
	case !h.Latest.IsZero() && v.snap.Time.After(h.Latest):
		return "It was expected by " + v.say.day(h.Latest) + "."
	}
	return ""
}

// lastChange says until when a change of temperature still matters; "" where
// the TSP is over, or it was not asked.
func (w words) lastChange(e *incubation.Estimate) string {
	switch t := e.TSP; {
	case t.State == incubation.TSPClosed || len(e.HoldFromNow) == 0 || t.Opens.IsZero():
		return ""
	case t.LastChange.IsZero():
		return "too late: no temperature from now on moves the odds by ten points"
	default:
		return w.decideBy(t) + "; later a change of temperature may no longer move the odds by ten points"
	}
}

// decideBy is the last day on which a change still counts, or the hour once it
// is near. There is one.
func (w words) decideBy(t incubation.TSP) string {
	zone := w.zone
	if zone == nil {
		zone = time.UTC
	}
	by, hour := t.DecideBy(w.now, zone)
	switch {
	case hour && !by.After(w.now):
		return "now"
	case hour && by.Hour() == 0: // the day that it begins is too late already
		return w.day(by.Add(-time.Hour)) + ", about midnight"
	case hour:
		return w.day(by) + ", about " + w.in(by).Format("15:04")
	}
	return w.day(by)
}
