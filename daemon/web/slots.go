package web

import (
	"net/http"
	"slices"
	"strings"

	"clutchd/incubation"
)

// slotBody is an enclosure in which no animal lives, or more than one.
type slotBody struct {
	Place, Name, Slot string
	Animals           []turnLine
	Homeless          []turnLine // animals without an enclosure
}

// slot is what the code on a rack's slot opens: the animal that lives there.
func (s *Server) slot(v *visit) error {
	id := v.r.PathValue("place")
	p := placeOf(v.snap, id)
	if p == nil {
		return missing{"place " + id}
	}
	if p.Kind != incubation.Enclosure {
		http.Redirect(v.w, v.r, "/places/"+id, http.StatusSeeOther)
		return nil
	}
	b := slotBody{Place: id, Name: p.Name}
	if p.Slot > 0 {
		b.Slot = turn{rack: p.Rack, slot: p.Slot}.slotSays()
	}
	var href string
	for _, a := range v.livingHere() {
		l := turnLine{Name: v.snap.Book.Name(a.ID), Href: pageOf(a), Says: a.Sex}
		if a.Sex == incubation.Female {
			l.Says = v.lastSeen(v.condition(a))
		}
		switch incubation.At(a.Stays, v.snap.Time) {
		case id:
			b.Animals, href = append(b.Animals, l), l.Href
		case "":
			l.Href = "/entries/new?kind=housed&animal=" + a.ID + "&enclosure=" + id + "&back=/slots/" + id
			b.Homeless = append(b.Homeless, l)
		}
	}
	if len(b.Animals) == 1 {
		http.Redirect(v.w, v.r, href, http.StatusSeeOther)
		return nil
	}
	return v.render("slot", frame{Title: p.Name, Nav: "females", Body: b}, http.StatusOK)
}

// livingHere are the animals that are still here, by name.
func (v *visit) livingHere() []*incubation.Animal {
	var out []*incubation.Animal
	for _, a := range v.snap.Book.Animals {
		if a.Here() {
			out = append(out, a)
		}
	}
	slices.SortFunc(out, func(a, b *incubation.Animal) int {
		if c := asCounted(v.snap.Book.Name(a.ID), v.snap.Book.Name(b.ID)); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return out
}
