package review

import (
	"fmt"
	"math"

	"clutchd/incubation"
)

// say puts down what a reader must know to take the numbers for what they are.
func (r *Review) say() {
	r.Said = []string{}
	add := func(text string) {
		if text != "" {
			r.Said = append(r.Said, text)
		}
	}
	add(r.saidOfEstimates())
	for i := range r.Records {
		whose := r.whose(i)
		for _, text := range []string{
			r.Records[i].saidOfSilence(), r.Records[i].saidOfProbes(), r.Records[i].saidOfDoubt(),
		} {
			if text != "" {
				add(whose + text)
			}
		}
	}
	add(r.saidOfExcursions())
	add(r.saidOfSires())
	add(r.saidOfSexes())
}

// whose names the eggs of a record where there are several records.
func (r *Review) whose(record int) string {
	if len(r.Records) < 2 {
		return ""
	}
	marks := ""
	n := 0
	for _, e := range r.Eggs {
		if e.Record == record {
			if n++; n > 1 {
				marks += ", "
			}
			marks += e.Mark
		}
	}
	if n == 1 {
		return "Egg " + marks + ": "
	}
	return "Eggs " + marks + ": "
}

func (r *Review) saidOfEstimates() string {
	ended, course := false, false
	for _, e := range r.Eggs {
		ended = ended || !e.Live() && e.Estimate != nil
		course = course || len(e.Course) > 1
	}
	text := ""
	if ended {
		text = "The estimate of an egg that ended is made from its record alone, by the model as it " +
			"ships, and has not seen what came of it."
	}
	if course {
		if text != "" {
			text += " "
		}
		text += "The estimate over time is what this program makes today of the readings up to each day and " +
			"the plan in force then; it is no copy of what a page showed."
	}
	return text
}

// saidOfSilence tells how much of the time nothing was read.
func (r *Record) saidOfSilence() string {
	if r.Readings == 0 {
		return "No reading speaks for this time."
	}
	silent := 0.0
	for _, g := range r.Gaps {
		silent += g.Seconds
	}
	whole := r.To.Sub(r.From).Seconds()
	switch share := silent / whole; {
	case silent == 0:
		return ""
	case share < 0.005:
		return "No reading speaks for less than 1 % of the time."
	default:
		return fmt.Sprintf("No reading speaks for %.0f %% of the time; what the eggs lay at then is not known.",
			math.Round(100*share))
	}
}

// saidOfProbes tells how near the probes lay, and whether any had been held
// against something true.
func (r *Record) saidOfProbes() string {
	near, calibrated, all := incubation.Position(""), 0.0, 0.0
	for _, p := range r.Probes {
		s := p.CountedSeconds()
		if s == 0 {
			continue
		}
		all += s
		if p.Calibrated {
			calibrated += s
		}
		if near == "" || p.Position.Rank() < near.Rank() {
			near = p.Position
		}
	}
	if all == 0 {
		return ""
	}
	text := ""
	switch near {
	case incubation.Substrate:
	case incubation.BoxAir:
		text = "No probe lay in the substrate beside the eggs: what is told is the air of their box. "
	default:
		text = "No probe lay in their box: what is told is the air around it, and eggs may differ from that by about 2 K. "
	}
	switch {
	case calibrated == 0:
		text += "No probe that counts had been compared with something true."
	case calibrated < 0.995*all:
		text += fmt.Sprintf("For %.0f %% of the time the probes that count had been compared with something true.",
			100*calibrated/all)
	}
	return trimmed(text)
}

func trimmed(s string) string {
	for len(s) > 0 && s[len(s)-1] == ' ' {
		s = s[:len(s)-1]
	}
	return s
}

func (r *Record) saidOfDoubt() string {
	text := ""
	if hours := r.Doubtful / 3600; hours >= 0.05 {
		text = fmt.Sprintf("For %.1f h only readings in grave doubt speak (frozen, slipped or jumped).", hours)
	}
	if r.Damaged > 0 {
		text += fmt.Sprintf(" %d stored stretches could not be read and count as gaps.", r.Damaged)
	}
	if len(text) > 0 && text[0] == ' ' {
		text = text[1:]
	}
	return text
}

func (r *Review) saidOfExcursions() string {
	brief, any := 0, false
	for _, k := range r.Records {
		for _, e := range k.Excursions {
			any = true
			if e.Brief {
				brief++
			}
		}
	}
	if !any {
		return ""
	}
	text := "An excursion is a stretch outside the limit of an alert that was in force then: the place's own " +
		"where it had one, else what the rule starts with. " + incubation.Unpriced
	if brief > 0 {
		text += fmt.Sprintf(" %d of them were too short to raise an alert.", brief)
	}
	return text
}

func (r *Review) saidOfSires() string {
	switch len(r.Sires) {
	case 0:
		return "No pairing of the year before this laying is written down: the father is not known."
	case 1:
		return ""
	}
	return fmt.Sprintf("She was with %d males in the year before this laying and may store sperm: which of "+
		"them is the father is not known (common practice, no source).", len(r.Sires))
}

func (r *Review) saidOfSexes() string {
	for _, e := range r.Eggs {
		if e.SexHow == incubation.ByTemperature {
			return "A sex that was told from the temperature was not seen on the animal: it only repeats what an " +
				"estimate says."
		}
	}
	return ""
}
