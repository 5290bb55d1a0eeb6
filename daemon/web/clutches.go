package web

import (
	"net/http"
	"slices"
	"strings"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

type clutchesBody struct {
	Live, Ended []clutchLine
	Waits       bool // an estimate is still being worked out
	Taught      string
}

// A clutchLine is one clutch in the list.
type clutchLine struct {
	ID, Female, Laid, Day string
	Eggs                  []eggLine
}

func (s *Server) clutches(v *visit) error {
	b := clutchesBody{Taught: taughtLine(v.snap.Lesson)}
	for _, c := range v.snap.Clutches {
		l := clutchLine{ID: c.ID, Female: c.Name, Laid: v.say.days(c.Laid.From, c.Laid.To)}
		l.Eggs = v.clutchEggs(c)
		b.Waits = b.Waits || slices.ContainsFunc(c.Eggs, func(e monitor.EggNow) bool { return e.Computing })
		if !slices.ContainsFunc(c.Eggs, live) {
			l.Day = outcome(c)
			b.Ended = append(b.Ended, l)
			continue
		}
		l.Day = dayOf(c.Laid, v.snap.Time)
		b.Live = append(b.Live, l)
	}
	return v.render("clutches", frame{Title: "Clutches", Nav: "clutches", Body: b}, http.StatusOK)
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
