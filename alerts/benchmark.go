package alerts

import (
	"fmt"
	"time"
)

// A Figure is one of a tally's beside what plant control rooms aim at.
type Figure struct {
	What   string // in words
	Here   string
	Target string // of a control room, per operator
	Most   string // that an operator can still manage; "": the standard names none
}

// Benchmark says where the figures of Figures come from.
const Benchmark = "Of a plant's control room, per operator, over 30 days or more (ISA-18.2 and EEMUA 191 as two " +
	"public files quote them; the standards' own text was not seen). A room with one keeper should stay far below."

// Goal is what this program holds itself to. It is judgement.
const Goal = "Our own goal: at most one warning a month that you would rather not have had (judgement, no source)."

// Figures gives the tally beside the standards' benchmark figures.
func (t Tally) Figures() []Figure {
	n, days := float64(t.Raised), t.Days()
	tens := t.To.Sub(t.From).Hours() * float64(time.Hour/floodWithin)
	return []Figure{
		{"a day", figure(n / days), "about 150", "about 300"},
		{"an hour, on average", figure(n / days / 24), "about 6", "about 12"},
		{"in ten minutes, on average", figure(n / days / 144), "about 1", "about 2"},
		{"in the busiest ten minutes", fmt.Sprint(t.Busiest), "10", ""},
		{"ten-minute stretches with more than 10", part(float64(t.Floods), tens), "under 1 %", ""},
		{"chattering or fleeting", fmt.Sprint(t.Restless), "0", ""},
		{"standing for over 24 h at one time", fmt.Sprint(t.StandingMost), "under 5", ""},
		{"notices / warnings / critical", t.mix(), "80 / 15 / 5 %", ""},
		{"from the ten alerts raised most", t.topShare(), "1 to 5 %", ""},
	}
}

// mix is how the severities share what was raised.
func (t Tally) mix() string {
	if t.Raised == 0 {
		return "–"
	}
	n := float64(t.Raised)
	return fmt.Sprintf("%.0f / %.0f / %.0f %%", 100*float64(t.Notice)/n, 100*float64(t.Warning)/n, 100*float64(t.Critical)/n)
}

func (t Tally) topShare() string {
	n := 0
	for _, c := range t.Top {
		n += c.Raised
	}
	return part(float64(n), float64(t.Raised))
}

// figure writes a rate: small ones with the digits that tell them from none.
func figure(v float64) string {
	switch {
	case v == 0:
		return "0"
	case v < 0.01:
		return "under 0.01"
	case v < 1:
		return fmt.Sprintf("%.2f", v)
	}
	return fmt.Sprintf("%.1f", v)
}

func part(n, of float64) string {
	switch {
	case of <= 0:
		return "–"
	case n > 0 && n/of < 0.01:
		return "under 1 %"
	}
	return fmt.Sprintf("%.0f %%", 100*n/of)
}
