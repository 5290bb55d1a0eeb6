package web

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/review"
)

// numbers are a record in words and figures: for those who do not see the
// chart, and for all who want to know exactly.
type numbers struct {
	Lowest, Mean, Highest string
	Stays, Probes         []dated
	Excursions            []excursionLine
	Brief                 int // excursions too short for an alert
	More                  int // excursions not listed
	Gaps                  []dated
	MoreGaps              int
}

// A dated is something with when it was.
type dated struct{ What, When, Note string }

// An excursionLine is one excursion.
type excursionLine struct{ When, Lasted, Worst, Limit, Note string }

// What a page lists at most; files have all.
const (
	excursionsMost = 12
	gapsMost       = 8
)

func (w words) numbers(laid review.Laid, r review.Record) *numbers {
	n := &numbers{Lowest: w.reading(r.Lowest), Mean: w.reading(r.Mean), Highest: w.reading(r.Highest)}
	for _, s := range r.Stays {
		what := s.BoxName
		if s.IncubatorName != "" {
			what = s.IncubatorName + " / " + s.BoxName
		}
		n.Stays = append(n.Stays, dated{What: what, When: w.fromTo(s.From, s.To)})
	}
	for _, p := range r.Probes {
		n.Probes = append(n.Probes, w.probeFact(p, r))
	}
	for _, e := range r.Excursions {
		switch {
		case e.Brief:
			n.Brief++
		case len(n.Excursions) == excursionsMost:
			n.More++
		default:
			n.Excursions = append(n.Excursions, w.excursionLine(laid, e))
		}
	}
	for i, g := range r.Gaps {
		if i == gapsMost {
			n.MoreGaps = len(r.Gaps) - i
			break
		}
		n.Gaps = append(n.Gaps, dated{What: long(g.To.Sub(g.From)), When: w.fromTo(g.From, g.To)})
	}
	return n
}

func (w words) reading(c *incubation.Celsius) string {
	if c == nil {
		return ""
	}
	return w.temp(*c) + nbsp + w.Unit()
}

// fromTo tells a stretch; a zero end is now.
func (w words) fromTo(from, to time.Time) string {
	switch {
	case to.IsZero():
		return "since " + w.instant(from)
	case w.in(from).Format(time.DateOnly) == w.in(to).Format(time.DateOnly):
		return w.instant(from) + "–" + w.in(to).Format("15:04")
	}
	if w.in(from).Year() != w.in(to).Year() {
		return w.date(from) + " " + w.in(from).Format("15:04") + " – " + w.date(to) + " " + w.in(to).Format("15:04")
	}
	return w.instant(from) + " – " + w.instant(to)
}

// instant is a date with its time of day, also of today: a chart of weeks has
// no today.
func (w words) instant(t time.Time) string { return w.day(t) + " " + w.in(t).Format("15:04") }

func (w words) probeFact(p review.Probe, r review.Record) dated {
	to := p.To
	if to.Equal(r.To) && len(r.Stays) > 0 && r.Stays[len(r.Stays)-1].To.IsZero() {
		to = time.Time{} // it is beside them still
	}
	var notes []string
	switch {
	case p.Position == incubation.IncubatorAir && !inCabinet(r, p.Place):
		notes = append(notes, "in the air around them") // as of the lay box in an enclosure
	case p.Position != "":
		notes = append(notes, positionWord(p.Position))
	}
	switch counted, all := p.CountedSeconds(), p.To.Sub(p.From).Seconds(); {
	case counted == 0:
		notes = append(notes, "did not count: a nearer one spoke")
	case counted < 0.995*all:
		notes = append(notes, "counted for "+percent(counted/all)+" of that")
	}
	if p.Calibrated {
		notes = append(notes, "calibrated")
	} else {
		notes = append(notes, "not calibrated")
	}
	if p.AccuracyKelvin > 0 {
		notes = append(notes, "right to within "+w.apart(p.AccuracyKelvin))
	}
	return dated{What: p.Probe, When: w.fromTo(p.From, to), Note: strings.Join(notes, ", ")}
}

// inCabinet reports whether a place is an incubator that the eggs stood in.
func inCabinet(r review.Record, place string) bool {
	return slices.ContainsFunc(r.Stays, func(s review.Stay) bool { return s.Cabinet && s.Incubator == place })
}

// apart is a difference in the visitor's unit, without a sign.
func (w words) apart(k float64) string {
	if w.fahrenheit {
		return fmt.Sprintf("%.1f"+nbsp+"°F", k*9/5)
	}
	return fmt.Sprintf("%.2g"+nbsp+"K", k)
}

func (w words) excursionLine(laid review.Laid, e review.Excursion) excursionLine {
	l := excursionLine{
		When: w.instant(e.From), Lasted: long(e.To.Sub(e.From)), Worst: w.temp(e.Worst) + nbsp + w.Unit(),
	}
	var limits []string
	for _, c := range e.Limits {
		side := "under "
		if e.High {
			side = "from "
		}
		whose := ""
		if c.Source == review.Own {
			whose = ", set for this place"
		}
		limits = append(limits, c.Title+": "+side+w.temp(c.Celsius)+nbsp+w.Unit()+whose)
	}
	l.Limit = strings.Join(limits, "; ")
	var notes []string
	if e.Settling {
		notes = append(notes, "while settling")
	}
	switch {
	case !e.From.Before(laid.To):
	case e.To.After(laid.To):
		notes = append(notes, "when it began they may not have been laid yet")
	default:
		notes = append(notes, "they may not have been laid yet")
	}
	l.Note = strings.Join(notes, "; ")
	return l
}

// long is a length of time to two figures: 25 min, 3.5 h, 4.1 days.
func long(d time.Duration) string {
	switch {
	case d < time.Minute:
		return "under a minute"
	case d < 2*time.Hour:
		return fmt.Sprintf("%d"+nbsp+"min", d/time.Minute)
	case d < 48*time.Hour:
		return fmt.Sprintf("%.1f"+nbsp+"h", d.Hours())
	}
	return fmt.Sprintf("%.1f"+nbsp+"days", d.Hours()/24)
}
