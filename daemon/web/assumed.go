package web

import (
	"fmt"
	"strings"

	"clutchd/incubation"
)

// An assumption is one number that every estimate is made under.
type assumption struct{ Name, Value, Mark, Source string }

// figureNames say in plain words what a profile's numbers are; one without a
// name goes by that of the file.
var figureNames = map[string]string{
	"development.zero_celsius":       "No development below",
	"development.anchor_celsius":     "Time to hatching is given at",
	"development.anchor_days":        "Time to hatching there",
	"development.bend_celsius":       "Development slows its rise from",
	"development.peak_kelvin":        "It is fastest that far above",
	"development.egg_sd_ratio":       "Eggs differ in development by",
	"development.pip_days":           "From the first hole to the hatch",
	"tsp.start_ratio":                "TSP opens at, of development",
	"tsp.end_ratio":                  "TSP closes at, of development",
	"sex.rising.pivotal_celsius":     "Half males, from the cool side",
	"sex.rising.slope_kelvin":        "Width of that change, cool side",
	"sex.falling.pivotal_celsius":    "Half males, from the warm side",
	"sex.falling.slope_kelvin":       "Width of that change, warm side",
	"sex.laboratory_kelvin":          "Laboratories differ by",
	"sex.clutch_correlation":         "Siblings go together by",
	"record.substrate_sd_kelvin":     "Egg against a probe in the substrate",
	"record.box_air_sd_kelvin":       "Egg against the air of its box",
	"record.incubator_air_sd_kelvin": "Egg against the air of the incubator",
	"record.gap_sd_kelvin":           "Unknown after an hour’s gap",
	"record.gap_most_kelvin":         "Unknown after a long gap, at most",
	"record.plan_sd_kelvin":          "What will be against what is planned",
	"limits.high_celsius":            "Too warm above",
	"limits.low_celsius":             "Too cold below",
	"limits.hatched_celsius":         "Coldest with published hatching",
}

// assumptions lists the numbers of a profile, each with what it is worth.
func (w words) assumptions(p incubation.Profile) []assumption {
	var out []assumption
	for _, f := range p.Figures() {
		name := figureNames[f.Name]
		if name == "" {
			name = capital(strings.NewReplacer("_", " ", ".", ": ").Replace(f.Name))
		}
		value := w.figure(f.Name, f.Value)
		if f.Low != 0 || f.High != 0 {
			low, _, _ := strings.Cut(w.figure(f.Name, f.Low), nbsp)
			high, _, _ := strings.Cut(w.figure(f.Name, f.High), nbsp)
			value += fmt.Sprintf(" (%s to %s)", low, high)
		}
		if f.SD != 0 {
			value += " ± " + w.figure(difference, f.SD)
		}
		out = append(out, assumption{name, value, f.Mark.Says(), plainSource(w.cite(f.Number), f.Mark)})
	}
	return out
}

// fitted opens the source of a number that was fitted; the page says it once
// for all of them.
const fitted = "median and 5 and 95 % points of what package fit makes of the published values in "

// plainSource leaves out of a source what the page says for all or beside it,
// and calls other numbers of the profile what the page calls them.
func plainSource(source string, mark incubation.Mark) string {
	source = strings.TrimPrefix(source, mark.Says()+": ")
	if rest, ok := strings.CutPrefix(source, fitted); ok {
		if _, of, ok := strings.Cut(rest, ".json: "); ok {
			source = of
		}
	}
	for name, says := range figureNames {
		_, last, _ := strings.Cut(name, ".")
		if strings.Contains(last, "_") {
			source = strings.ReplaceAll(source, last, "“"+says+"”")
		}
	}
	return source
}

// difference is the ending of names of numbers that are K.
const difference = "_kelvin"

// figure writes a number in the unit that its name ends in.
func (w words) figure(name string, v float64) string {
	switch {
	case strings.HasSuffix(name, "_celsius"):
		return plainly(w.degrees(incubation.Celsius(v)), 2) + nbsp + w.Unit()
	case strings.HasSuffix(name, difference):
		return teller{words: w}.apart(v)
	case strings.HasSuffix(name, "_days") && v == 1:
		return "1" + nbsp + "day"
	case strings.HasSuffix(name, "_days"):
		return plainly(v, 1) + nbsp + "days"
	case strings.HasSuffix(name, "_ratio"):
		return plainly(100*v, 1) + nbsp + "%"
	}
	return plainly(v, 2)
}
