package season

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A Herd is a book's animals and eggs as they are looked at once.
type Herd struct {
	state   *book.State
	now     time.Time
	zone    *time.Location
	o       Options
	values  map[string]Assumption
	gates   gates
	season  Season             // that now lies in
	cuts    []time.Time        // beginnings of seasons, by year
	courses map[string]*course // by female
	females []string           // keys of courses, in order
	males   []string           // that live here, in order
	pools   map[string]*pool   // by key of the starting value
	openers *pool              // days from the starting opening to the females' own
	stops   stops
	layBox  map[string]string // by enclosure
}

// Look reads what the book tells at a time. It keeps the state and changes
// nothing in it.
func Look(s *book.State, now time.Time, o Options) *Herd {
	h := &Herd{
		state: s, now: now.UTC(), o: o, zone: cmp.Or(o.Zone, time.UTC),
		values: map[string]Assumption{}, courses: map[string]*course{}, layBox: map[string]string{},
	}
	for _, a := range Assumptions() {
		h.values[a.Key] = a
	}
	h.gates = h.gatesOf(s.Gates)
	h.cut()
	h.season = h.seasonAt(h.now)
	h.follow()
	h.learn()
	for _, id := range slices.Sorted(maps.Keys(s.Places)) {
		p := s.Places[id]
		if in := incubation.At(p.Stays, h.now); p.Kind == incubation.LayBox && in != "" {
			h.layBox[in] = id
		}
	}
	return h
}

// follow puts together each female's course, and the males.
func (h *Herd) follow() {
	for _, id := range slices.Sorted(maps.Keys(h.state.Animals)) {
		a := h.state.Animals[id]
		if a.Sex == incubation.Male {
			if a.Here() {
				h.males = append(h.males, id)
			}
			continue
		}
		h.courses[id] = &course{animal: a}
	}
	for _, c := range h.state.Clutches {
		if f := h.courses[c.Female]; f != nil {
			f.laid = append(f.laid, laying{
				from: c.Laid.From, at: middle(c.Laid), found: c.Laid.To, clutch: c.ID, eggs: len(c.Eggs),
			})
		}
	}
	for _, p := range h.state.Pairings {
		if f := h.courses[p.Female]; f != nil {
			f.pairings = append(f.pairings, p)
		}
	}
	for id, c := range h.courses {
		if c.animal.Sex == "" && len(c.laid) == 0 && len(c.pairings) == 0 && len(c.animal.Checks) == 0 {
			delete(h.courses, id) // nobody knows yet what it is
			continue
		}
		c.complete()
	}
	h.females = slices.Sorted(maps.Keys(h.courses))
}

// value gives a starting value.
func (h *Herd) value(key string) float64 { return h.values[key].Value }

// Females gives the ids of the animals that Rhythm knows, in order: those that
// no longer live here too.
func (h *Herd) Females() []string { return h.females }

// Season is the one that now lies in.
func (h *Herd) Season() Season { return h.season }

// seasonAt gives the season that t lies in. It is cut where the fewest lay:
// on 1 October in the north, half a year later in the south. Layings are told
// of from January to September (keepers' pages), so that day parts no season
// that opens in mid-winter.
func (h *Herd) seasonAt(t time.Time) Season {
	i := min(max(t.Year()-firstYear, 1), len(h.cuts)-2)
	for i > 0 && t.Before(h.cuts[i]) {
		i--
	}
	for i+2 < len(h.cuts) && !t.Before(h.cuts[i+1]) {
		i++
	}
	s := Season{From: h.cuts[i], To: h.cuts[i+1]}
	year := firstYear + i
	if !h.state.Season.Southern {
		year++
	}
	s.Name = strconv.Itoa(year)
	return s
}

// The years whose seasons are told apart; what lies outside counts to the
// first or the last.
const firstYear, lastYear = 1990, 2110

// cut gives when each year's season begins.
func (h *Herd) cut() {
	month := time.October
	if h.state.Season.Southern {
		month = time.April
	}
	for year := firstYear; year <= lastYear; year++ {
		h.cuts = append(h.cuts, time.Date(year, month, 1, 0, 0, 0, 0, h.zone).UTC())
	}
}

// midnight is the start of t's day in the keeper's zone.
func (h *Herd) midnight(t time.Time) time.Time {
	return incubation.DayStart(t.In(h.zone)).UTC()
}

// apart counts the midnights from a to b; negative: b lies before.
func (h *Herd) apart(a, b time.Time) int {
	return int(h.date(b).Sub(h.date(a)).Hours() / 24)
}

// date is t's day in the keeper's zone, as a day of UTC that has 24 hours.
func (h *Herd) date(t time.Time) time.Time {
	y, m, d := t.In(h.zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// days is so many days as a duration.
func days(n float64) time.Duration { return time.Duration(n * 24 * float64(time.Hour)) }

// dayCount is a duration in days.
func dayCount(d time.Duration) float64 { return d.Hours() / 24 }

func middle(l incubation.Laying) time.Time { return l.From.Add(l.To.Sub(l.From) / 2) }
