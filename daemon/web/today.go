package web

import (
	"net/http"
	"slices"

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
	if v.asked("all") == "" {
		shorten(b.Today)
		shorten(b.Week)
	}
	b.Count = len(b.First) + len(now)
	if b.Count == 0 && len(week) == 0 && !b.Bare {
		b.Next = v.nextThing()
	}
	return v.render("today", frame{Title: "Today", Nav: "today", Body: b}, http.StatusOK)
}

// groupShown is how many lines of a group are shown before one asks for all:
// more than that is a walk, and the rest stands behind one tap.
const groupShown = 12

func shorten(groups []dueGroup) {
	for i := range groups {
		if g := &groups[i]; len(g.Lines) > groupShown+1 {
			g.More = len(g.Lines) - groupShown
			g.Lines = g.Lines[:groupShown]
		}
	}
}

// aheadWeeks is how far one looks for the next thing when a week brings none.
const aheadWeeks = 12

// nextThing says what comes after a week without anything: what would be due
// then if nothing is written down meanwhile.
func (v *visit) nextThing() string {
	for week := 1; week <= aheadWeeks; week++ {
		items := v.s.newHerd(v.snap, v.snap.Time.AddDate(0, 0, 7*week), v.say).Due()
		if len(items) == 0 {
			continue
		}
		next := slices.MinFunc(items, func(a, b season.Item) int { return a.From.Compare(b.From) })
		return v.say.day(next.From) + ": " + next.Do + "."
	}
	return ""
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
