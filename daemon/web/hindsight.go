package web

import (
	"fmt"
	"net/http"
	"slices"

	"clutchd/daemon/monitor"
	"clutchd/incubation/learn"
)

const (
	// judgedFrom is how many eggs it takes before their figures are told
	// without a caution. Judgement: of 10 windows that are to hold 9 of
	// 10, one more or less inside says nothing.
	judgedFrom = 10
	// tellsNothing is the width of an interval from which on it is not told.
	// Judgement.
	tellsNothing = 0.5
	// pastMost is how many eggs the page lists; the API has all.
	pastMost = 50
)

type hindsightBody struct {
	Waits   string // what is still being worked out; "": nothing
	Ready   bool   // past estimates were looked at
	Taught  string
	Lacks   []string // what would teach it more
	Sides   []side
	Few     bool
	Strip   *drawing
	Dots    *drawing
	Eggs    []pastLine
	More    int
	Left    int // ended eggs of which nothing was said
	Mixed   bool
	Partial []string // clutches sexed in part
}

// A side is how one ensemble did.
type side struct {
	Title, Says, Inside, Sexes string
	Bands                      []bandLine
}

// A bandLine is the eggs of which about the same was said.
type bandLine struct {
	Band, Said  string
	Eggs, Males int
	True        string // the interval that the share of males lies in; "": too wide to tell anything
	Off         bool   // what was said lies outside it
}

// hindsight holds past estimates against what came of the eggs.
func (s *Server) hindsight(v *visit) error {
	l := v.snap.Lesson
	b := hindsightBody{Waits: v.lookingBack(), Ready: l.Hindsight.Eggs != nil, Taught: taught(l)}
	if l.Effective > 0 {
		b.Lacks = lacks(l)
	}
	if b.Ready {
		v.lookBack(&b, l.Hindsight)
	}
	f := frame{Title: "What was said, and what came", Nav: "clutches", Body: b}
	return v.render("hindsight", f, http.StatusOK)
}

// lookingBack says what is not known yet: nothing after a start, then what
// was learned, then how good past estimates were.
func (v *visit) lookingBack() string {
	l := v.snap.Lesson
	switch {
	case l.Hindsight.Eggs != nil:
		return ""
	case !v.snap.Trusted:
		return "This waits until the clock is set."
	case l.Failed:
		return "What came of the eggs could not be worked out; the log says why. Estimates go on as before."
	case l.Effective == 0:
		return "What the eggs that ended have taught is being worked out from their records. After " +
			"a start that takes a while."
	}
	return "Past estimates are being held against what came of them. That takes a while more."
}

// taught is what estimates of live eggs rest on beside what ships; "":
// nothing, or nothing is known of it yet.
func taught(l monitor.Lesson) string {
	if l.Clutches == 0 {
		return ""
	}
	return fmt.Sprintf("The estimates of live eggs have learned from %s of this room (%s, %s).",
		several(l.Clutches, "clutch", "clutches"), several(l.Hatches, "hatch", "hatches"),
		several(l.Sexes, "sexed animal", "sexed animals"))
}

// taughtLine is the same for other pages, the shortest way.
func taughtLine(l monitor.Lesson) string {
	if l.Clutches == 0 {
		return ""
	}
	return "Estimates have learned from " + several(l.Clutches, "clutch", "clutches") +
		" of this room."
}

// lacks says what would teach the estimates what they have not learned.
func lacks(l monitor.Lesson) []string {
	var out []string
	if l.Clutches == 0 {
		out = append(out, "The estimates have learned nothing from this room yet.")
	}
	if l.Hatches == 0 {
		out = append(out, "An egg that hatches teaches them dates: write it down on the day it is "+
			"found.")
	}
	if l.Sexes == 0 {
		out = append(out, "An animal whose sex was seen on it teaches them sex: look at two to four "+
			"months. A sex told from the temperature teaches nothing: it only says again what the "+
			"estimate said.")
	}
	return out
}

func (v *visit) lookBack(b *hindsightBody, h learn.Hindsight) {
	if len(h.Eggs) > 0 {
		b.Sides = []side{
			sideOf("The estimate as it ships", h.Shipped, h.Eggs, shippedOf),
			sideOf("With what this room had taught", h.Learned, h.Eggs, learnedOf),
		}
	}
	b.Few = len(h.Eggs) > 0 && h.Shipped.Hatched < judgedFrom
	eggs := newestFirst(v.snap)
	eggs = eggs[:min(len(eggs), pastMost)]
	b.Strip, b.Dots = strip(v.pastDots(eggs)), dots(h)
	for _, p := range eggs {
		b.Eggs = append(b.Eggs, v.pastLine(p))
	}
	b.More = len(h.Eggs) - len(b.Eggs)
	for _, e := range v.snap.Book.Eggs {
		if !e.Live() && !slices.ContainsFunc(h.Eggs, func(p learn.Past) bool { return p.Egg == e.ID }) {
			b.Left++
		}
	}
	for id, c := range v.snap.Book.Clutches {
		b.Mixed = b.Mixed || c.Mixed.Sexed.How.Seen()
		if c.SexingGap(v.snap.Time).Partial {
			b.Partial = append(b.Partial, id)
		}
	}
	slices.Sort(b.Partial)
}

func shippedOf(p learn.Past) learn.Said { return p.Shipped }
func learnedOf(p learn.Past) learn.Said { return p.Learned }

func sideOf(title string, m learn.Marks, eggs []learn.Past, of func(learn.Past) learn.Said) side {
	out := side{Title: title, Says: hatchesSay(m), Sexes: sexesSay(eggs, of)}
	if m.Hatched >= judgedFrom {
		out.Inside = insideSays(m)
	}
	for _, b := range m.Reliability {
		if b.Eggs > 0 {
			out.Bands = append(out.Bands, bandLineOf(b))
		}
	}
	return out
}

// hatchesSay tells how far dates were off, in a keeper's words.
func hatchesSay(m learn.Marks) string {
	long := " days long."
	if daysOf(m.WidthDays) == "1.0" {
		long = " day long."
	}
	switch m.Hatched {
	case 0:
		return "No egg that had a window has hatched."
	case 1:
		where := "inside"
		if m.Inside == 0 {
			where = "outside"
		}
		return fmt.Sprintf("One egg hatched, %s the window that is to hold 9 of 10, %s. "+
			"The window was %s%s", where, lateness(m.LateDays, "the likeliest date"),
			daysOf(m.WidthDays), long)
	}
	return fmt.Sprintf("Of %d eggs that hatched, %d came inside the window that is to hold 9 of 10; "+
		"on average %s days from the likeliest date, %s. Windows were %s%s", m.Hatched, m.Inside,
		daysOf(m.OffDays), lateness(m.LateDays, "said"), daysOf(m.WidthDays), long)
}

// lateness is a difference in days, above 0 later.
func lateness(days float64, than string) string {
	text := daysOf(max(days, -days))
	switch {
	case text == "0.0":
		return "neither earlier nor later than " + than
	case days < 0:
		return text + " days earlier than " + than
	}
	return text + " days later than " + than
}

func daysOf(days float64) string { return fmt.Sprintf("%.1f", days) }

// insideSays tells what the count of eggs inside says of windows to come.
func insideSays(m learn.Marks) string {
	low, high := learn.Wilson(m.Inside, m.Hatched)
	text := "By these eggs a window holds between " + percent(low) + " and " + percent(high) +
		" of them"
	switch {
	case high < 0.9:
		return text + ": fewer than it should. Do not rely on its edges."
	case low > 0.9:
		return text + ": more than it need."
	}
	return text + ", so 9 of 10 may be true."
}

// sexesSay tells how often the likelier sex came.
func sexesSay(eggs []learn.Past, of func(learn.Past) learn.Said) string {
	sexed, right := 0, 0
	for _, p := range eggs {
		if p.Sex == "" {
			continue
		}
		sexed++
		if male := of(p).Male; male > 0.5 && p.Sex == "male" || male < 0.5 && p.Sex == "female" {
			right++
		}
	}
	if sexed == 0 {
		return ""
	}
	text := fmt.Sprintf("Of %s whose egg is known, %d came as the sex that was said to be likelier.",
		several(sexed, "sexed animal", "sexed animals"), right)
	if sexed < judgedFrom {
		text += " Too few to judge by."
	}
	return text
}

func bandWord(b learn.Band) string {
	switch {
	case b.From <= 0:
		return "under " + percent(b.To)
	case b.To >= 1:
		return percent(b.From) + " or more"
	}
	return between(b.From, b.To)
}

func bandLineOf(b learn.Band) bandLine {
	l := bandLine{Band: bandWord(b), Said: share(b.Said), Eggs: b.Eggs, Males: b.Males}
	if b.High-b.Low <= tellsNothing {
		l.True, l.Off = between(b.Low, b.High), b.Said < b.Low || b.Said > b.High
	}
	return l
}

// several is a count with its noun.
func several(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprint(n, " ", more)
}
