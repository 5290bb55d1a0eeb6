package monitor

import (
	"fmt"
	"math"
	"strings"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// offSetpoint is the rule whose limit follows from what matters to the eggs.
const offSetpoint = "off-setpoint"

const (
	// movesBy is how much a change of the sex estimate counts.
	movesBy = 0.10
	// narrowest is the least that off-setpoint may be set to by that, K: what
	// a good sensor is off by itself. Judgement.
	narrowest = 0.3
)

// bounds are a rule's limits in a place as things stand.
type bounds struct {
	low, high *float64
	around    float64 // off-setpoint: what it is counted from
	kelvin    float64 // off-setpoint: how far from there
	deadband  float64 // zero: the rule's own
	why       string  // a sentence on what made them narrower
}

// judged reports whether a rule is about places like this one.
func judged(r alerts.Rule, p PlaceNow) bool {
	keepsEggs := p.Kind == incubation.Incubator || p.Kind == incubation.Box
	switch {
	case r.About != alerts.PlaceSubject, r.Limit.Base != alerts.Own && !keepsEggs, outOfService(r, p):
		return false
	case r.Unit == "ratio": // the air around the boxes may be dry, and animals have limits of their own
		return (p.Kind == incubation.Box) == (r.Limit.Base != alerts.Own)
	}
	return true
}

// limitsOf gives a rule's limits in a place. Those of off-setpoint lie around
// what the box usually is at, its shelf's steady difference included, and are
// as narrow as the most sensitive egg there makes them, with room for what that
// difference does by day and night: its incubator, judged too, has none.
func (m *Monitor) limitsOf(r alerts.Rule, p PlaceNow) bounds {
	own := ownLimits(m.book.Limits[p.ID], p.Limits.PeriodLimits)
	var b bounds
	if r.Code != offSetpoint || p.Setpoint == nil {
		b.low, b.high = r.Bounds(plain(p.Setpoint), own)
		return b
	}
	b.kelvin = r.Limit.Above
	if mine := own[r.Limit.Book]; mine > 0 {
		b.kelvin = mine
	}
	widest := b.kelvin
	if egg, kelvin := m.mostSensitive(p, b.kelvin); egg != "" {
		b.kelvin = kelvin
		b.why = fmt.Sprintf("%s off for good moves the sex estimate of egg %s by %.0f points.",
			alerts.Difference(kelvin, m.scale()), m.marks([]string{egg})[0], 100*movesBy)
	}
	shelf := m.watch[p.ID].steady()
	b.around = float64(*p.Setpoint) + shelf
	if math.Abs(shelf) >= 0.05 {
		b.why = strings.TrimSpace(fmt.Sprintf("Its shelf usually makes that %s. %s",
			alerts.Amount(b.around, "celsius", m.scale()), b.why))
	}
	if w := m.watch[p.ID]; w != nil && w.differs.known() != nil {
		b.kelvin = min(widest, b.kelvin+w.wobbles.kelvin())
	}
	b.low, b.high = ptr(b.around-b.kelvin), ptr(b.around+b.kelvin)
	b.deadband = min(r.Deadband, b.kelvin/3)
	return b
}

// mostSensitive gives the live egg in a place whose sex estimate moves most,
// and how far off moves it by movesBy; "" if none needs less than kelvin.
func (m *Monitor) mostSensitive(p PlaceNow, kelvin float64) (egg string, nearest float64) {
	nearest = kelvin
	for _, id := range p.Eggs {
		e := m.eggs.estimates[id]
		if e == nil || e.TSP.State == incubation.TSPClosed {
			continue
		}
		box := incubation.At(m.book.Eggs[id].Stays, m.clock.now)
		at := m.book.SetpointAt(box, m.clock.now)
		if at == nil {
			continue
		}
		in := incubation.At(m.book.Places[box].Stays, m.clock.now)
		if k := enough(e.HoldFromNow, float64(*at+m.steady(box, in))); k < nearest {
			egg, nearest = id, k
		}
	}
	return egg, nearest
}

// enough is how far off a temperature an egg must be held for its sex estimate
// to move by movesBy, not under narrowest; infinite: no distance does within
// the table.
func enough(holds []incubation.Hold, celsius float64) float64 {
	if len(holds) == 0 {
		return math.Inf(1)
	}
	here := chanceAt(holds, celsius)
	span := float64(holds[len(holds)-1].Celsius - holds[0].Celsius)
	const step = 0.01
	for k := narrowest; k < span; k += step {
		if math.Abs(chanceAt(holds, celsius-k)-here) >= movesBy ||
			math.Abs(chanceAt(holds, celsius+k)-here) >= movesBy {
			return math.Round(k/step) * step
		}
	}
	return math.Inf(1)
}

// chanceAt reads the chance of a male off the table, by straight lines.
// Outside it is that of the nearer end.
func chanceAt(holds []incubation.Hold, celsius float64) float64 {
	for i := 1; i < len(holds); i++ {
		a, b := holds[i-1], holds[i]
		if celsius > float64(b.Celsius) {
			continue
		}
		x := (celsius - float64(a.Celsius)) / float64(b.Celsius-a.Celsius)
		return a.MaleProbability + max(x, 0)*(b.MaleProbability-a.MaleProbability)
	}
	return holds[len(holds)-1].MaleProbability
}

// undecided reports whether it depends on an estimate that is yet to be made,
// as after a start, if the value is beyond its limit.
func (m *Monitor) undecided(b bounds, p PlaceNow, value float64) bool {
	off := math.Abs(value - b.around)
	if m.quiet || off < narrowest || off >= b.kelvin {
		return false
	}
	for _, id := range p.Eggs {
		if m.eggs.estimates[id] == nil {
			return true
		}
	}
	return false
}

// limitsNow fills in at which values an alert would be raised: the innermost
// of the limits on each side.
func (m *Monitor) limitsNow(p *PlaceNow) {
	for _, r := range m.rulesAt(p.ID) {
		if !judged(r, *p) {
			continue
		}
		b := m.limitsOf(r, *p)
		switch {
		case r.Unit == "ratio" && b.low != nil:
			p.LowHumidity = ptr(incubation.Humidity(*b.low))
		case r.Unit == "celsius":
			if b.low != nil && (p.Low == nil || *b.low > float64(*p.Low)) {
				p.Low = ptr(incubation.Celsius(*b.low))
			}
			if b.high != nil && (p.High == nil || *b.high < float64(*p.High)) {
				p.High = ptr(incubation.Celsius(*b.high))
			}
		}
	}
}

// astray reports whether a place is outside a limit that harms eggs: a sex
// estimate that moves is no reason to wake someone.
func (m *Monitor) astray(p PlaceNow) bool {
	for _, r := range m.rulesAt(p.ID) {
		if r.Code == offSetpoint || r.Unit != "celsius" || !judged(r, p) {
			continue
		}
		b := m.limitsOf(r, p)
		if b.high != nil && *p.Warmest >= incubation.Celsius(*b.high) ||
			b.low != nil && *p.Coolest < incubation.Celsius(*b.low) {
			return true
		}
	}
	return false
}

// ownLimits gives what a place has of its own, as the time of day and of the
// year has it.
func ownLimits(l book.LimitsData, now book.PeriodLimits) map[alerts.BookLimit]float64 {
	own := map[alerts.BookLimit]float64{}
	set := func(name alerts.BookLimit, v *float64) {
		if v != nil {
			own[name] = *v
		}
	}
	set(alerts.LowCelsius, plain(now.LowCelsius))
	set(alerts.HighCelsius, plain(now.HighCelsius))
	set(alerts.LowHumidityRatio, now.LowHumidityRatio)
	set(alerts.OffSetpointKelvin, l.OffSetpointKelvin)
	set(alerts.OverSetpointKelvin, l.OverSetpointKelvin)
	return own
}

// plain gives a value without its unit's type.
func plain[T ~float64](v *T) *float64 {
	if v == nil {
		return nil
	}
	return ptr(float64(*v))
}
