package web

import (
	"cmp"
	"net/http"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/season"
)

// todayBody is what is due today and this week.
type todayBody struct {
	Date  string
	First []dueLine // a vet's matter
	Today []dueGroup
	Week  []dueGroup
	Count int    // due today, urgent ones too
	Next  string // when nothing is due: what comes, and when
	Bare  bool   // no animal and no egg is in the book
	Round bool   // there is somebody to look at
}

func (s *Server) today(v *visit) error {
	b := todayBody{Date: v.say.weekday(v.snap.Time), Round: len(v.turns("")) > 0}
	b.Bare = len(v.snap.Book.Animals) == 0 && len(v.snap.Book.Eggs) == 0
	var now, week []season.Item
	for _, i := range v.look().due() {
		switch i.Urgency {
		case season.Now:
			b.First = append(b.First, v.dueLine(i))
		case season.ThisWeek:
			week = append(week, i)
		default:
			now = append(now, i)
		}
	}
	b.Today, b.Week = v.grouped(now), v.grouped(week)
	b.Count = len(b.First) + len(now)
	if b.Count == 0 && len(week) == 0 && !b.Bare {
		b.Next = v.nextThing()
	}
	return v.render("today", frame{Title: "Today", Nav: "today", Body: b}, http.StatusOK)
}

// nextThing says what comes after a week without anything: the next expected
// laying, opening of a season or hatch window.
func (v *visit) nextThing() string {
	type coming struct {
		at   time.Time
		text string
	}
	var all []coming
	add := func(at time.Time, text string) {
		if at.After(v.snap.Time) {
			all = append(all, coming{at, text})
		}
	}
	for _, t := range v.turns("") {
		r := v.look().herd.Rhythm(t.animal.ID)
		if r.Next != nil {
			add(r.Next.From, "a clutch of "+t.name)
		}
		add(r.Opens.Look, "look at "+t.name+", whose season may begin")
	}
	for egg, w := range windows(v.snap) {
		add(w.Earliest, v.teller().egg(egg)+" may hatch")
	}
	if len(all) == 0 {
		return ""
	}
	slices.SortFunc(all, func(a, b coming) int { return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.text, b.text)) })
	return v.say.day(all[0].at) + ": " + all[0].text + "."
}

// dueShown is how many lines the room page shows of what is due.
const dueShown = 3

// dueBlock is what the room page says of what is due today.
type dueBlock struct {
	Lines []dueLine
	More  int
}

func (v *visit) dueBlock() *dueBlock {
	var b dueBlock
	for _, i := range v.look().due() {
		switch {
		case i.Urgency == season.ThisWeek:
		case len(b.Lines) < dueShown:
			b.Lines = append(b.Lines, v.dueLine(i))
		default:
			b.More++
		}
	}
	if len(b.Lines) == 0 {
		return nil
	}
	return &b
}

// lives reports whether any animal breeds here.
func (v *visit) lives() bool {
	for _, a := range v.snap.Book.Animals {
		if a.Breeds() && a.Sex == incubation.Female {
			return true
		}
	}
	return false
}
