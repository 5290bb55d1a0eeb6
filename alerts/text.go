package alerts

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"
)

// A Scale is the scale in which texts give temperatures.
type Scale uint8

// The scales.
const (
	InCelsius Scale = iota
	InFahrenheit
)

// maxNames is how many eggs or boxes a text names before it counts the rest;
// roomForAll is about how long it may become, in characters: a phone shows some
// three hundred, and a reminder begins with a sentence of its own.
const (
	maxNames   = 8
	roomForAll = 240
)

// Say gives the text of an alert in its present phase. What is known of this
// moment comes from o, the times and the worst value from s.
//
// Placeholders: {name}, and {Name} at the start of a sentence; {in} " in Box
// 3" or nothing; {value} now and {worst} in this occurrence; {limit}; {off}
// "1.6 over its setpoint"; {for} how long; {detail} " " and Observation.Detail
// or nothing.
func Say(r Rule, s State, o Observation, now time.Time) string {
	in := words{rule: r, state: s, seen: o, now: now}
	switch {
	case !s.Told() || s.Latched:
		return in.fill(r.Text.Over)
	case s.Chatters && s.Phase == InOffDelay:
		return sentences(in.fill(r.Text.Over), s.comesAndGoes(r.flapping()))
	}
	parts := []string{in.fill(r.Text.Now), in.fill(r.Text.First), s.comesAndGoes(r.flapping())}
	room := roomForAll - len([]rune(sentences(parts...)))
	boxes := in.boxes(room * 2 / 3)
	eggs := in.eggs(room - len([]rune(boxes)))
	return sentences(parts[0], boxes, eggs, parts[1], parts[2])
}

// sentences joins those that there are.
func sentences(parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(part string) bool { return part == "" }), " ")
}

// words fills the placeholders of one text.
type words struct {
	rule  Rule
	state State
	seen  Observation
	now   time.Time
}

func (w words) fill(text string) string {
	name := w.state.name()
	return strings.NewReplacer(
		"{name}", name,
		"{Name}", capital(name),
		"{in}", before(" in ", plain(w.seen.Place)),
		"{value}", w.amount(cmp.Or(w.seen.Value, w.state.Value)),
		"{worst}", w.amount(cmp.Or(w.state.Value, w.seen.Value)),
		"{limit}", w.amount(cmp.Or(w.state.Limit, w.seen.limit())),
		"{off}", w.off(),
		"{for}", Lasting(w.lasted()),
		"{detail}", before(" ", plain(w.seen.Detail)),
	).Replace(text)
}

// name is what people call the subject.
func (s State) name() string { return plain(cmp.Or(s.Subject.Name, s.Subject.ID)) }

// lasted is how long the condition held, or holds.
func (w words) lasted() time.Duration {
	if !w.state.Ended.IsZero() {
		return w.state.Ended.Sub(w.state.Since)
	}
	return w.now.Sub(w.state.Since)
}

func (w words) amount(v *float64) string {
	if v == nil || !finite(*v) {
		return "not known"
	}
	return Amount(*v, w.rule.Unit, w.seen.Scale)
}

// off tells how far the value is from the setpoint, or that it is past its
// limit if no setpoint is known.
func (w words) off() string {
	v := cmp.Or(w.seen.Value, w.state.Value)
	if v == nil || w.seen.Setpoint == nil || !finite(*v) || !finite(*w.seen.Setpoint) {
		return "past its limit"
	}
	d, side := *v-*w.seen.Setpoint, "over"
	if d < 0 {
		d, side = -d, "under"
	}
	return fmt.Sprintf("%s %s its setpoint", Difference(d, w.seen.Scale), side)
}

// boxes names the boxes that stand in what the alert is about.
func (w words) boxes(room int) string {
	switch {
	case len(w.seen.Boxes) == 0:
		return ""
	case w.seen.ByBoxes:
		return "So say " + some(w.seen.Boxes, room-len("So say .")) + "."
	}
	return "In it: " + some(w.seen.Boxes, room-len("In it: .")) + "."
}

// eggs names the eggs that the alert touches.
func (w words) eggs(room int) string {
	marks := w.seen.Marks
	if len(marks) == 0 {
		marks = w.seen.Eggs
	}
	if len(marks) == 0 || w.state.Subject.Kind == EggSubject {
		return ""
	}
	word := "Eggs"
	if len(marks) == 1 {
		word = "Egg"
	}
	return word + " " + some(marks, room-len("Eggs .")) + "."
}

// some names as many as there is room for, at least two, a clutch's, and counts
// the rest.
func some(names []string, room int) string {
	n := min(len(names), maxNames)
	for ; n > 2; n-- {
		if len([]rune(counted(names, n))) <= room {
			break
		}
	}
	return counted(names, n)
}

func counted(names []string, n int) string {
	text := plain(strings.Join(names[:n], ", "))
	if rest := len(names) - n; rest > 0 {
		text += fmt.Sprintf(" and %d more", rest)
	}
	return text
}

// Amount writes a value with its unit: "33.1 °C", "72 %", "12 min".
func Amount(v float64, unit string, scale Scale) string {
	switch {
	case unit == "celsius" && scale == InFahrenheit:
		return fmt.Sprintf("%.1f °F", zero(v*1.8+32))
	case unit == "celsius":
		return fmt.Sprintf("%.1f °C", zero(v))
	case unit == "ratio":
		return fmt.Sprintf("%.0f %%", zero(v*100))
	case unit == "seconds":
		return Lasting(seconds(v))
	}
	return strings.TrimSpace(fmt.Sprintf("%g %s", v, unit))
}

// Difference writes a difference of temperatures given in K, without a unit.
func Difference(k float64, scale Scale) string {
	if scale == InFahrenheit {
		k *= 1.8
	}
	return fmt.Sprintf("%.1f", zero(k))
}

// zero keeps a value that rounds to nothing from being written "-0.0".
func zero(v float64) float64 {
	if math.Abs(v) < 0.05 {
		return 0
	}
	return v
}

// seconds turns seconds into a duration, held within what one can be.
func seconds(v float64) time.Duration {
	const most = 100 * 365 * 24 * 3600
	return time.Duration(min(max(v, 0), most) * float64(time.Second))
}

// Lasting writes a duration as a person would say it, rounded down: "40 s",
// "12 min", "3 h 5 min", "2 d 4 h".
func Lasting(d time.Duration) string {
	switch {
	case d < time.Minute:
		return fmt.Sprintf("%d s", int64(max(d, 0)/time.Second))
	case d < time.Hour:
		return fmt.Sprintf("%d min", d/time.Minute)
	case d < 48*time.Hour:
		return two(int64(d/time.Hour), "h", int64(d%time.Hour/time.Minute), "min")
	}
	return two(int64(d/(24*time.Hour)), "d", int64(d%(24*time.Hour)/time.Hour), "h")
}

func two(a int64, unitA string, b int64, unitB string) string {
	if b == 0 {
		return fmt.Sprintf("%d %s", a, unitA)
	}
	return fmt.Sprintf("%d %s %d %s", a, unitA, b, unitB)
}

// before puts a joint before a part, if there is one.
func before(joint, part string) string {
	if part == "" {
		return ""
	}
	return joint + part
}

// capital gives the text with a first letter fit to begin a sentence.
func capital(text string) string {
	for _, r := range text {
		return string(unicode.ToUpper(r)) + strings.TrimPrefix(text, string(r))
	}
	return text
}

// plain makes text from outside fit for one line.
func plain(text string) string {
	return strings.Join(strings.FieldsFunc(text, func(r rune) bool {
		return unicode.IsSpace(r) || unicode.IsControl(r) || r == unicode.ReplacementChar
	}), " ")
}
