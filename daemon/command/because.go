package command

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"clutchd/incubation"
)

// sheetWidth is how many columns of text stand beside the labels.
const sheetWidth = 77

// nbsp holds a number and its sign together until the lines are made.
const nbsp = "\u00a0"

// text writes a text of any length beside a label, wrapped.
func (s *sheet) text(label, text string) {
	line := ""
	for word := range strings.SplitSeq(text, " ") {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > sheetWidth {
			s.line(label, "%s", strings.ReplaceAll(line, nbsp, " "))
			label, line = "", ""
		}
		line = strings.TrimPrefix(line+" "+word, " ")
	}
	s.line(label, "%s", strings.ReplaceAll(line, nbsp, " "))
}

// probe says where the probe lay and how far it may be off.
func (f estimateFlags) probe() string {
	place := map[incubation.Position]string{
		incubation.Substrate:    "in the substrate beside the eggs",
		incubation.BoxAir:       "in the air of the box",
		incubation.IncubatorAir: "in the air of the incubator",
	}[incubation.Position(f.position)]
	if f.accuracy == 0 {
		return fmt.Sprintf("a probe %s, of unknown accuracy: taken as right to within %.1f K", place,
			incubation.UnknownAccuracy)
	}
	return fmt.Sprintf("a probe %s, right to within %g K", place, f.accuracy)
}

// narrowing says what would make the estimate surer.
func (s *sheet) narrowing(each []narrowing) {
	if len(each) == 0 {
		return
	}
	label := "surer"
	for _, n := range each {
		s.text(label, n.Text)
		label = ""
	}
	s.text("", "Whatever is left over all of these is what the literature does not know.")
}

// harm tells of time outside the species' limits, with what is published of
// them beside it; it makes no chance of survival of that.
func (s *sheet) harm(h *incubation.Harm, l incubation.LimitSet) {
	if h == nil {
		return
	}
	for _, side := range []struct {
		label, over, farthest string
		x                     incubation.Excess
		limit                 incubation.Number
	}{
		{"too warm", "above", "warmest", h.Above, l.High}, {"too cold", "below", "coldest", h.Below, l.Low},
	} {
		if side.x.Minutes == 0 {
			continue
		}
		s.line(side.label, "%s %s %.1f °C in all, %s at a stretch; %.0f degree-minutes",
			lasting(side.x.Minutes), side.over, side.x.Limit, lasting(side.x.Longest), side.x.DegreeMinutes)
		s.line("", "%s %.1f °C, about %s", side.farthest, side.x.Worst, side.x.At.Format(minute))
		s.text("", fmt.Sprintf("This limit is %s: %s.", side.limit.Mark.Says(), side.limit.Cite(plain, "°C")))
	}
	s.text("", incubation.Unpriced)
}

func plain(c incubation.Celsius) string { return strconv.FormatFloat(float64(c), 'f', -1, 64) }

// lasting writes minutes as a person would say them.
func lasting(minutes float64) string {
	d := time.Duration(minutes * float64(time.Minute)).Round(time.Minute)
	switch {
	case d < time.Minute:
		return "under a minute"
	case d < 2*time.Hour:
		return fmt.Sprintf("%.0f min", d.Minutes())
	case d < 48*time.Hour:
		return fmt.Sprintf("%.1f h", d.Hours())
	}
	return fmt.Sprintf("%.1f days", d.Hours()/24)
}
