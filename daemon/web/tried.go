package web

import (
	"fmt"
	"slices"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation/book"
)

// A tried is what the last days say to the values that were tried.
type tried struct {
	Says    string
	Partial string // what was not looked at
	Sides   []triedSide
	Caveats []string
}

type triedSide struct {
	Title, Says string
	Lines       []triedLine
	More        int
}

type triedLine struct {
	State       state
	When, Facts string
}

// triedMost is how many firings a side lists.
const triedMost = 30

// try asks the past, and says what it answers.
func (v *visit) try(rule alerts.Rule, subject string, limits []book.LimitsData) (*tried, *problem) {
	if v.s.o.Rehearse == nil {
		return nil, &problem{Text: "the past cannot be asked here"}
	}
	p, err := v.s.o.Rehearse.Preview(v.r.Context(), monitor.PreviewQuestion{
		Rule: rule.Code, Subject: subject, Limits: limits,
	})
	if err != nil {
		wrong, _ := v.s.why(err)
		return nil, &wrong
	}
	days := int(p.To.Sub(p.From).Hours()/24 + 0.5)
	out := &tried{
		Says:    fmt.Sprintf("On the last %d days: %s.", days, times(p, p.Fired[0])),
		Sides:   []triedSide{v.triedSide("As it is", p, p.Fired[0])},
		Caveats: p.Caveats,
	}
	if len(p.Fired) > 1 {
		out.Says += fmt.Sprintf(" With these values: %s.", times(p, p.Fired[1]))
		out.Sides = append(out.Sides, v.triedSide("With these values", p, p.Fired[1]))
	}
	if !p.Whole {
		out.Partial = "There was no time for the rest: this is up to " + v.say.moment(p.To) + " only."
	}
	if whole := p.To.Sub(p.From); p.Known < whole*9/10 {
		out.Caveats = append(out.Caveats, fmt.Sprintf("There is something to go by for %s of these %s only.",
			alerts.Lasting(p.Known), alerts.Lasting(whole)))
	}
	return out, nil
}

// times tells how often, and how often at night.
func times(p monitor.Preview, fired []monitor.Firing) string {
	switch n := p.Nights(fired); {
	case len(fired) == 0:
		return "never"
	case n == 0:
		return several(len(fired), "time", "times")
	case n == len(fired):
		return several(n, "time", "times") + ", at night"
	default:
		return fmt.Sprintf("%s, %d of them at night", several(len(fired), "time", "times"), n)
	}
}

func (v *visit) triedSide(title string, p monitor.Preview, fired []monitor.Firing) triedSide {
	out := triedSide{Title: title, Says: capital(times(p, fired)) + "."}
	for _, f := range slices.Backward(fired) {
		if len(out.Lines) == triedMost {
			out.More = len(fired) - triedMost
			break
		}
		l := triedLine{State: stateOf(f.Severity), When: v.say.day(f.Raised) + " " + v.say.clock(f.Raised) + ", and lasts"}
		if !f.Over.IsZero() {
			l.When = v.say.day(f.Raised) + " " + v.say.clock(f.Raised) + "–" + v.say.clockAfter(f.Over, f.Raised)
		}
		l.Facts = v.worst(alerts.State{Value: f.Worst, Limit: f.Limit, Unit: p.Rule.Unit})
		out.Lines = append(out.Lines, l)
	}
	return out
}
