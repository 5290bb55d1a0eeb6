package command

import (
	"fmt"
	"io"
	"strings"
	"time"

	"clutchd/incubation"
)

const minute, date = "2006-01-02 15:04", "2006-01-02"

// A sheet is a text of labelled lines.
type sheet struct{ lines strings.Builder }

func (s *sheet) line(label, format string, a ...any) {
	text := fmt.Sprintf("%-13s%s", label, fmt.Sprintf(format, a...))
	fmt.Fprintln(&s.lines, strings.TrimRight(text, " "))
}

// tell writes an estimate for the keeper. Its times are UTC.
func tell(w io.Writer, q inquiry, r result) error {
	var s sheet
	s.record(q)
	s.line("", "")
	s.sex(q, r)
	s.hatch(q, r.Hatch)
	d, b := r.Development, r.Basis
	s.line("development", "%s of the way from laying to hatching", percent(d.Fraction, d.Low, d.High))
	s.line("rests on", "of the days that set the sex: "+
		"%s measured, %s guessed across gaps, %s still to come",
		share(b.Measured), share(b.Gap), share(b.Projected))
	s.line("", "%s", q.flags.probe())
	s.narrowing(r.Narrowing)
	s.harm(r.Harm, q.ensemble.Profile.Limits)
	s.line("", "")
	s.line("", "In brackets: 9 in 10 of what is plausible. All times are UTC.")
	s.text("", r.Note)
	_, err := io.WriteString(w, s.lines.String())
	return err
}

func (s *sheet) record(q inquiry) {
	s.line("record", "%s, %s to %s%s", counted(len(q.log.Readings), "reading"),
		q.first().Format(minute), q.last().Format(minute), every(q.log.Interval))
	for _, note := range q.log.Notes {
		s.line("", "%s", note)
	}
	for _, gap := range q.log.Gaps[:min(len(q.log.Gaps), 5)] {
		s.line("", "nothing from %s to %s", gap.From.Format(minute), gap.To.Format(minute))
	}
	if more := len(q.log.Gaps) - 5; more > 0 {
		s.line("", "and %s more", counted(more, "gap"))
	}
	switch {
	case q.assumed:
		s.line("laid", "%s, taken from the first row: say -laid if it was at another time",
			q.laid.From.Format(minute))
	case q.laid.From.Equal(q.laid.To):
		s.line("laid", "%s", q.laid.From.Format(minute))
	default:
		s.line("laid", "between %s and %s", q.laid.From.Format(minute), q.laid.To.Format(minute))
	}
	s.beyond(q)
	s.line("now", "%s, the last row: day %.0f", q.last().Format(minute),
		q.last().Sub(q.laid.From).Hours()/24)
	if len(q.plan) > 0 {
		s.line("plan", "%s (°C)", q.plan)
		s.careful(q)
	}
}

// careful says what speaks against a plan, whatever sex it gives.
func (s *sheet) careful(q inquiry) {
	l := q.ensemble.Profile.Limits
	for _, w := range l.Warn(q.steps) {
		switch w {
		case incubation.TooWarm:
			s.line("careful", "above %g °C eggs of this species die", l.High.Value)
		case incubation.NearLimit:
			s.line("careful", "that is near %g °C, above which eggs of this species die", l.High.Value)
		case incubation.TooCold:
			s.line("careful", "that is below %g °C, this species' lower limit", l.Low.Value)
		case incubation.Unhatched:
			s.line("careful", "no hatching at a constant temperature below %g °C is published", l.Hatched.Value)
		}
	}
}

// beyond tells where laying and record do not meet.
func (s *sheet) beyond(q inquiry) {
	before := 0
	for before < len(q.log.Readings) && q.log.Readings[before].Time.Before(q.laid.From) {
		before++
	}
	if before > 0 {
		s.line("", "%s from before that left out", counted(before, "reading"))
	}
	if late := q.first().Sub(q.laid.To); late > incubation.Lapse {
		s.line("", "the record begins only %.1f days later: what was before is guessed", late.Hours()/24)
	}
}

func (s *sheet) sex(q inquiry, r result) {
	if r.TSP.Opens.IsZero() {
		s.line("sex",
			"no telling: eggs do not come to the days that set the sex within a year as things stand")
		return
	}
	s.line("sex", "%s; male: %s", r.Sex.Words, percent(r.Sex.MaleProbability, r.Sex.Low, r.Sex.High))
	if r.CTE != nil {
		s.line("", "as at a constant %.2f °C (%.2f to %.2f)", r.CTE.Value, r.CTE.Low, r.CTE.High)
	}
	s.line("", "%s", setting(r.TSP))
	if by, hour := r.TSP.DecideBy(q.last(), time.UTC); !by.IsZero() {
		s.line("decide by", "%s; later a change of temperature may no longer move the odds by ten points",
			decided(by, hour))
	}
	s.line(fmt.Sprintf("of %s", counted(len(r.Males)-1, "egg")), "%s", males(r.Males))
}

// setting says when the temperature sets the sex.
func setting(t incubation.TSP) string {
	opens, closes := "about "+t.Opens.Format(date), "more than a year from now"
	if !t.Closes.IsZero() {
		closes = "about " + t.Closes.Format(date)
	}
	switch t.State {
	case incubation.TSPBefore:
		return fmt.Sprintf("a forecast: it will be set from %s to %s", opens, closes)
	case incubation.TSPOpen:
		return fmt.Sprintf("it is being set from %s to %s: %s of that is over", opens, closes,
			share(t.Done))
	}
	return fmt.Sprintf("it was set from %s to %s: temperature changes it no more", opens, closes)
}

// decided says a time to decide by, to the hour only where that is told.
func decided(by time.Time, hour bool) string {
	if hour {
		return by.Format(minute)
	}
	return by.Format(date)
}

// males says the chance of each number of males.
func males(chances []float64) string {
	var out []string
	for k, chance := range chances {
		number := "no male"
		if k > 0 {
			number = counted(k, "male")
		}
		out = append(out, number+" "+share(chance))
	}
	return strings.Join(out, ", ")
}

// share says a ratio; nothing that may happen is said never to.
func share(ratio float64) string {
	switch {
	case ratio > 0 && ratio < 0.005:
		return "under 1 %"
	case ratio < 1 && ratio >= 0.995:
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*ratio)
}

// percent says a ratio with its interval.
func percent(value, low, high float64) string {
	from, to := share(low), share(high)
	return fmt.Sprintf("%s (%s to %s)", share(value), strings.TrimSuffix(from, " %"), strings.TrimSuffix(to, " %"))
}

func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// every says the step of a record, "" where it has none.
func every(step time.Duration) string {
	if step == 0 {
		return ""
	}
	text := step.String()
	for _, zero := range []string{"m0s", "h0m"} {
		if cut, ok := strings.CutSuffix(text, zero); ok {
			text = cut + zero[:1]
		}
	}
	return ", one every " + text
}
