package web

import (
	"encoding/json"
	"maps"
	"net/url"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// readTuned gives a place's limits with the values of the form in them.
func (v *visit) readTuned(rule alerts.Rule, own book.LimitsData, values url.Values) (book.LimitsData, *problem) {
	a := &answers{values: values, say: v.say}
	if unit := values.Get("unit"); unit != "" { // that the page showed, whatever was chosen since
		a.say.fahrenheit = unit == "°F"
	}
	var t tuning
	switch {
	case rule.About != alerts.PlaceSubject:
		return own, nil
	case rule.Limit.Base == alerts.Given:
	case !a.any("limit"):
		a.blame("limit", "say at which value it is to tell")
	case rule.Unit == "ratio":
		r := a.number("limit", 0, 100) / 100
		t.limit = &r
	case rule.Limit.Base == alerts.FromSetpoint:
		k := a.kelvin("limit")
		t.limit = &k
	default:
		c := float64(a.degrees("limit"))
		t.limit = &c
	}
	if a.any("minutes") {
		d := time.Duration(a.number("minutes", 0, 24*60) * float64(time.Minute))
		t.delay = &d
	}
	if a.wrong != nil {
		return own, a.wrong
	}
	trial := t.in(rule, own)
	return trial, v.checked(trial)
}

// checked says why a place may not have these limits; nil: it may.
func (v *visit) checked(l book.LimitsData) *problem {
	text, err := json.Marshal(l)
	if err != nil {
		return &problem{Text: "these limits cannot be written"}
	}
	e := book.Entry{At: v.snap.Time, Made: v.snap.Time, Kind: book.KindLimits, Data: text}
	if err := monitor.Allowed(v.snap.Book, e); err != nil {
		p, _ := v.s.why(err)
		return &p
	}
	return nil
}

// A tuning is another limit and delay for a rule; nil: as it is.
type tuning struct {
	limit *float64
	delay *time.Duration
}

// in gives a place's limits with the tuning in them: a limit that the book has
// a field for is written there, where the keeper's form shows it too.
func (t tuning) in(rule alerts.Rule, own book.LimitsData) book.LimitsData {
	own.RuleOverrides = maps.Clone(own.RuleOverrides)
	if own.RuleOverrides == nil {
		own.RuleOverrides = map[string]book.RuleOverride{}
	}
	o := own.RuleOverrides[rule.Code]
	if t.limit != nil {
		o.Limit = t.limit
		if putBookLimit(&own, rule.Limit.Book, *t.limit) {
			o.Limit = nil
		}
	}
	if t.delay != nil {
		s := t.delay.Seconds()
		if o.OnDelaySeconds = &s; *t.delay == rule.OnDelay {
			o.OnDelaySeconds = nil
		}
	}
	if own.RuleOverrides[rule.Code] = o; o == (book.RuleOverride{}) {
		delete(own.RuleOverrides, rule.Code)
	}
	return own
}

// putBookLimit sets the book's own field for a limit, if it has one.
func putBookLimit(own *book.LimitsData, name alerts.BookLimit, v float64) bool {
	c := incubation.Celsius(v)
	switch name {
	case alerts.LowCelsius:
		own.LowCelsius = &c
	case alerts.HighCelsius:
		own.HighCelsius = &c
	case alerts.LowHumidityRatio:
		own.LowHumidityRatio = &v
	case alerts.OffSetpointKelvin:
		own.OffSetpointKelvin = &v
	case alerts.OverSetpointKelvin:
		own.OverSetpointKelvin = &v
	default:
		return false
	}
	return true
}

// limitOf is the rule's limit as a place has it, in its own unit; nil: none.
func limitOf(rule alerts.Rule, own book.LimitsData) *float64 {
	if o := own.RuleOverrides[rule.Code].Limit; o != nil {
		return o
	}
	if v := bookLimit(&own, rule.Limit.Book); v != nil {
		return v
	}
	switch l := rule.Limit; {
	case l.Base == alerts.Own, l.Base == alerts.Given, l.Base == alerts.NoLimit:
		return nil
	case l.Above != 0:
		return &l.Above
	default:
		return &l.Below
	}
}

// bookLimit is the book's own field for a limit; nil: it has none, or not set.
func bookLimit(own *book.LimitsData, name alerts.BookLimit) *float64 {
	plain := func(c *incubation.Celsius) *float64 {
		if c == nil {
			return nil
		}
		f := float64(*c)
		return &f
	}
	switch name {
	case alerts.LowCelsius:
		return plain(own.LowCelsius)
	case alerts.HighCelsius:
		return plain(own.HighCelsius)
	case alerts.LowHumidityRatio:
		return own.LowHumidityRatio
	case alerts.OffSetpointKelvin:
		return own.OffSetpointKelvin
	case alerts.OverSetpointKelvin:
		return own.OverSetpointKelvin
	}
	return nil
}

func delayOf(rule alerts.Rule, own book.LimitsData) time.Duration {
	if s := own.RuleOverrides[rule.Code].OnDelaySeconds; s != nil {
		return time.Duration(*s * float64(time.Second))
	}
	return rule.OnDelay
}

// inForce tells the rule's values in a place.
func (v *visit) inForce(rule alerts.Rule, own book.LimitsData) string {
	if own.RuleOverrides[rule.Code].Off {
		return "switched off here"
	}
	limit, delay := limitOf(rule, own), delayOf(rule, own)
	said := ""
	if limit != nil {
		r := rule
		r.Limit.Above, r.Limit.Below = replace(r.Limit.Above, *limit), replace(r.Limit.Below, *limit)
		if said = r.Condition(v.say.scale()); rule.Limit.Base == alerts.Own {
			said = v.say.value(limit, rule.Unit)
		}
		said += ", "
	} else if rule.Limit.Base == alerts.Own {
		return "no limit here: it is not judged"
	}
	if delay <= 0 {
		return said + "at once"
	}
	return said + "for " + alerts.Lasting(delay)
}

func replace(side, with float64) float64 {
	if side == 0 {
		return 0
	}
	return with
}
