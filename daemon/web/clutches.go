package web

import (
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

type clutchesBody struct {
	Live, Ended []clutchLine
	Year        string       // that those in Ended were laid in
	Years       []yearOption // that others were laid in, newest first
	Next        string       // address of the rest of the year
	Waits       bool         // an estimate is still being worked out
	Taught      string
}

// A clutchLine is one clutch in the list.
type clutchLine struct {
	ID, Female, Laid, Day string
	Eggs                  []eggLine
}

// A yearOption is a year with clutches that ended.
type yearOption struct {
	Year     string
	Clutches int
	Shown    bool
}

// shownClutches is how many ended clutches one page shows.
const shownClutches = 100

func (s *Server) clutches(v *visit) error {
	b := clutchesBody{Taught: taughtLine(v.snap.Lesson)}
	ended := map[string][]monitor.ClutchNow{} // by year of laying
	for _, c := range v.snap.Clutches {
		if !slices.ContainsFunc(c.Eggs, live) {
			year := strconv.Itoa(v.say.in(c.Laid.To).Year())
			ended[year] = append(ended[year], c)
			continue
		}
		b.Waits = b.Waits || slices.ContainsFunc(c.Eggs, func(e monitor.EggNow) bool { return e.Computing })
		l := v.clutchLine(c)
		l.Day = dayOf(c.Laid, v.snap.Time)
		b.Live = append(b.Live, l)
	}
	v.endedClutches(&b, ended)
	return v.render("clutches", frame{Title: "Clutches", Nav: "clutches", Body: b}, http.StatusOK)
}

func (v *visit) clutchLine(c monitor.ClutchNow) clutchLine {
	return clutchLine{
		ID: c.ID, Female: c.Name, Laid: v.say.days(c.Laid.From, c.Laid.To),
		Eggs: v.clutchEggs(c),
	}
}

// endedClutches shows those of the year that was asked for, the newest one
// first, and names the others: a keeper's book grows for years.
func (v *visit) endedClutches(b *clutchesBody, ended map[string][]monitor.ClutchNow) {
	years := slices.Sorted(maps.Keys(ended))
	slices.Reverse(years)
	if len(years) == 0 {
		return
	}
	if b.Year = v.asked("year"); ended[b.Year] == nil {
		b.Year = years[0]
	}
	for _, y := range years {
		b.Years = append(b.Years, yearOption{Year: y, Clutches: len(ended[y]), Shown: y == b.Year})
	}
	shown := ended[b.Year]
	from, _ := strconv.Atoi(v.asked("from"))
	from = min(max(from, 0), len(shown)-1)
	shown = shown[from:]
	if len(shown) > shownClutches {
		shown = shown[:shownClutches]
		b.Next = "/clutches?year=" + b.Year + "&from=" + strconv.Itoa(from+shownClutches)
	}
	for _, c := range shown {
		b.Waits = b.Waits || slices.ContainsFunc(c.Eggs, func(e monitor.EggNow) bool { return e.Computing })
		l := v.clutchLine(c)
		l.Day = outcome(c)
		b.Ended = append(b.Ended, l)
	}
}

// clutchEggs tells each egg of a clutch; live ones of which the same can be
// told share a line.
func (v *visit) clutchEggs(c monitor.ClutchNow) []eggLine {
	var out []eggLine
	for _, e := range c.Eggs {
		l := v.eggLine(c, e)
		if end := v.ending(c, e); end != nil {
			l.End, l.Words, l.Hatch = end.line(), end.estimate(e, l), ""
		}
		if n := len(out); n > 0 && live(e) && out[n-1].alike(l) {
			out[n-1].Marks += " " + l.Marks
			continue
		}
		out = append(out, l)
	}
	return out
}

func live(e monitor.EggNow) bool {
	return e.State == incubation.Incubating || e.State == incubation.Pipped
}

// clutchOf finds a clutch of the snapshot; nil if there is none.
func clutchOf(snap *monitor.Snapshot, id string) *monitor.ClutchNow {
	for i := range snap.Clutches {
		if snap.Clutches[i].ID == id {
			return &snap.Clutches[i]
		}
	}
	return nil
}

// clutchTitle names a clutch, the word once.
func clutchTitle(id string) string {
	if strings.HasPrefix(id, "clutch") {
		return capital(id)
	}
	return "Clutch " + id
}

// capital begins a sentence.
func capital(s string) string {
	if s == "" {
		return ""
	}
	r := []rune(s)
	return strings.ToUpper(string(r[:1])) + string(r[1:])
}
