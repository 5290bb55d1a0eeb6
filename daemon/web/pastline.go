package web

import (
	"slices"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation/learn"
)

// A pastLine is one egg that ended, beside what was said of it.
type pastLine struct {
	Clutch, Mark, When, Dates, Sex, Learned string
}

// newestFirst are the eggs that ended, by when they were found hatched or lost.
func newestFirst(snap *monitor.Snapshot) []learn.Past {
	ended := func(p learn.Past) time.Time {
		if e := snap.Book.Eggs[p.Egg]; e != nil && p.Found.IsZero() {
			return e.Ended
		}
		return p.Found
	}
	out := slices.Clone(snap.Lesson.Hindsight.Eggs)
	slices.SortStableFunc(out, func(a, b learn.Past) int { return ended(b).Compare(ended(a)) })
	return out
}

func (v *visit) pastLine(p learn.Past) pastLine {
	l := pastLine{Clutch: p.Clutch, Mark: p.Egg, Sex: "sex not seen"}
	var ended time.Time
	if e := v.snap.Book.Eggs[p.Egg]; e != nil {
		l.Mark, ended = e.Mark, e.Ended
		if c := v.snap.Book.Clutches[e.Clutch]; c != nil && p.Sex == "" && c.Mixed.Sexed.How.Seen() {
			l.Sex = "counted with its clutch"
		}
	}
	if p.Found.IsZero() {
		l.When, l.Sex = "lost "+v.say.day(ended), ""
		return l
	}
	if p.Sex != "" {
		l.Sex = "a " + p.Sex
	}
	l.When = came(p.Shipped)
	l.Dates = "found " + v.say.day(p.Found) + " · said " + v.say.window(p.Shipped, p.Found)
	l.Sex = "male " + share(p.Shipped.Male) + " · " + l.Sex
	if text := v.say.said(p.Learned, p.Found); text != v.say.said(p.Shipped, p.Found) {
		l.Learned = "with what was learned: " + text
	}
	return l
}

// said is all that was said of a hatched egg.
func (w words) said(s learn.Said, found time.Time) string {
	return w.window(s, found) + ", " + came(s) + ", male " + share(s.Male)
}

// came is how many days an egg came after its likeliest date.
func came(s learn.Said) string {
	if s.Likely.IsZero() {
		return "no date said"
	}
	text := daysOf(max(s.Late, -s.Late))
	switch {
	case text == "0.0":
		return "as said"
	case s.Late < 0:
		return text + " days early"
	}
	return text + " days late"
}

// window tells the dates that were said, and whether the egg kept to them. By
// the calendar a hatch may lie within what it missed by hours.
func (w words) window(s learn.Said, found time.Time) string {
	if s.Likely.IsZero() {
		return "no date"
	}
	text := w.days(s.Earliest, s.Latest)
	if s.Latest.IsZero() {
		text = "from " + w.day(s.Earliest) + " on"
	}
	switch {
	case s.Inside:
		return text
	case w.midnights(s.Earliest, found) < 0,
		!s.Latest.IsZero() && w.midnights(s.Latest, found) > 0:
		return text + ", outside"
	}
	return text + ", outside by hours"
}
