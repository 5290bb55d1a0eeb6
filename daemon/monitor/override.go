package monitor

import (
	"slices"
	"time"

	"clutchd/alerts"
	"clutchd/incubation/book"
)

// overrides gives what a place has of rules otherwise than they are, by code;
// nil for most.
func (m *Monitor) overrides(place string) map[string]book.RuleOverride {
	return m.book.Limits[place].RuleOverrides
}

// rulesAt gives the rules as a place has them. An override that the rule does
// not allow, as of another version's book, is left out.
func (m *Monitor) rulesAt(place string) []alerts.Rule {
	own := m.overrides(place)
	if len(own) == 0 {
		return m.rules
	}
	all := slices.Clone(m.rules)
	for i, r := range all {
		if o, ok := own[r.Code]; ok {
			all[i], _ = r.Under(overrideOf(o))
		}
	}
	return slices.DeleteFunc(all, func(r alerts.Rule) bool { return switchedOff(r, own) })
}

// ruleFor gives a rule as the subject's place has it; false: it is switched
// off there.
func (m *Monitor) ruleFor(r alerts.Rule, s alerts.Subject) (alerts.Rule, bool) {
	if s.Kind != alerts.PlaceSubject {
		return r, true
	}
	own := m.overrides(s.ID)
	o, ok := own[r.Code]
	if !ok {
		return r, true
	}
	off := switchedOff(r, own)
	r, _ = r.Under(overrideOf(o))
	return r, !off
}

func switchedOff(r alerts.Rule, own map[string]book.RuleOverride) bool {
	o := own[r.Code]
	if !o.Off {
		return false
	}
	_, err := r.Under(overrideOf(o))
	return err == nil
}

func overrideOf(o book.RuleOverride) alerts.Override {
	out := alerts.Override{Limit: o.Limit, Off: o.Off}
	if o.OnDelaySeconds != nil {
		out.OnDelay = ptr(time.Duration(*o.OnDelaySeconds * float64(time.Second)))
	}
	return out
}

// allowed refuses limits that change a rule further than it may be.
func allowed(e book.Entry) error {
	if e.Kind != book.KindLimits {
		return nil
	}
	data, err := book.Decode(e)
	if err != nil {
		return nil // the book refuses it in its own words
	}
	for code, o := range data.(book.LimitsData).RuleOverrides {
		r, ok := alerts.RuleFor(code)
		if !ok {
			return &Refusal{Field: "rule_overrides", Text: "there is no rule " + code}
		}
		if _, err := r.Under(overrideOf(o)); err != nil {
			return &Refusal{Field: "rule_overrides", Text: err.Error()}
		}
	}
	return nil
}
