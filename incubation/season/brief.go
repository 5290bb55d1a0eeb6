package season

import (
	"fmt"
	"strings"
)

// title is what a brief calls a kind.
func (k Kind) title() string {
	switch k {
	case Vet:
		return "to a vet"
	case Treat:
		return "treat"
	case Check:
		return "bellies"
	case Pair:
		return "pair"
	case LayBox:
		return "lay boxes"
	case Clutch:
		return "clutches expected"
	case Weigh:
		return "weigh"
	case Quarantine:
		return "quarantine ends"
	case Hatch:
		return "hatching"
	case PlanStep:
		return "plan"
	case Candle:
		return "candle"
	case Air:
		return "air"
	case WeighBox:
		return "weigh boxes"
	}
	return "sex young"
}

// mostNamed is how many a brief names of each kind before it counts the rest.
const mostNamed = 6

// Brief says in at most so many characters what of the items is due today or
// late: "Due today: bellies: Saffron and Pumice; candle: Mica." "" where
// nothing is.
func (h *Herd) Brief(items []Item, most int) string {
	named := map[Kind][]string{}
	for _, i := range items {
		if i.Urgency != ThisWeek {
			named[i.Kind] = append(named[i.Kind], h.subject(i))
		}
	}
	if len(named) == 0 {
		return ""
	}
	text := ""
	for n := mostNamed; n >= 0; n-- {
		var parts []string
		for _, k := range Kinds() {
			if names := named[k]; len(names) > 0 {
				parts = append(parts, k.title()+": "+some(names, n))
			}
		}
		text = "Due today: " + strings.Join(parts, "; ") + "."
		if len([]rune(text)) <= most {
			return text
		}
	}
	return string([]rune(text)[:most])
}

// some names n and counts the rest; with none to name it only counts.
func some(names []string, n int) string {
	switch {
	case n == 0:
		return fmt.Sprint(len(names))
	case len(names) <= n+1: // "and 1 more" saves nothing
		return list(names)
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:n], ", "), len(names)-n)
}

// subject is whom or what an item is about, in a word.
func (h *Herd) subject(i Item) string {
	switch {
	case len(i.Animals) > 0:
		return h.state.Name(i.Animals[0])
	case i.Place != "":
		return h.placeName(i.Place)
	}
	return i.Clutch
}
