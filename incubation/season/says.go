package season

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"clutchd/incubation"
)

func sortedKeys[K cmp.Ordered, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }

// day writes a date.
func (h *Herd) day(t time.Time) string {
	switch {
	case h.o.Day != nil:
		return h.o.Day(t)
	case h.now.Sub(t).Abs() > 300*24*time.Hour:
		return t.In(h.zone).Format("2 January 2006")
	}
	return t.In(h.zone).Format("2 January")
}

// when writes a date that has been, and how long ago: "12 March, 4 days ago".
func (h *Herd) when(t time.Time) string {
	switch n := h.apart(t, h.now); {
	case n <= 0:
		return "today"
	case n == 1:
		return "yesterday"
	default:
		return fmt.Sprintf("%s, %d days ago", h.day(t), n)
	}
}

// on is when with its preposition.
func (h *Herd) on(t time.Time) string {
	w := h.when(t)
	if w == "today" || w == "yesterday" {
		return w
	}
	return "on " + w
}

// laidOrFound names what was on the day of found: where the last look before
// was on another day, nobody knows the day of the laying, only that of the find.
func (h *Herd) laidOrFound(from, found time.Time) string {
	if h.apart(from, found) > 0 {
		return "Found"
	}
	return "Laid"
}

// lastLaid says the same of a female's last laying.
func (h *Herd) lastLaid(c *course) string {
	l := c.laid[len(c.laid)-1]
	return h.laidOrFound(l.from, l.found)
}

// between writes a window: "20 to 26 March".
func (h *Herd) between(from, to time.Time) string {
	a, b := h.day(from), h.day(to)
	if a == b {
		return a
	}
	if h.o.Day == nil {
		d, m, _ := strings.Cut(a, " ")
		if _, other, _ := strings.Cut(b, " "); other == m {
			return d + " to " + b
		}
	}
	return a + " to " + b
}

// seen says what a check showed.
func seen(c *incubation.Check) string {
	switch c.Stage {
	case incubation.Quiet:
		return "quiet"
	case incubation.Follicular:
		return strings.Join(strings.Fields("follicles "+c.Size+" "+sides(c.Sides)), " ")
	case incubation.Shelling:
		return "shells forming"
	case incubation.Gravid:
		return "white eggs"
	case incubation.Laid:
		return "laid"
	case incubation.Resorbed:
		return "follicles gone back without eggs"
	}
	return "not sure what showed"
}

func sides(s string) string {
	switch s {
	case incubation.OneSide:
		return "on one side"
	case incubation.BothSide:
		return "on both sides"
	}
	return ""
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// list joins names: "A, B and C".
func list(names []string) string {
	switch n := len(names); n {
	case 0:
		return ""
	case 1:
		return names[0]
	default:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
