package incubation

import (
	"regexp"
	"strconv"
)

// citedCelsius finds temperatures in a source: "34 C", "42 to 44 °C".
var citedCelsius = regexp.MustCompile(`(?:(\d+(?:\.\d+)?)( to | and | against ))?(\d+(?:\.\d+)?) °?C\b`)

// Cite gives the number's source with each temperature that it names written
// as degrees does, and the unit's sign behind.
func (n Number) Cite(degrees func(Celsius) string, unit string) string {
	write := func(text string) string {
		c, _ := strconv.ParseFloat(text, 64) // the pattern finds nothing else
		return degrees(Celsius(c))
	}
	return citedCelsius.ReplaceAllStringFunc(n.Source, func(found string) string {
		m := citedCelsius.FindStringSubmatch(found)
		out := write(m[3]) + " " + unit
		if m[1] != "" {
			out = write(m[1]) + m[2] + out
		}
		return out
	})
}

// Says tells what a number with the mark is worth, after "it is".
func (m Mark) Says() string {
	switch m {
	case Judgement:
		return "a judgement"
	case FromMemory:
		return "from memory, not looked up"
	case Common:
		return "common practice, no source"
	}
	return string(m)
}
