package web

import (
	"net/http"
	"net/url"

	"clutchd/incubation"
)

const stepsCookie = "clutchd_steps"

// A firstStep is one thing to set up, with the form that does it.
type firstStep struct {
	Title, Why, Do string
	Href           string
	Done           bool
	May            bool // worth doing, and nothing waits for it
	Waits          bool // for a step before it
}

// firstSteps lead from no probes to the first eggs in a box.
type firstSteps struct {
	Next  *firstStep
	Later []firstStep
	Done  []string
	Count int // done
	Of    int
}

// firstSteps gives what is left to set up; nil once eggs lie in a box, or when
// this browser was told to hide it.
func (v *visit) firstSteps() *firstSteps {
	if c, err := v.r.Cookie(stepsCookie); err == nil && c.Value == "hidden" || v.asker.readOnly() {
		return nil
	}
	all := v.allSteps()
	if all[len(all)-1].Done {
		return nil
	}
	b := &firstSteps{Of: len(all)}
	for i, s := range all {
		switch {
		case s.Done:
			b.Count++
			b.Done = append(b.Done, s.Title)
		case b.Next == nil && !s.May:
			b.Next = &all[i]
		default:
			b.Later = append(b.Later, s)
		}
	}
	return b
}

// allSteps are all of them in order; the last is what they are for.
func (v *visit) allSteps() []firstStep {
	b := v.snap.Book
	incubator, box, layBox := v.firstOf(incubation.Incubator), v.firstOf(incubation.Box), v.firstOf(incubation.LayBox)
	probe, placed := v.firstProbe()
	to := func(kind string, pairs ...string) string {
		q := url.Values{"kind": {kind}, "back": {"/"}}
		for i := 0; i+1 < len(pairs); i += 2 {
			if pairs[i+1] != "" {
				q.Set(pairs[i], pairs[i+1])
			}
		}
		return "/entries/new?" + q.Encode()
	}
	clutch, loose, lies := v.firstEggs()
	boxStep := firstStep{
		Title: "An egg box", Why: "Each egg’s record is that of the box it lies in.", Do: "Set up an egg box",
		Href: to("place", "is", "box", "name", "Box 1"), Done: box != "" && v.inIncubator(box),
	}
	if box != "" {
		boxStep.Do, boxStep.Href = "Put the box into the incubator", to("stand", "place", box, "in", incubator)
	}
	return waiting([]firstStep{
		{
			Title: "A probe is heard", Done: len(v.snap.Probes) > 0, Do: "How probes are found", Href: "/help/start",
			Why: "Everything here rests on what is measured. Plug one in: it is found by itself within a minute.",
		},
		{
			Title: "An incubator", Done: incubator != "", Do: "Set up the incubator",
			Href: to("place", "is", "incubator", "name", "Incubator"),
			Why:  "Limits, setpoints and boxes belong to it.",
		},
		{
			Title: "A probe in its place", Done: placed, Do: "Give the probe a place",
			Href: to("probe", "probe", probe, "place", incubator),
			Why:  "A value counts once it is known where it was read.", Waits: probe == "" || incubator == "",
		},
		{
			Title: "The setpoint", Done: len(b.Setpoints) > 0, Do: "Write the setpoint down",
			Href: to("setpoint", "place", incubator),
			Why:  "Nothing here sets it; without it nobody can tell that the thermostat has slipped.", Waits: incubator == "",
		},
		{
			Title: "Limits of your own", Done: len(b.Limits) > 0, Do: "Look at the limits", May: true,
			Href: to("limits", "place", incubator),
			Why:  "Starting limits hold already. Look whether they suit your room.", Waits: incubator == "",
		},
		boxStep,
		{
			Title: "A message reaches you", Done: v.s.messaged.Load(), Do: "Send a test message", Href: "/alerts/message",
			May: true, Why: "An alert that nobody hears is none. Known since this service was started.",
		},
		{
			Title: "A password", Done: v.s.login.needed, Do: "How to set one", Href: "/settings", May: true,
			Why: "Until there is one, the pages open on this machine only.",
		},
		{
			Title: "The first female", Done: v.lives(), Do: "Add her", Href: to("animal", "sex", incubation.Female),
			Why: "What is due, and when her next clutch comes, is learned from her own dates.",
		},
		{
			Title: "Her enclosure, with its rack and slot", Done: v.anyHoused(), Do: "Set up the enclosure", May: true,
			Href: v.homeForm(to),
			Why:  "The round walks the racks in their order, and a code on the slot opens her page.",
		},
		{
			Title: "Her lay box", Done: layBox != "", Do: "Set up the lay box", May: true,
			Href: to("place", "is", "lay-box", "name", "Lay box"),
			Why:  "Eggs may lie there for a day before you find them: its temperature counts too.",
		},
		{
			Title: "The first clutch", Done: len(b.Clutches) > 0, Do: "Write the clutch down",
			Href: to("laying", "place", layBox, "female", v.firstFemale()),
			Why:  "When you last looked and when you found it: day 0 lies between.", Waits: v.firstFemale() == "",
		},
		{
			Title: "The eggs in a box", Done: lies, Do: "Put an egg in a box",
			Href: to("egg", "egg", loose, "place", box, "clutch", clutch),
			Why:  "From here on its own record counts, and the estimate begins.", Waits: loose == "" || box == "",
		},
	})
}

// waiting leaves out the address of steps whose form would have nothing to
// choose from yet.
func waiting(all []firstStep) []firstStep {
	for i := range all {
		if all[i].Waits {
			all[i].Href = ""
		}
	}
	return all
}

// anyHoused reports whether any animal lives in an enclosure.
func (v *visit) anyHoused() bool {
	for _, a := range v.snap.Book.Animals {
		if incubation.At(a.Stays, v.snap.Time) != "" {
			return true
		}
	}
	return false
}

// homeForm sets an enclosure up, or puts the first female into the one there
// is.
func (v *visit) homeForm(to func(kind string, pairs ...string) string) string {
	if home := v.firstOf(incubation.Enclosure); home != "" && v.firstFemale() != "" {
		return to("housed", "animal", v.firstFemale(), "enclosure", home)
	}
	return to("place", "is", string(incubation.Enclosure), "slot", "1")
}

// firstOf is the first place of a kind that is in use; "": there is none.
func (v *visit) firstOf(kind incubation.PlaceKind) string {
	for _, p := range v.snap.Places {
		if p.Kind == kind {
			return p.ID
		}
	}
	return ""
}

func (v *visit) inIncubator(box string) bool {
	p := placeOf(v.snap, box)
	in := placeOf(v.snap, p.In)
	return in != nil && in.Kind == incubation.Incubator
}

// firstProbe is the first that waits for a place, and whether any has one.
func (v *visit) firstProbe() (waits string, placed bool) {
	for _, p := range v.snap.Probes {
		if p.Place != "" {
			placed = true
		} else if waits == "" {
			waits = p.ID
		}
	}
	return waits, placed
}

func (v *visit) firstFemale() string {
	if t := v.turns(""); len(t) > 0 {
		return t[0].animal.ID
	}
	return ""
}

// firstEggs gives a clutch with an egg that lies in no box yet, that egg, and
// whether any egg lies or lay in one.
func (v *visit) firstEggs() (clutch, loose string, lies bool) {
	b := v.snap.Book
	for _, c := range v.snap.Clutches {
		for _, e := range c.Eggs {
			egg := b.Eggs[e.ID]
			if egg == nil {
				continue
			}
			boxed := false
			for _, stay := range egg.Stays {
				if p := b.Places[stay.Place]; p != nil && p.Kind == incubation.Box {
					boxed = true
				}
			}
			lies = lies || boxed
			if !boxed && loose == "" && live(e) {
				clutch, loose = c.ID, e.ID
			}
		}
	}
	return clutch, loose, lies
}

// postSteps hides or shows the first steps in this browser.
func (s *Server) postSteps(v *visit) error {
	value := "hidden"
	if v.r.PostFormValue("show") != "" {
		value = "shown"
	}
	http.SetCookie(v.w, preference(stepsCookie, value))
	http.Redirect(v.w, v.r, "/", http.StatusSeeOther)
	return nil
}
