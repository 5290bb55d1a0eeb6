package web

import (
	"cmp"
	"slices"
	"strings"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/handout"
)

// sheet says what is where, and what each alert would mean.
func (v *visit) sheet(paper handout.Paper, base string) handout.Sheet {
	s := handout.Sheet{Look: v.paperLook(), Paper: paper, URL: base + "/", Alerts: v.meanings()}
	listed := map[string]bool{}
	for _, p := range v.snap.Places {
		if p.Kind != incubation.Incubator {
			continue
		}
		c := handout.Cabinet{Name: p.Name}
		c.Setpoint, c.Steps = p.Setpoint, v.stepsToCome(p.ID)
		for _, b := range v.snap.Places {
			if b.Kind == incubation.Box && b.In == p.ID && len(b.Eggs) > 0 {
				c.Boxes, listed[b.ID] = append(c.Boxes, v.stands(b)...), true
			}
		}
		inHatchOrder(c.Boxes)
		s.Incubators = append(s.Incubators, c)
	}
	elsewhere := handout.Cabinet{Name: "In no incubator"}
	for _, b := range v.snap.Places {
		if b.Kind == incubation.Box && !listed[b.ID] && len(b.Eggs) > 0 {
			elsewhere.Boxes = append(elsewhere.Boxes, v.stands(b)...)
		}
	}
	if inHatchOrder(elsewhere.Boxes); len(elsewhere.Boxes) > 0 {
		s.Incubators = append(s.Incubators, elsewhere)
	}
	for _, p := range v.slots() {
		s.Others = append(s.Others, handout.Kept{Name: p.Name, Holds: v.livesIn(p.ID), Low: p.Low, High: p.High})
	}
	return s
}

// inHatchOrder puts first what may hatch first; what has no window, last.
func inHatchOrder(boxes []handout.Stands) {
	slices.SortStableFunc(boxes, func(a, b handout.Stands) int {
		x, y := a.Hatch.Earliest, b.Hatch.Earliest
		switch {
		case x.IsZero() != y.IsZero() && x.IsZero():
			return 1
		case x.IsZero() != y.IsZero():
			return -1
		}
		return cmp.Or(x.Compare(y), asCounted(a.Name, b.Name))
	})
}

// stands tells the eggs of a box, clutch by clutch.
func (v *visit) stands(b monitor.PlaceNow) []handout.Stands {
	var out []handout.Stands
	for _, c := range v.snap.Clutches {
		var marks []string
		var all []monitor.EggNow
		for _, e := range c.Eggs {
			if live(e) && slices.Contains(b.Eggs, e.ID) {
				marks, all = append(marks, e.Mark), append(all, e)
			}
		}
		if len(marks) > 0 {
			out = append(out, handout.Stands{
				Name: b.Name, Eggs: cmp.Or(c.Name, clutchTitle(c.ID)) + " " + strings.Join(marks, " "), Hatch: windowOf(all),
			})
		}
	}
	return out
}

// livesIn names the animals of an enclosure.
func (v *visit) livesIn(place string) string {
	var names []string
	for id, a := range v.snap.Book.Animals {
		if a.Here() && incubation.At(a.Stays, v.snap.Time) == place {
			names = append(names, v.snap.Book.Name(id))
		}
	}
	slices.Sort(names)
	return strings.Join(names, ", ")
}

// meanings are the alerts that this room can raise and that somebody whose
// room it is not can do something about.
func (v *visit) meanings() []handout.Meaning {
	var out []handout.Meaning
	for _, r := range alerts.Rules() {
		if r.Severity == alerts.Info || !v.mayCome(r) {
			continue
		}
		when := r.Condition(v.say.scale())
		if n, rest, ok := strings.Cut(when, " "); ok && r.Limit.Base == alerts.FromSetpoint {
			when = n + nbsp + v.say.Unit() + " " + rest
		}
		if r.OnDelay > 0 && when != "" {
			when += " for " + span(r.OnDelay)
		}
		out = append(out, handout.Meaning{
			Title: r.Title, Severity: string(r.Severity), When: when, First: r.Text.First,
		})
	}
	return out
}

// mayCome reports whether a rule can speak in this room to somebody who is not
// its keeper.
func (v *visit) mayCome(r alerts.Rule) bool {
	place := func(kind incubation.PlaceKind) bool {
		return slices.ContainsFunc(v.snap.Places, func(p monitor.PlaceNow) bool { return p.Kind == kind })
	}
	contact := func(kind incubation.ContactKind) bool {
		return slices.ContainsFunc(v.snap.Contacts, func(c monitor.ContactNow) bool { return c.Kind == kind })
	}
	switch r.Code {
	case "stale", "probe-slipped", "away":
		return true
	case "door-open":
		return contact(incubation.Door)
	case "enclosure-open":
		return contact(incubation.Door) && place(incubation.Enclosure)
	case "leak":
		return contact(incubation.Leak)
	case "on-battery":
		return contact(incubation.Mains)
	}
	return r.About == alerts.PlaceSubject && (r.Limit.Base != alerts.Own || place(incubation.Enclosure))
}
