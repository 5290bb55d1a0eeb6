package web

import (
	"fmt"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/season"
)

// What the season's rhythm says of animals, in one place.

// against is what stands in the way of a pairing, or warns of it; none: nothing
// does. It forbids nothing.
func (v *visit) against(female, male string) []string {
	b := v.snap.Book
	if b.Animals[female] == nil || b.Animals[male] == nil {
		return nil
	}
	stops, warns := judged(v.rhythm().Pairable(female, male))
	return append(stops, warns...)
}

// judged parts what a verdict holds against a pairing from what it warns of.
func judged(j season.Verdict) (stops, warns []string) {
	for _, g := range j.Gates {
		if !g.Pass {
			stops = append(stops, unstopped(g.Says))
		}
	}
	for _, w := range j.Warnings { // close kin among them
		warns = append(warns, unstopped(w))
	}
	return stops, warns
}

// lastSure is an animal's newest check that named a stage; nil: none did.
func lastSure(a *incubation.Animal) *incubation.Check {
	for i := len(a.Checks) - 1; i >= 0; i-- {
		if a.Checks[i].Stage != incubation.Unsure {
			return &a.Checks[i]
		}
	}
	return nil
}

// receptive tells what a paper says of females at the stage that a check saw;
// "": nothing.
func receptive(j season.Verdict, seen *incubation.Check) string {
	if j.Receptive == nil || seen == nil {
		return ""
	}
	for _, r := range season.Receptivity() {
		if r.Stage == seen.Stage && (r.Size == "" || r.Size == seen.Size) {
			return "At her stage, " + sawWords(incubation.Check{Stage: seen.Stage, Size: seen.Size}) + " (the paper’s “" + r.Paper + "”), " + percent(r.Share) +
				" of females were receptive (" + season.RhenSource + "; that what shows is that stage is judgement)."
		}
	}
	return ""
}

// unstopped leaves out a sentence's stop, where it stands within another.
func unstopped(s string) string { return strings.TrimSuffix(strings.TrimSpace(s), ".") }

// longPast is how long a list still tells of a laying that did not come: it
// says less and less.
const longPast = 14 * 24 * time.Hour

// nextOf is what is expected of a female next; "": nothing is.
func (v *visit) nextOf(a *incubation.Animal) string {
	n := v.rhythm().Rhythm(a.ID).Next
	switch {
	case n == nil || v.snap.Time.Sub(n.By) > longPast:
		return ""
	case n.Past:
		return "laying was expected by " + v.say.day(n.By)
	}
	return "laying expected " + v.say.days(n.From, n.By)
}

// nextSays tells the same as sentences, with what it goes by.
func (v *visit) nextSays(n *season.Expected) string {
	switch rests := capital(unstopped(n.Rests)) + "."; {
	case n.Past:
		return "A laying was expected by " + v.say.day(n.By) + "; that it did not come neither reassures nor alarms. " + rests
	default:
		return "Laying expected " + v.say.days(n.From, n.By) + " (" + percent(n.Probability) + ", if she lays). " + rests
	}
}

// siresOf says who may be a clutch's sire; "": nobody can say.
func (v *visit) siresOf(clutch string) string {
	p := v.rhythm().Sires(clutch)
	var out []string
	for _, s := range p.Sires {
		out = append(out, v.snap.Book.Name(s.Male)+" ("+s.Words+": "+unstopped(s.Why)+")")
	}
	if len(out) == 0 {
		return p.Says
	}
	return "Possible sires: " + strings.Join(out, "; ")
}

// shownDue is how many due things an animal's page lists: more stand under
// Today.
const shownDue = 4

// think fills in what follows from a female's rhythm.
func (v *visit) think(a *incubation.Animal, b *animalBody) {
	if !a.Here() {
		return
	}
	h := v.rhythm()
	for _, i := range v.dueNow() {
		if len(i.Animals) == 0 || i.Animals[0] != a.ID {
			continue
		}
		if len(b.Due) == shownDue && i.Urgency != season.Now {
			b.MoreDue++
			continue
		}
		b.Due = append(b.Due, wantLine{Do: i.Do, Why: i.Why, Word: urgencyWord(i.Urgency), Vet: i.Urgency == season.Now})
	}
	r, all := h.Rhythm(a.ID), h.Rhythm("") // of one nobody knows: what the herd says
	b.Rhythm = append(b.Rhythm, rhythmOf("Between clutches", r.Interval, all.Interval),
		rhythmOf("Between cycles, unbred", r.Cycle, all.Cycle), rhythmOf("White eggs to laying", r.Gravid, all.Gravid),
		rhythmOf("Follicles after a resorption", r.Pause, all.Pause))
	b.Clutched = fmt.Sprintf("Season %s: %s.", r.Season.Name, counted(r.Clutches, "clutch", "clutches"))
	if r.Next != nil {
		b.Next = v.nextSays(r.Next)
	}
	if o := r.Opens; !o.From.IsZero() {
		b.Opens = "The next opens " + v.say.days(o.From, o.By) + ": " + unstopped(o.Says) + "."
	}
}

func counted(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, more)
}

func rhythmOf(name string, hers, herd season.Learned) rhythmLine {
	days := func(l season.Learned) string {
		return plainly(l.Days, 0) + " (" + plainly(l.Low, 0) + "–" + plainly(l.High, 0) + ")"
	}
	return rhythmLine{Name: name, Days: days(hers), Herd: days(herd), Rests: hers.Says}
}

func urgencyWord(u season.Urgency) string {
	switch u {
	case season.Now:
		return "vet"
	case season.Overdue:
		return "late"
	case season.ThisWeek:
		return "this week"
	}
	return string(u)
}

func (v *visit) rhythm() *season.Herd { return v.look().herd }

func (v *visit) dueNow() []season.Item { return v.look().due() }
