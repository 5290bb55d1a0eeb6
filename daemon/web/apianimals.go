package web

import (
	"cmp"
	"net/http"
	"slices"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// An animalJSON is an animal without its past.
type animalJSON struct {
	ID         string          `json:"id"`
	Name       string          `json:"name"`
	Sex        string          `json:"sex,omitempty"`
	Hatched    string          `json:"hatched,omitempty"`
	AgeClass   string          `json:"age_class,omitempty"`
	Dam        string          `json:"dam,omitempty"`
	Sire       string          `json:"sire,omitempty"`
	Egg        string          `json:"egg,omitempty"`
	Note       string          `json:"note,omitempty"`
	Enclosure  string          `json:"enclosure,omitempty"`
	Rack       string          `json:"rack,omitempty"`
	Slot       int             `json:"slot,omitempty"`
	Quarantine time.Time       `json:"quarantine_until,omitzero"`
	Retired    *retirementJSON `json:"retired,omitempty"`
	Checked    *checkJSON      `json:"last_check,omitempty"`
	Weighed    *weightJSON     `json:"last_weight,omitempty"`
	Photo      string          `json:"photo,omitempty"` // address of the newest
}

type retirementJSON struct {
	At   time.Time          `json:"at"`
	Why  incubation.Leaving `json:"why"`
	Note string             `json:"note,omitempty"`
}

type checkJSON struct {
	Entry uint64            `json:"entry"`
	At    time.Time         `json:"at"`
	Stage incubation.Stage  `json:"stage"`
	Sides string            `json:"sides,omitempty"`
	Size  string            `json:"size,omitempty"`
	Signs []incubation.Sign `json:"signs"`
	Note  string            `json:"note,omitempty"`
}

type weightJSON struct {
	Entry uint64    `json:"entry"`
	At    time.Time `json:"at"`
	Grams float64   `json:"grams"`
}

type pairingJSON struct {
	Entry   uint64               `json:"entry"`
	At      time.Time            `json:"at"`
	Female  string               `json:"female"`
	Male    string               `json:"male"`
	Outcome incubation.Reception `json:"outcome"`
	Until   time.Time            `json:"until,omitzero"`
	Note    string               `json:"note,omitempty"`
}

type treatmentJSON struct {
	Entry uint64    `json:"entry"`
	At    time.Time `json:"at"`
	What  string    `json:"what"`
	Until time.Time `json:"until,omitzero"`
}

// A wholeAnimalJSON is an animal with its past.
type wholeAnimalJSON struct {
	animalJSON
	Checks     []checkJSON     `json:"checks"`
	Weights    []weightJSON    `json:"weights"`
	Treatments []treatmentJSON `json:"treatments"`
	Pairings   []pairingJSON   `json:"pairings"`
	Clutches   []string        `json:"clutches"`
	Young      []string        `json:"young"`
	Photos     []string        `json:"photos"`
}

func animalOf(snap *monitor.Snapshot, a *incubation.Animal) animalJSON {
	out := animalJSON{
		ID: a.ID, Name: snap.Book.Name(a.ID), Sex: a.Sex, Hatched: a.Hatched, AgeClass: string(a.AgeClass),
		Dam: a.Dam, Sire: a.Sire, Egg: a.Egg, Note: a.Note, Quarantine: a.Quarantine.UTC(),
		Enclosure: incubation.At(a.Stays, snap.Time),
	}
	if p := snap.Book.Places[out.Enclosure]; p != nil {
		out.Rack, out.Slot = p.Rack, p.Slot
	}
	if r := a.Retired; r != nil {
		out.Retired = &retirementJSON{r.At.UTC(), r.Why, r.Note}
	}
	if c := a.Last(); c != nil {
		last := checkOf(*c)
		out.Checked = &last
	}
	if n := len(a.Weights); n > 0 {
		w := a.Weights[n-1]
		out.Weighed = &weightJSON{w.Seq, w.At.UTC(), w.Grams}
	}
	if n := len(a.Photos); n > 0 {
		out.Photo = "/photos/" + a.Photos[n-1].File + ".jpg"
	}
	return out
}

func checkOf(c incubation.Check) checkJSON {
	return checkJSON{c.Seq, c.At.UTC(), c.Stage, c.Sides, c.Size, some(c.Signs), c.Note}
}

func (s *Server) apiAnimals(snap *monitor.Snapshot, _ *http.Request) (any, error) {
	out := []animalJSON{}
	for _, a := range snap.Book.Animals {
		out = append(out, animalOf(snap, a))
	}
	slices.SortFunc(out, func(a, b animalJSON) int { return cmp.Compare(a.ID, b.ID) })
	return out, nil
}

func (s *Server) apiAnimal(snap *monitor.Snapshot, r *http.Request) (any, error) {
	a := snap.Book.Animals[r.PathValue("id")]
	if a == nil {
		return nil, notFound("animal " + r.PathValue("id"))
	}
	out := wholeAnimalJSON{
		animalJSON: animalOf(snap, a), Checks: []checkJSON{}, Weights: []weightJSON{}, Treatments: []treatmentJSON{},
		Pairings: []pairingJSON{}, Clutches: []string{}, Young: []string{}, Photos: []string{},
	}
	for _, c := range a.Checks {
		out.Checks = append(out.Checks, checkOf(c))
	}
	for _, w := range a.Weights {
		out.Weights = append(out.Weights, weightJSON{w.Seq, w.At.UTC(), w.Grams})
	}
	for _, t := range a.Treatments {
		out.Treatments = append(out.Treatments, treatmentJSON{t.Seq, t.At.UTC(), t.What, t.Until.UTC()})
	}
	for _, p := range snap.Book.Pairings {
		if p.Female == a.ID || p.Male == a.ID {
			out.Pairings = append(out.Pairings, pairingJSON{p.Seq, p.At.UTC(), p.Female, p.Male, p.Outcome, p.Until.UTC(), p.Note})
		}
	}
	for id, c := range snap.Book.Clutches {
		if c.Female == a.ID {
			out.Clutches = append(out.Clutches, id)
		}
	}
	for id, o := range snap.Book.Animals {
		if o.Dam == a.ID || o.Sire == a.ID {
			out.Young = append(out.Young, id)
		}
	}
	slices.Sort(out.Clutches)
	slices.Sort(out.Young)
	for _, p := range a.Photos {
		out.Photos = append(out.Photos, "/photos/"+p.File+".jpg")
	}
	return out, nil
}
