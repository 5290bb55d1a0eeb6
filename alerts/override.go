package alerts

import (
	"fmt"
	"time"
)

// An Override is what one place has of a rule otherwise than the rule itself;
// nil leaves the rule's own.
type Override struct {
	Limit   *float64 // °C, K off the setpoint or a ratio, as the rule's own
	OnDelay *time.Duration
	Off     bool
}

// Longest on-delays that a place may have. Judgement: an hour of eggs in
// danger is what a keeper who sleeps badly may ask for, not more.
const (
	longestCritical = time.Hour
	longestDelay    = 24 * time.Hour
)

// Under gives the rule as a place has it, or an error that says for the keeper
// why it may not: then the rule is as it was. What wakes people can be made
// stricter or somewhat milder, never silent; deadly and runaway heat stricter
// only. Done twice it is as once.
func (r Rule) Under(o Override) (Rule, error) {
	if r.About != PlaceSubject {
		return r, fmt.Errorf("“%s” is not about a place", r.Title)
	}
	if o.Off && (r.Severity == Critical || r.Empty == Critical) {
		return r, fmt.Errorf("“%s” wakes people: it cannot be switched off", r.Title)
	}
	changed := r
	if o.Limit != nil {
		if err := r.checkLimit(*o.Limit); err != nil {
			return r, err
		}
		l := &changed.Limit
		l.Above, l.Below, l.Book = replaced(l.Above, *o.Limit), replaced(l.Below, *o.Limit), ""
	}
	if o.OnDelay != nil {
		if err := r.checkOnDelay(*o.OnDelay); err != nil {
			return r, err
		}
		changed.OnDelay = *o.OnDelay
	}
	return changed, nil
}

// strict are the rules that a place may have stricter only.
func (r Rule) strict() bool { return r.Code == "acute-heat" || r.Code == "runaway-heat" }

func (r Rule) checkLimit(v float64) error {
	low, high := 0.1, 20.0 // K off the setpoint
	switch {
	case r.Limit.Base != Fixed && r.Limit.Base != FromSetpoint:
		return fmt.Errorf("“%s” has no limit of its own to change here", r.Title)
	case r.strict():
		low, high = 30, r.Limit.Above
	case r.Limit.Base == FromSetpoint && r.Severity == Critical:
		high = 5
	case r.Unit == "ratio":
		low, high = 0, 1
	case r.Limit.Base == Fixed: // a low limit, in °C
		low, high = 10, 40
	}
	if !finite(v) || v < low || v > high {
		return fmt.Errorf("the limit of “%s” may lie between %s and %s", r.Title,
			r.worded(low), r.worded(high))
	}
	return nil
}

// worded writes a limit of the rule.
func (r Rule) worded(v float64) string {
	if r.Limit.Base == FromSetpoint {
		return Difference(v, InCelsius) + " K"
	}
	return Amount(v, r.Unit, InCelsius)
}

func (r Rule) checkOnDelay(d time.Duration) error {
	longest := longestDelay
	switch {
	case r.OnDelay <= 0 && d != 0:
		return fmt.Errorf("“%s” waits for nothing before it is told", r.Title)
	case r.strict():
		longest = r.OnDelay
	case r.Severity == Critical:
		longest = max(longestCritical, r.OnDelay)
	}
	if d < 0 || d > longest {
		return fmt.Errorf("“%s” may wait for %s at most before it is told", r.Title, Lasting(longest))
	}
	return nil
}
