package web

import (
	"encoding/json"
	"maps"
	"slices"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// keptRules carries the rules that a place has otherwise through a form that
// is about something else, and tells them.
func (v *visit) keptRules(own map[string]book.RuleOverride) []field {
	text := v.r.PostForm.Get("rule_overrides")
	if len(own) > 0 {
		b, err := json.Marshal(own)
		if err != nil {
			return nil
		}
		text = string(b)
	} else if json.Unmarshal([]byte(text), &own) != nil {
		return nil
	}
	label := "Rules that are changed here stay so: "
	for i, said := range v.teller().overridesSay(own) {
		if i > 0 {
			label += ", "
		}
		label += said
	}
	return []field{{Name: "rule_overrides", Type: "hidden", Value: text, Hint: label + "."}}
}

// ruleFields ask for one rule at one place. The place's other limits are
// carried along: an entry replaces them all.
func ruleFields(v *visit) []field {
	text := v.r.PostForm.Get("limits")
	var own book.LimitsData
	if place := v.asked("place"); place != "" {
		own = v.snap.Book.Limits[place]
		own.Place = place
		b, err := json.Marshal(own)
		if err != nil {
			return nil
		}
		text = string(b)
	} else if json.Unmarshal([]byte(text), &own) != nil {
		return nil
	}
	rules := append(options("", "", "choose"), v.rulesOf(own.Place)...)
	return []field{
		{
			Name: "limits", Type: "hidden", Value: text,
			Label: "A rule at " + v.teller().place(own.Place) + ". Everything empty gives the rule back as it is.",
		},
		{Name: "one", Type: "hidden", Value: "rule"},
		{Name: "rule", Label: "Rule", Type: "select", Options: rules},
		{
			Name: "limit", Label: "Its limit", Mode: "decimal", Optional: true,
			Hint: "As the rule has it: " + v.say.Unit() + ", degrees off the setpoint, or % of humidity. Deadly " +
				"and runaway heat may be told earlier only.",
		},
		{Name: "on_delay", Label: "Told once it lasts for", Suffix: "min", Mode: "decimal", Optional: true},
		{
			Name: "off", Label: "Told at this place", Type: "select", Optional: true,
			Options: options("", "", "yes", "yes", "no: not at this place"),
			Hint:    "What wakes people cannot be switched off.",
		},
	}
}

// rulesOf lists the rules that are judged of a place, as they are.
func (v *visit) rulesOf(place string) []option {
	p := v.snap.Book.Places[place]
	if p == nil {
		return nil
	}
	scale := alerts.InCelsius
	if v.say.fahrenheit {
		scale = alerts.InFahrenheit
	}
	keepsEggs := p.Kind == incubation.Incubator || p.Kind == incubation.Box
	var out []option
	for _, r := range alerts.Rules() {
		if r.About != alerts.PlaceSubject || r.Limit.Base != alerts.Own && !keepsEggs {
			continue
		}
		text := because(r.Title, r.Condition(scale))
		if r.OnDelay > 0 {
			text += ", for " + span(r.OnDelay)
		}
		out = append(out, option{r.Code, text, r.Code == v.asked("rule")})
	}
	return out
}

func readRule(a *answers) any {
	var d book.LimitsData
	if json.Unmarshal([]byte(a.text("limits")), &d) != nil {
		a.blame("", "this form is damaged: open it again")
		return d
	}
	code := a.id("rule")
	r, ok := alerts.RuleFor(code)
	if !ok {
		a.blame("rule", "choose one here")
		return d
	}
	o := book.RuleOverride{Off: a.text("off") == "yes"}
	if a.any("limit") {
		limit := a.limitOf(r)
		o.Limit = &limit
	}
	if a.any("on_delay") {
		seconds := a.number("on_delay", 0, 24*60) * 60
		o.OnDelaySeconds = &seconds
	}
	d.RuleOverrides = maps.Clone(d.RuleOverrides)
	if delete(d.RuleOverrides, code); o != (book.RuleOverride{}) {
		if d.RuleOverrides == nil {
			d.RuleOverrides = map[string]book.RuleOverride{}
		}
		d.RuleOverrides[code] = o
	}
	return d
}

// limitOf reads a rule's limit in what the rule counts in.
func (a *answers) limitOf(r alerts.Rule) float64 {
	switch {
	case r.Limit.Base == alerts.FromSetpoint:
		return a.kelvin("limit")
	case r.Unit == "ratio":
		return a.number("limit", 0, 100) / 100
	}
	return float64(a.degrees("limit"))
}

// overridesSay tells what a place has of rules otherwise than they are.
func (t teller) overridesSay(own map[string]book.RuleOverride) []string {
	var out []string
	for _, code := range slices.Sorted(maps.Keys(own)) {
		o, said := own[code], "“"+ruleTitle(code)+"”"
		if o.Off {
			out = append(out, said+" not told")
			continue
		}
		if o.Limit != nil {
			said += " at " + t.limitSays(code, *o.Limit)
		}
		if o.OnDelaySeconds != nil {
			said += " after " + alerts.Lasting(time.Duration(*o.OnDelaySeconds*float64(time.Second)))
		}
		out = append(out, said)
	}
	return out
}

func (t teller) limitSays(code string, v float64) string {
	r, _ := alerts.RuleFor(code)
	switch {
	case r.Limit.Base == alerts.FromSetpoint:
		return t.apart(v) + " off the setpoint"
	case r.Unit == "ratio":
		return plainly(100*v, 1) + nbsp + "%"
	}
	return t.exact(incubation.Celsius(v))
}
