package book

import (
	"fmt"
	"time"

	"clutchd/incubation"
)

// PeriodLimits are limits that hold in a part of the day or of the year. A nil
// one leaves what holds otherwise.
type PeriodLimits struct {
	LowCelsius       *incubation.Celsius `json:"low_celsius,omitempty"`
	HighCelsius      *incubation.Celsius `json:"high_celsius,omitempty"`
	LowHumidityRatio *float64            `json:"low_humidity_ratio,omitempty"`
}

// NightLimits hold from one time of the room's clock to another, over midnight
// or not; To is not in it.
type NightLimits struct {
	From ClockTime `json:"from"`
	To   ClockTime `json:"to"`
	PeriodLimits
}

// CoolingLimits hold from one day of every year to another, over New Year or
// not; both days are in it. By night too: what they set counts before what
// the night sets.
type CoolingLimits struct {
	From YearDay `json:"from"`
	To   YearDay `json:"to"`
	PeriodLimits
}

// A ClockTime is a time of day in minutes after midnight, written as 21:00.
type ClockTime int

// MarshalText writes the time.
func (c ClockTime) MarshalText() ([]byte, error) {
	return fmt.Appendf(nil, "%02d:%02d", int(c)/60, int(c)%60), nil
}

// UnmarshalText accepts two digits, a colon and two digits.
func (c *ClockTime) UnmarshalText(text []byte) error {
	t, err := time.Parse("15:04", string(text))
	if err != nil || len(text) != len("15:04") {
		return fmt.Errorf("%.20q is not a time of day like 21:00", text)
	}
	*c = ClockTime(t.Hour()*60 + t.Minute())
	return nil
}

// A YearDay is a day of every year, a month and a day, written as 11-15. 29
// February is one.
type YearDay struct {
	Month time.Month
	Day   int
}

// MarshalText writes the day.
func (d YearDay) MarshalText() ([]byte, error) {
	return fmt.Appendf(nil, "%02d-%02d", d.Month, d.Day), nil
}

// UnmarshalText accepts a month and a day in two digits each.
func (d *YearDay) UnmarshalText(text []byte) error {
	t, err := time.Parse("2006-01-02", "2024-"+string(text)) // a leap year
	if err != nil || len(text) != len("01-02") {
		return fmt.Errorf("%.20q is not a day of the year like 11-15", text)
	}
	*d = YearDay{t.Month(), t.Day()}
	return nil
}

func (d YearDay) order() int { return int(d.Month)*100 + d.Day }

// within reports whether x lies from a on to before b, in a ring.
func within(a, x, b int) bool {
	if a <= b {
		return a <= x && x < b
	}
	return x >= a || x < b
}

// in reports whether the night's limits hold at a time of the room's clock:
// what that shows counts, whatever it was set to when summer time came or went.
func (n *NightLimits) in(local time.Time) bool {
	return n != nil && within(int(n.From), local.Hour()*60+local.Minute(), int(n.To))
}

func (c *CoolingLimits) in(local time.Time) bool {
	if c == nil {
		return false
	}
	today := YearDay{local.Month(), local.Day()}.order()
	return within(c.From.order(), today, c.To.order()+1)
}

// How long a place is given to follow a change of its limits. A heated
// enclosure takes hours to cool at dusk, a room in autumn a day. Judgement.
const (
	settleNight   = 2 * time.Hour
	settleCooling = 24 * time.Hour
)

// A Period is the limits of a place in force at one time.
type Period struct {
	PeriodLimits
	Night, Cooling bool
	// Settles: the night or the cooling season has begun or ended a short while
	// ago; until the place has followed the wider of both limits holds.
	Settles bool
}

// At gives the limits in force. local is in the room's zone.
func (d LimitsData) At(local time.Time) Period {
	night, cooling := d.Night.in(local), d.Cooling.in(local)
	p := Period{PeriodLimits: d.of(night, cooling), Night: night, Cooling: cooling}
	nights, seasons := []bool{night}, []bool{cooling}
	if d.Night != nil {
		const step = time.Minute
		for back := step; back <= settleNight && len(nights) < 2; back += step {
			if was := d.Night.in(local.Add(-back)); was != night {
				nights = append(nights, was)
			}
		}
	}
	if d.Cooling.in(local.Add(-settleCooling)) != cooling {
		seasons = append(seasons, !cooling)
	}
	for _, n := range nights {
		for _, c := range seasons {
			if n != night || c != cooling {
				p.PeriodLimits, p.Settles = p.wider(d.of(n, c)), true
			}
		}
	}
	return p
}

// of gives the limits of a night or a day, in the cooling season or not.
func (d LimitsData) of(night, cooling bool) PeriodLimits {
	own := PeriodLimits{d.LowCelsius, d.HighCelsius, d.LowHumidityRatio}
	if night {
		own = own.with(d.Night.PeriodLimits)
	}
	if cooling {
		own = own.with(d.Cooling.PeriodLimits)
	}
	return own
}

// with gives the limits with those that over sets.
func (l PeriodLimits) with(over PeriodLimits) PeriodLimits {
	if over.LowCelsius != nil {
		l.LowCelsius = over.LowCelsius
	}
	if over.HighCelsius != nil {
		l.HighCelsius = over.HighCelsius
	}
	if over.LowHumidityRatio != nil {
		l.LowHumidityRatio = over.LowHumidityRatio
	}
	return l
}

// wider gives what lies within either of two limits. Without a limit of its
// own a place has none of temperature; of humidity it has the rule's, and
// keeps what is set.
func (l PeriodLimits) wider(o PeriodLimits) PeriodLimits {
	l.LowCelsius = outer(l.LowCelsius, o.LowCelsius, -1)
	l.HighCelsius = outer(l.HighCelsius, o.HighCelsius, 1)
	if l.LowHumidityRatio == nil || o.LowHumidityRatio != nil && *o.LowHumidityRatio < *l.LowHumidityRatio {
		l.LowHumidityRatio = o.LowHumidityRatio
	}
	return l
}

// outer gives the lower of two limits, or with 1 the higher; nil if one of
// them is none.
func outer(a, b *incubation.Celsius, side incubation.Celsius) *incubation.Celsius {
	switch {
	case a == nil || b == nil:
		return nil
	case side**b > side**a:
		return b
	}
	return a
}
