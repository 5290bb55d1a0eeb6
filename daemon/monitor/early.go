package monitor

import (
	"fmt"
	"math"
	"slices"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/thermal"
)

const (
	// soon is how near a limit must be for its approach to be told, ended how
	// far off it must be for that to be over.
	soon  = 30 * time.Minute
	ended = 45 * time.Minute
	// never stands for a limit that it is not on its way to.
	never = 24 * time.Hour
	// beyondUsual is how far a place must be outside its usual swing, K, or by
	// which share of that swing if it is more. Judgement: ten times a chip's
	// noise.
	beyondUsual = 0.3
	beyondShare = 0.25
	// Until a day's swing is known: what "too warm" begins at over the setpoint,
	// and half of what "cooling" does under it, K.
	unknownAbove = 1.5
	unknownBelow = 1.0
	// kindFor is how long a place that was cold, by a door or without power, may
	// overshoot as it warms again.
	kindFor = 30 * time.Minute
	// A fall over quickFall, faster than quickTimes what its walls can lose, is
	// a door's: at least quickLeast, K.
	quickTimes = 2.5
	quickLeast = 0.6
)

// coldLimit is under which eggs are told to be too cool, °C: the lowest
// constant temperature with published hatching (26 °C: Viets et al. 1993,
// Table 1). What a spell under it does to eggs that are warm otherwise is not
// known; it delays them.
const coldLimit = 26.0

// A heading is where a place is going, one way.
type heading struct {
	limit   float64
	celsius float64 // now, the probe that is nearest to the limit
	slope   float64 // K a minute towards the limit; only if it is sure
	in      time.Duration
}

// ofEarly judges whether incubators and boxes are on their way to a critical
// limit: long before it is reached, and only if they leave their usual swing.
// It comes before the rules that it is a cause for.
func (m *Monitor) ofEarly(places []PlaceNow, now time.Time, look func(alerts.Rule, alerts.Observation)) {
	for _, p := range places {
		if !keepsEggs(p) {
			continue
		}
		c := m.course(p, places, now)
		if len(p.Probes) == 0 {
			continue
		}
		o := alerts.Observation{
			Subject: alerts.Subject{Kind: alerts.PlaceSubject, ID: p.ID, Name: p.Name},
			Known:   p.Celsius != nil && !p.Doubt.Doubtful(), Waiting: !m.settled(p.ID, now),
			Eggs: m.eggsAround(p, places), Setpoint: plain(p.Setpoint),
			Low: ptr(soon.Seconds()), Deadband: (ended - soon).Seconds(),
		}
		o.Marks = m.marks(o.Eggs)
		for _, up := range [...]bool{true, false} {
			r := m.rule(earlyRule(up))
			o.Steady = !up && m.batteryTells(p)
			if o.Known {
				h := m.heading(up, p, c, places, now)
				if m.saidElsewhere(r, p, places, now) {
					h.in = never
				}
				o.Value, o.Detail = ptr(h.in.Seconds()), h.says(up, m.scale())
			}
			look(r, o)
		}
	}
}

func earlyRule(up bool) string {
	if up {
		return "heating-early"
	}
	return "cooling-early"
}

// eggsAround gives the eggs that a place's course tells of: those of the whole
// incubator, if a box is all that is measured of it.
func (m *Monitor) eggsAround(p PlaceNow, all []PlaceNow) []string {
	i := slices.IndexFunc(all, func(o PlaceNow) bool { return o.ID == p.In })
	if p.Kind == incubation.Box && i >= 0 && keepsEggs(all[i]) && all[i].Celsius == nil {
		return all[i].Eggs
	}
	return p.Eggs
}

// heading says where a place goes, up or down.
func (m *Monitor) heading(up bool, p PlaceNow, c *course, all []PlaceNow, now time.Time) heading {
	low, high := m.usual(p, c)
	h := heading{limit: m.coldAt(p), celsius: float64(*p.Coolest), in: never}
	if up {
		h.limit, h.celsius = m.hotAt(p), float64(*p.Warmest)
	}
	there := up && h.celsius >= h.limit || !up && h.celsius < h.limit
	unusual := up && h.celsius > high || !up && h.celsius < low
	told := m.stands(earlyRule(up), p.ID)
	if up && unusual {
		unusual = told || !m.switching(p, c, h)
	}
	if !up && unusual {
		c.kinder = now.Add(kindFor)
		unusual = told || !m.justOpened(p, c, all, now)
	}
	trend, known := thermal.Trend{}, false
	if unusual || told {
		trend, known = c.window.Trend()
	}
	if !known {
		return h
	}
	// The line through its mean, from where the probe is that matters.
	limit := h.limit - (h.celsius - trend.Celsius)
	var reach thermal.Reach
	var heads bool
	if up {
		reach, heads = c.window.Rise(limit)
		h.slope = trend.PerMinute
	} else {
		reach, heads = c.window.Fall(limit, plain(roomAround(p, all)))
		h.slope = -trend.PerMinute
	}
	switch {
	case there && told:
		h.in = 0 // it got there: what was told is not over
	case heads && !there:
		h.in = min(reach.Likely, never)
	}
	return h
}

// usual is what a place may swing between without a word: its own last days'
// swing and a little more, but never what is too warm by its setpoint. Until
// that is known, and while it recovers from a door or a power cut, it is
// counted from the setpoint.
func (m *Monitor) usual(p PlaceNow, c *course) (low, high float64) {
	low, high = m.coldAt(p), m.hotAt(p)-unknownAbove
	if p.Setpoint != nil {
		aim := float64(*p.Setpoint) + m.watch[p.ID].steady()
		low, high = aim-unknownBelow, min(aim+unknownAbove, high+unknownAbove-beyondUsual)
	}
	bottom, top, known := c.band.Usual()
	if !known {
		return low, high
	}
	margin := max(beyondUsual, beyondShare*(top-bottom))
	low = max(low-unknownBelow, bottom-margin)
	if c.kinder.Before(m.clock.now) && p.Opened.IsZero() {
		high = min(high, top+margin)
	}
	return low, high
}

// hotAt is from when on heat harms the eggs of a place, coldAt from when on it
// is too cool for them, °C.
func (m *Monitor) hotAt(p PlaceNow) float64 {
	return *m.limitsOf(m.rule("runaway-heat"), p).high
}

func (m *Monitor) coldAt(p PlaceNow) float64 {
	if p.Setpoint == nil {
		return coldLimit
	}
	return min(coldLimit, float64(*p.Setpoint)-m.rule("too-cool").Limit.Below)
}

// justOpened reports whether a door was opened within the last minutes, or the
// place fell as no shut one can.
func (m *Monitor) justOpened(p PlaceNow, c *course, all []PlaceNow, now time.Time) bool {
	over := max(float64(*p.Celsius)-coolRoom, 4)
	if r := roomAround(p, all); r != nil {
		over = max(float64(*p.Celsius-*r), 1)
	}
	curve := m.curve(p.ID)
	fastest := quickTimes * over / (curve.Tau.Minutes() * math.Exp(-1.645*curve.SD))
	for _, within := range [...]time.Duration{3 * time.Minute, 6 * time.Minute} {
		kelvin, at := c.window.Fell(within)
		if kelvin > max(quickLeast, fastest*within.Minutes()) && now.Sub(at) < kindFor {
			return true
		}
	}
	return false
}

// curve is how a place cools without heat, as it was seen to, or a guess.
func (m *Monitor) curve(place string) thermal.Cooling {
	if c := m.courses[place]; c != nil {
		if curve, ok := c.learner.Curve(); ok {
			return curve
		}
	}
	return thermal.Typical()
}

// stands reports whether an alert about a place is told now.
func (m *Monitor) stands(rule, place string) bool { return m.about(rule, place).Told() }

// about gives the state of a rule's alert about a place.
func (m *Monitor) about(rule, place string) alerts.State {
	return m.states[alerts.AlertID(rule, alerts.Subject{Kind: alerts.PlaceSubject, ID: place})]
}

// saidElsewhere reports whether the keeper knows already, or is about to: by a
// louder alert about the place, or by the same about another box of the
// incubator. One cause, one message. What it stands in is the rule's own
// matter: see Behind.
func (m *Monitor) saidElsewhere(r alerts.Rule, p PlaceNow, all []PlaceNow, now time.Time) bool {
	if m.about(r.Code, p.ID).Phase == alerts.Active {
		return false
	}
	others := [...]string{"too-warm", "runaway-heat", "acute-heat"}
	if r.Code == "cooling-early" {
		others = [...]string{"too-cool", "heater-off", "heater-off"}
	}
	for _, code := range others {
		o := m.about(code, p.ID)
		first := o.Phase == alerts.InOnDelay && o.Paused.IsZero() && m.about(r.Code, p.ID).Phase != alerts.InOnDelay &&
			!o.Since.Add(m.rule(code).OnDelay).After(now.Add(r.OnDelay))
		if o.Told() || first {
			return true
		}
	}
	return p.Kind == incubation.Box && slices.ContainsFunc(all, func(o PlaceNow) bool {
		return o.In == p.In && p.In != "" && o.ID != p.ID && m.stands(r.Code, o.ID)
	})
}

// says tells it in words: "is 32.4 °C and warming 0.12 a minute: reaches
// 34.5 °C in about 18 minutes."
func (h heading) says(up bool, scale alerts.Scale) string {
	celsius := func(c float64) string { return alerts.Amount(c, "celsius", scale) }
	verb, end := "falling", "falls under"
	if up {
		verb, end = "warming", "reaches"
	}
	slope := h.slope
	if scale == alerts.InFahrenheit {
		slope *= 1.8
	}
	text := "is " + celsius(h.celsius)
	if slope >= 0.005 && h.in > 0 && h.in < never {
		text += fmt.Sprintf(" and %s %.2f a minute: %s %s in about %s", verb, slope, end, celsius(h.limit), inAbout(h.in))
	}
	return text + "."
}

// inAbout writes a time to come as a person would say it: "18 minutes", "2 h 10 min".
func inAbout(d time.Duration) string {
	minutes := int(math.Round(d.Minutes()))
	switch {
	case minutes <= 1:
		return "a minute"
	case minutes < 60:
		return fmt.Sprintf("%d minutes", minutes)
	}
	return alerts.Lasting(d.Round(10 * time.Minute))
}
