package web

import (
	"net/http"
	"time"
)

const datesCookie = "clutchd_dates"

// A dateStyle is how this visitor writes dates; "" is inWords.
type dateStyle string

// The styles.
const (
	inWords   dateStyle = "words"   // 14 Mar 2026
	inOrder   dateStyle = "iso"     // 2026-03-14
	withDots  dateStyle = "dots"    // 14.3.2026
	monthLead dateStyle = "slashes" // 3/14/2026
)

// A dateForm is a style's dates, as Go writes layouts: with the year, without
// it, a weekday with its date, and a month.
type dateForm struct{ full, short, weekday, month string }

func (d dateStyle) form() dateForm {
	switch d {
	case inOrder:
		return dateForm{time.DateOnly, time.DateOnly, "Monday 2006-01-02", "2006-01"}
	case withDots:
		return dateForm{"2.1.2006", "2.1.", "Monday 2.1.", "1/2006"}
	case monthLead:
		return dateForm{"1/2/2006", "1/2", "Monday 1/2", "1/2006"}
	}
	return dateForm{"2 Jan 2006", "2 Jan", "Monday 2 January", "January 2006"}
}

// styles are all of them, in the order that the settings offer.
func styles() []dateStyle { return []dateStyle{inWords, inOrder, withDots, monthLead} }

func (s *Server) dates(r *http.Request) dateStyle {
	if c, err := r.Cookie(datesCookie); err == nil {
		for _, d := range styles() {
			if string(d) == c.Value {
				return d
			}
		}
	}
	return inWords
}

// short is a date that needs no year.
func (w words) short(t time.Time) string { return w.in(t).Format(w.dates.form().short) }

// date is one that always says its year.
func (w words) date(t time.Time) string {
	if t.IsZero() {
		return "not known"
	}
	return w.in(t).Format(w.dates.form().full)
}

// weekday is a date within a year, with its day of the week.
func (w words) weekday(t time.Time) string { return w.in(t).Format(w.dates.form().weekday) }

// month is a whole one.
func (w words) month(t time.Time) string { return t.Format(w.dates.form().month) }

// day is a date; the year only when it is not this one.
func (w words) day(t time.Time) string {
	if t.IsZero() || w.in(t).Year() != w.in(w.now).Year() {
		return w.date(t)
	}
	return w.short(t)
}

// days tells two dates, the month once if it is the same.
func (w words) days(from, to time.Time) string {
	a, b := w.in(from), w.in(to)
	style := w.dates.form()
	switch {
	case from.IsZero() || to.IsZero():
		return "not known"
	case w.day(from) == w.day(to):
		return w.day(to)
	case a.Year() != b.Year(): // over a new year both say theirs
		return w.date(from) + " – " + w.date(to)
	case a.Month() != b.Month():
	case style == inWords.form():
		return a.Format("2") + "–" + w.day(to)
	case style == withDots.form():
		return a.Format("2.") + "–" + w.day(to)
	}
	return w.day(from) + " – " + w.day(to)
}
