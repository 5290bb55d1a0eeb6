package web

import (
	"net/http"
	"strings"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

type clutchesBody struct {
	Live, Ended []clutchLine
}

// A clutchLine is one clutch in the list.
type clutchLine struct {
	ID, Female, Laid, Day string
	Eggs                  []eggLine
	Outcome               string
}

func (s *Server) clutches(v *visit) error {
	var b clutchesBody
	for _, c := range v.snap.Clutches {
		l := clutchLine{ID: c.ID, Female: c.Name, Laid: v.say.days(c.Laid.From, c.Laid.To)}
		var ended []string
		for _, e := range c.Eggs {
			if live(e) {
				continue
			}
			ended = append(ended, e.Mark+" "+string(e.State))
		}
		l.Outcome = list(ended)
		for _, e := range c.Eggs {
			if live(e) {
				l.Eggs = append(l.Eggs, v.eggLine(c, e))
			}
		}
		if len(l.Eggs) == 0 {
			b.Ended = append(b.Ended, l)
			continue
		}
		l.Day = dayOf(c.Laid, v.snap.Time)
		b.Live = append(b.Live, l)
	}
	return v.render("clutches", frame{Title: "Clutches", Nav: "clutches", Body: b}, http.StatusOK)
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
