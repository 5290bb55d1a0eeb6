package web

import (
	"fmt"
	"math"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// An ending is what became of an egg, beside what the estimate made of it.
type ending struct {
	Says string // hatched or lost, when, on which day, why
	Seen string // the hatchling's sex as seen on it; "": it was not
	Sex  string // what is known of the sex, a sentence; "" of a lost egg
	Ask  string // that it is time to look at the sex; "": it is not
	Came string // the hatch against its window
	Lost bool
	Told bool // the sex was looked at at an age at which it shows
}

// ending tells how an egg ended; nil while it lives.
func (v *visit) ending(c monitor.ClutchNow, e monitor.EggNow) *ending {
	egg := v.snap.Book.Eggs[e.ID]
	if egg == nil || live(e) || egg.Ended.IsZero() {
		return nil
	}
	when := " " + v.say.day(egg.Ended) + ", " + dayOf(c.Laid, egg.Ended)
	if e.State == incubation.Failed {
		return &ending{Says: because("lost"+when, egg.Cause), Lost: true}
	}
	out := &ending{
		Says: "hatched" + when, Sex: v.sexOf(egg), Told: egg.Sexed.How == incubation.ByAnatomy,
	}
	if egg.Sexed.How.Seen() {
		out.Seen = egg.Sex
	}
	if v.due(c.ID, e.ID) {
		out.Ask = askNow
	}
	if e.Estimate != nil {
		out.Came = v.say.against(e.Estimate.Hatch, egg.Ended)
	}
	return out
}

// line is what a list says of it.
func (n ending) line() string {
	text := n.Says
	for _, more := range []string{n.Seen, n.Ask} {
		if more != "" {
			text += ", " + more
		}
	}
	return text
}

// estimate is what had been expected, in a list: of a lost egg no hatch.
func (n ending) estimate(e monitor.EggNow, l eggLine) string {
	switch {
	case e.Estimate == nil:
		return l.Words
	case e.State == incubation.Failed || l.Hatch == "":
		return "estimate: " + l.Words
	}
	return "estimate: " + l.Hatch + ", " + l.Words
}

// against says how far from its likely day a hatch came, by the calendar of
// the room, and whether outside the window.
func (w words) against(h incubation.HatchSpan, came time.Time) string {
	if h.Likely.IsZero() {
		return ""
	}
	text := "it came that day"
	switch n := w.midnights(h.Likely, came); {
	case n == 1 || n == -1:
		text = "it came a day " + sooner(n)
	case n != 0:
		text = fmt.Sprintf("it came %d days %s", max(n, -n), sooner(n))
	}
	if w.midnights(h.Earliest, came) < 0 || w.midnights(h.Latest, came) > 0 {
		text += ", outside the window"
	}
	return text
}

func sooner(days int) string {
	if days < 0 {
		return "earlier"
	}
	return "later"
}

// midnights is how many lie between two times; less than nothing if b comes
// first.
func (w words) midnights(a, b time.Time) int {
	date := func(t time.Time) time.Time {
		y, m, d := w.in(t).Date()
		return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	}
	return int(math.Round(date(b).Sub(date(a)).Hours() / 24))
}

// outcome counts a clutch none of whose eggs live any more.
func outcome(c monitor.ClutchNow) string {
	hatched := 0
	for _, e := range c.Eggs {
		if e.State == incubation.Hatched {
			hatched++
		}
	}
	return fmt.Sprintf("%d of %d hatched", hatched, len(c.Eggs))
}
