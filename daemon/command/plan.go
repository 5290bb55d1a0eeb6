package command

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"clutchd/incubation"
)

// A Plan is temperatures to come, each up to a day or a time, the last for
// good. It is written as "32 to day 20, then 28": °C, days after the laying,
// or "to 2026-04-01", UTC.
type Plan []PlanPart

// A PlanPart is one temperature, until a day after the laying or a time, one
// of the two; of the last part neither is set.
type PlanPart struct {
	Celsius incubation.Celsius
	Day     float64
	Until   time.Time
}

// Bounds of a plan, as those of a plan in the book. Judgement.
const (
	planParts = 12
	planDays  = 200
	planLow   = 10 // °C
	planHigh  = 45
)

// ParsePlan reads a plan; "" is the nil one. Its error is a *WrongCall that
// says how to write it.
func ParsePlan(text string) (Plan, error) {
	if text == "" {
		return nil, nil
	}
	words := planWords(strings.Fields(strings.ToLower(strings.ReplaceAll(text, ",", " "))))
	var p Plan
	for {
		part, more, err := words.part()
		if err == nil && len(p) == planParts {
			err = fmt.Errorf("it has more than %d temperatures", planParts)
		}
		if err != nil {
			return nil, planWrong(text, err)
		}
		if p = append(p, part); !more {
			return p, nil
		}
	}
}

func planWrong(text string, err error) error {
	return &WrongCall{
		What: fmt.Sprintf("-plan %.80q: %v", text, err),
		Hint: `such as "32 to day 20, then 28" or "31.5 to 2026-04-01, then 30 to day 40, then 28"`,
	}
}

// planWords are what is still to be read.
type planWords []string

// next takes a word; "" at the end.
func (w *planWords) next() string {
	if len(*w) == 0 {
		return ""
	}
	word := (*w)[0]
	*w = (*w)[1:]
	return word
}

// part reads a temperature and until when it holds; more says that another
// follows.
func (w *planWords) part() (part PlanPart, more bool, err error) {
	word := w.next()
	c, err := strconv.ParseFloat(strings.TrimSuffix(word, "°c"), 64)
	switch {
	case word == "":
		return PlanPart{}, false, fmt.Errorf("a temperature is missing at the end")
	case err != nil || math.IsNaN(c):
		return PlanPart{}, false, fmt.Errorf("%.20q is not a temperature", word)
	case c < planLow || c > planHigh:
		return PlanPart{}, false, fmt.Errorf("%g °C is outside %d to %d °C", c, planLow, planHigh)
	}
	part.Celsius = incubation.Celsius(c)
	if len(*w) > 0 && (*w)[0] == "°c" {
		w.next()
	}
	switch word := w.next(); word {
	case "":
		return part, false, nil
	case "to":
	default:
		return PlanPart{}, false, fmt.Errorf(`%.20q stands where "to" is wanted`, word)
	}
	if err := w.until(&part); err != nil {
		return PlanPart{}, false, err
	}
	switch word := w.next(); word {
	case "then":
		return part, true, nil
	case "":
		return PlanPart{}, false, fmt.Errorf("it does not say what comes then")
	default:
		return PlanPart{}, false, fmt.Errorf(`%.20q stands where "then" is wanted`, word)
	}
}

// until reads "day 20", a date, or a date and a time.
func (w *planWords) until(part *PlanPart) error {
	word := strings.ToUpper(w.next())
	if word == "DAY" {
		number := w.next()
		day, err := strconv.ParseFloat(number, 64)
		if err != nil || !(day > 0 && day <= planDays) {
			return fmt.Errorf("day %.20q: it can be above 0 and up to %d", number, planDays)
		}
		part.Day = day
		return nil
	}
	if len(*w) > 0 && strings.Contains((*w)[0], ":") {
		word += " " + w.next()
	}
	at, _, err := parseWhen(word)
	if err != nil {
		return fmt.Errorf("%.30q is neither a day, as in day 20, nor a date", word)
	}
	part.Until = at
	return nil
}

// String writes the plan as ParsePlan reads it; of the nil one "".
func (p Plan) String() string {
	var parts []string
	for _, part := range p {
		text := strconv.FormatFloat(float64(part.Celsius), 'f', -1, 64)
		switch at := part.Until.UTC(); {
		case part.Day != 0:
			text += " to day " + strconv.FormatFloat(part.Day, 'f', -1, 64)
		case part.Until.IsZero():
		case at.Equal(at.Truncate(24 * time.Hour)):
			text += " to " + at.Format(date)
		default:
			text += " to " + at.Format(time.RFC3339Nano)
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, ", then ")
}

// steps gives the temperatures to come from now on. Days count from the middle
// of the laying, as in the book. The error is a *WrongCall.
func (p Plan) steps(laid incubation.Laying, now time.Time) ([]incubation.Step, error) {
	zero := laid.From.Add(laid.To.Sub(laid.From) / 2)
	var out []incubation.Step
	from := now
	for i, part := range p {
		out = append(out, incubation.Step{From: from, Celsius: part.Celsius})
		if i == len(p)-1 {
			break
		}
		until := part.Until
		if part.Day != 0 {
			until = zero.Add(time.Duration(part.Day * 24 * float64(time.Hour)))
		}
		switch {
		case !until.After(now):
			return nil, planWrong(p.String(), fmt.Errorf("%s is over: the last row is of %s",
				until.Format(minute), now.Format(minute)))
		case !until.After(from):
			return nil, planWrong(p.String(), fmt.Errorf("%s comes before %s", until.Format(minute), from.Format(minute)))
		}
		from = until
	}
	return out, nil
}
