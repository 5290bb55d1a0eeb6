package web

import (
	"cmp"
	"net/url"
	"slices"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/season"
)

// A dueLine is one thing that is due, with the form that does it.
type dueLine struct {
	Key           string
	Do, Why, When string
	Href, Also    string // Also: a second address, of whom it is about
	AlsoText      string
	State         state
	Late          bool
}

// A dueGroup is what is done in one go.
type dueGroup struct {
	Title string
	Lines []dueLine
	Round string // address: these, as a walk
	Count int    // of them all
	More  int    // beyond what is shown
}

// dueGroups are the headings of the list, in the order of a morning.
func dueGroups() []struct {
	title string
	kinds []season.Kind
} {
	return []struct {
		title string
		kinds []season.Kind
	}{
		{"Eggs", []season.Kind{season.Hatch, season.PlanStep, season.Candle}},
		{"Lay boxes", []season.Kind{season.LayBox, season.Clutch}},
		{"Bellies", []season.Kind{season.Check}},
		{"Pairings to try", []season.Kind{season.Pair}},
		{"Egg boxes", []season.Kind{season.Air, season.WeighBox}},
		{"Animals", []season.Kind{season.Treat, season.Quarantine, season.Weigh, season.Sex}},
	}
}

// grouped sorts items under their headings; what is urgent is left out.
func (v *visit) grouped(items []season.Item) []dueGroup {
	items = v.inOrder(items)
	var out []dueGroup
	for _, g := range dueGroups() {
		group := dueGroup{Title: g.title}
		for _, kind := range g.kinds {
			for _, i := range items {
				if i.Kind == kind {
					group.Lines = append(group.Lines, v.dueLine(i))
				}
			}
		}
		group.Count = len(group.Lines)
		if len(group.Lines) > 1 && g.kinds[0] == season.Check {
			group.Round = "/round"
		}
		if len(group.Lines) > 0 {
			out = append(out, group)
		}
	}
	return out
}

// inOrder sorts items as one walks: what is late first, then the females by
// rack and slot, boxes and places as people count them.
func (v *visit) inOrder(items []season.Item) []season.Item {
	at := map[string]int{}
	for i, t := range v.turns("") {
		at[t.animal.ID] = i + 1
	}
	turn := func(i season.Item) int {
		if i.Clutch != "" {
			return 0 // it is about her eggs, not about her
		}
		return at[theFirst(i.Animals)]
	}
	late := func(i season.Item) int {
		if i.Urgency == season.Overdue {
			return 0
		}
		return 1
	}
	path := func(i season.Item) string { return v.snap.Book.Path(i.Place, v.snap.Time) }
	out := slices.Clone(items)
	slices.SortStableFunc(out, func(a, b season.Item) int {
		return cmp.Or(cmp.Compare(late(a), late(b)), cmp.Compare(turn(a), turn(b)), asCounted(path(a), path(b)))
	})
	return out
}

func (v *visit) dueLine(i season.Item) dueLine {
	l := dueLine{Key: i.Key, Do: i.Do, Why: i.Why, Href: v.dueForm(i), State: quiet}
	switch {
	case i.Urgency == season.Now:
		l.State = state{"danger", "vet"}
	case i.Urgency == season.Overdue:
		l.Late = true
		if n := v.daysSince(i.By); n > 0 {
			l.When = "since " + v.say.day(i.By)
		}
	case i.Urgency == season.ThisWeek:
		l.When = v.say.day(i.From)
	}
	switch a := v.animalOf(i); {
	case i.Clutch != "" && v.snap.Book.Clutches[i.Clutch] != nil:
		l.Also, l.AlsoText = "/clutches/"+i.Clutch, clutchTitle(i.Clutch)
	case a != nil:
		l.Also, l.AlsoText = pageOf(a), v.snap.Book.Name(a.ID)
	}
	if v.asker.readOnly() { // no form is for them
		l.Href = cmp.Or(l.Also, "/today")
	}
	return l
}

// dueForm is the form that does what is due, filled in as far as is known,
// and leads back to the list.
func (v *visit) dueForm(i season.Item) string {
	kind := map[season.Kind]string{
		season.Vet: "treated", season.Treat: "treated", season.Check: "checked", season.Pair: "paired",
		season.LayBox: "laying", season.Clutch: "laying", season.Weigh: "weighed", season.Quarantine: "quarantine",
		season.Hatch: "pip", season.PlanStep: "setpoint", season.Candle: "candle", season.Air: "looked",
		season.WeighBox: "weighed", season.Sex: "sexed",
	}[i.Kind]
	know := map[string]string{}
	switch i.Kind {
	case season.Pair:
		know["female"] = i.Animals[0]
		if len(i.Animals) > 1 {
			know["male"] = i.Animals[1]
		}
	case season.LayBox, season.Clutch:
		know["female"], know["place"] = theFirst(i.Animals), i.Place
	case season.Air, season.WeighBox:
		know["box"] = i.Place
	case season.Hatch:
		know["egg"] = theFirst(i.Eggs)
		if e := v.snap.Book.Eggs[know["egg"]]; e != nil && e.State == incubation.Pipped {
			kind = "hatch"
		}
	case season.PlanStep:
		know["place"] = i.Place
		if box := v.moveOf(i); box != "" {
			kind, know["egg"], know["place"] = "egg", i.Eggs[0], box
		}
	case season.Candle:
		know["egg"] = theFirst(i.Eggs)
	case season.Sex:
		know["egg"], know["clutch"] = theFirst(i.Eggs), i.Clutch
	case season.Treat:
		know["animal"] = theFirst(i.Animals)
		know["what"] = strings.TrimPrefix(i.Do, v.snap.Book.Name(know["animal"])+": ")
	default:
		know["animal"] = theFirst(i.Animals)
	}
	q := url.Values{"kind": {kind}, "back": {"/today"}}
	for name, value := range know {
		if value != "" {
			q.Set(name, value)
		}
	}
	return "/entries/new?" + q.Encode()
}

func theFirst(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return list[0]
}

func (v *visit) animalOf(i season.Item) *incubation.Animal {
	return v.snap.Book.Animals[theFirst(i.Animals)]
}

// moveOf is the box that a step of an egg's plan names; "": it is no move.
func (v *visit) moveOf(i season.Item) string {
	egg := theFirst(i.Eggs)
	for _, st := range v.snap.Book.Plans[egg] {
		if at := v.snap.Book.When(egg, st); st.Box != "" && !at.Before(i.From) && at.Before(i.From.Add(25*time.Hour)) {
			return st.Box
		}
	}
	return ""
}

// dueWords says why a female is to be looked at; "": she is not.
func (v *visit) dueWords(animal string) string {
	for _, i := range v.look().due() {
		if i.Kind == season.Check && len(i.Animals) > 0 && i.Animals[0] == animal {
			return i.Why
		}
	}
	return ""
}
