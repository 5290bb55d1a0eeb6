// Package handout says what goes onto paper: labels for boxes and slots, the
// sheet for whoever looks after the room meanwhile, the review of a clutch.
//
// It is data alone: what it looks like is the printer's affair, and nothing
// here is asked of a store or a clock. Lengths are mm, temperatures °C, times
// carry no zone of their own: Look says in which they are told. Sources: ISO
// 216 and the customary inch sizes for paper; see Stocks for label sheets.
package handout

import (
	"strings"
	"time"
)

// A Paper is the size of a sheet, upright, mm.
type Paper struct {
	Name          string
	Width, Height float64
}

// A4 is the paper of ISO 216.
func A4() Paper { return Paper{Name: "A4", Width: 210, Height: 297} }

// Letter is the customary paper of 8.5 by 11 inches.
func Letter() Paper { return Paper{Name: "Letter", Width: 215.9, Height: 279.4} }

// Papers are those that can be chosen.
func Papers() []Paper { return []Paper{A4(), Letter()} }

// PaperNamed gives the paper of a name; false if there is none.
func PaperNamed(name string) (Paper, bool) {
	for _, p := range Papers() {
		if p.Name == name {
			return p, true
		}
	}
	return Paper{}, false
}

// A Look is how values are told on paper, and what a sheet says of itself. The
// zero value tells °C, UTC and dates as 2 Jan 2006.
type Look struct {
	Fahrenheit bool
	Zone       *time.Location // nil: UTC
	// Day is the form of a date, as package time has it, Short that of one within
	// the year; "": DefaultDay, and that without its year.
	Day, Short string
	// Printed is when: it stands on the paper, and in the file as its date.
	Printed time.Time
	Site    string // what the room is called; may be empty
}

// DefaultDay is a date that nobody reads with its month and day exchanged.
const DefaultDay = "2 Jan 2006"

// In gives a time in the look's zone.
func (l Look) In(t time.Time) time.Time {
	if l.Zone == nil {
		return t.UTC()
	}
	return t.In(l.Zone)
}

// form is that of a date. A space inside it does not break.
func (l Look) form() string {
	if l.Day == "" {
		return keep(DefaultDay)
	}
	return keep(l.Day)
}

func keep(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }

// Date tells a day; a zero time is "not known".
func (l Look) Date(t time.Time) string {
	if t.IsZero() {
		return "not known"
	}
	return l.In(t).Format(l.form())
}

// Near tells a day without its year, where that is the year of printing.
func (l Look) Near(t time.Time) string {
	short := l.Short
	if l.Day == "" {
		short = "2 Jan"
	}
	if short == "" || t.IsZero() || l.In(t).Year() != l.In(l.Printed).Year() {
		return l.Date(t)
	}
	return l.In(t).Format(keep(short))
}

// Dates tells two days as a range, what they share once where the form of a
// date allows it.
func (l Look) Dates(from, to time.Time) string {
	a, b := l.Date(from), l.Date(to)
	if a == b || from.IsZero() || to.IsZero() {
		return b
	}
	if x, y := l.In(from), l.In(to); l.form() == keep(DefaultDay) && x.Year() == y.Year() {
		a = x.Format(keep("2 Jan"))
		if x.Month() == y.Month() {
			return x.Format("2") + "–" + b
		}
	}
	return a + keep(" – ") + b
}
