package web

import (
	"cmp"
	"net/http"
	"slices"
	"strconv"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// shownOfAnimal is how many entries an animal's page shows at first.
const shownOfAnimal = 25

// animalBody is one animal.
type animalBody struct {
	ID, Name, Kind   string
	Female           bool
	Male             bool
	Facts            []linked // age, enclosure, parents
	Note             string
	Standing         string // quarantine, left
	Apart            bool   // it is in quarantine
	Gone             bool   // it no longer lives here
	Rests            bool
	Photo            *photoLine // the newest
	Photos           []photoLine
	CanShoot         bool // pictures can be kept
	Due              []wantLine
	MoreDue          int
	Last             *lastLook
	Same             *repeat
	Strip            *yearStrip
	Rhythm           []rhythmLine
	Next, Opens      string // what is expected of her, and when her season begins
	Clutched         string // how many clutches this season
	Weights          *weights
	Pairings         []pairingLine
	Clutches         []layingLine
	Offspring        []linked
	Entries          []entryLine
	Older            string
	Doings           []pick // what else can be written down
	Request          string // of the upload
	Here, Young      string // this page's address; of the list it stands in
	List             string
	Legend           []tap
	Check, Pair, Lay string // addresses of the forms within thumb reach
	Weigh            string
}

// A linked fact may lead somewhere.
type linked struct{ Name, Text, Href string }

type photoLine struct {
	File, When string
	Seq        uint64
}

// A wantLine is one thing that is due, with its reason.
type wantLine struct {
	Do, Why, Word string
	Vet           bool
}

// A rhythmLine is one length of time of a female in days, with where most of
// the next ones fall, the herd's beside it, and what hers rests on.
type rhythmLine struct{ Name, Days, Herd, Rests string }

type lastLook struct {
	Says, When, Note, Draw string
	Vet                    bool
}

type pairingLine struct {
	When, Outcome, Note string
	With                linked
}

type layingLine struct {
	ID, Laid, Eggs, Sires string
}

// animal shows one; a female stands under /females, the others under /animals.
func (s *Server) animal(v *visit) error {
	id := v.r.PathValue("id")
	a := v.snap.Book.Animals[id]
	if a == nil {
		return missing{"animal " + id}
	}
	if page := pageOf(a); v.r.URL.Path != page {
		to := page
		if v.r.URL.RawQuery != "" {
			to += "?" + v.r.URL.RawQuery
		}
		http.Redirect(v.w, v.r, to, http.StatusSeeOther)
		return nil
	}
	return v.render("animal", frame{Title: v.snap.Book.Name(id), Nav: "females", Body: v.animalBody(a)}, http.StatusOK)
}

func (v *visit) animalBody(a *incubation.Animal) animalBody {
	b := animalBody{
		ID: a.ID, Name: v.snap.Book.Name(a.ID), Kind: cmp.Or(a.Sex, "sex not known"), Female: a.Sex == incubation.Female,
		Male: a.Sex == incubation.Male, Facts: v.facts(a), Note: a.Note, Standing: v.standing(a),
		Apart: a.Quarantine.After(v.snap.Time) && a.Retired == nil, Gone: !a.Here(), Rests: a.Retired != nil,
		CanShoot: v.s.o.Photos != nil, Weights: v.weightChart(a.Weights), Offspring: v.offspring(a),
		Request: newRequest(), Here: pageOf(a), List: listOf(a), Pairings: v.pairingLines(a),
	}
	for i := len(a.Photos) - 1; i >= 0; i-- {
		p := a.Photos[i]
		b.Photos = append(b.Photos, photoLine{p.File, v.say.day(p.At), p.Seq})
	}
	if len(b.Photos) > 0 {
		b.Photo = &b.Photos[0]
	}
	b.Doings = v.doings(a, b)
	b.reach()
	v.entriesOf(a, &b)
	if !b.Male {
		b.Last, b.Same = v.lastLook(a), v.repeatOf(a, b.Here)
	}
	if b.Gone {
		b.Same = nil
	}
	if b.Female {
		b.Strip, b.Clutches, b.Legend = v.yearStrip(a), v.layingLines(a), stageTaps()
		v.think(a, &b)
	}
	return b
}

// listOf is the list an animal stands in.
func listOf(a *incubation.Animal) string {
	if show := shownIn(a); show != "" {
		return "/females?show=" + show
	}
	return "/females"
}

func (v *visit) facts(a *incubation.Animal) []linked {
	var out []linked
	add := func(name, text, href string) {
		if text != "" {
			out = append(out, linked{name, text, href})
		}
	}
	parent := func(name, id string) {
		if p := v.snap.Book.Animals[id]; p != nil {
			add(name, v.snap.Book.Name(id), pageOf(p))
		}
	}
	age := v.ageOf(a)
	if a.Hatched != "" {
		age += ", hatched " + a.Hatched
	}
	add("Age", age, "")
	if p := v.snap.Book.Places[incubation.At(a.Stays, v.snap.Time)]; p != nil {
		text := v.slotOf(a)
		if p.Slot > 0 {
			text += " · " + p.Name
		}
		add("Lives in", text, "/places/"+p.ID)
	}
	parent("Dam", a.Dam)
	parent("Sire", a.Sire)
	if e := v.snap.Book.Eggs[a.Egg]; e != nil {
		add("From egg", e.Clutch+" "+e.Mark, "/clutches/"+e.Clutch)
	}
	return out
}

// form is the address of a form about an animal that leads back to its page.
func formAbout(kind book.Kind, name, id, back string) string {
	return "/entries/new?kind=" + string(kind) + "&" + name + "=" + id + "&back=" + back
}

// reach fills in what stands within the thumb's reach.
func (b *animalBody) reach() {
	if b.Gone {
		return
	}
	b.Weigh = formAbout(book.KindWeighed, "animal", b.ID, b.Here)
	switch {
	case b.Male:
		b.Pair = formAbout(book.KindPaired, "male", b.ID, b.Here)
	case b.Female:
		b.Check = formAbout(book.KindChecked, "animal", b.ID, b.Here)
		b.Pair = formAbout(book.KindPaired, "female", b.ID, b.Here)
		b.Lay = formAbout(book.KindLaying, "female", b.ID, b.Here)
	default:
		b.Check = formAbout(book.KindChecked, "animal", b.ID, b.Here)
	}
}

// doings are all that can be written down about an animal, beside what stands
// within the thumb's reach.
func (v *visit) doings(a *incubation.Animal, b animalBody) []pick {
	about := func(kind book.Kind, text, more string) pick {
		name := "animal"
		if kind == book.KindNote {
			name = "subject"
		}
		return pick{Text: text, Href: formAbout(kind, name, a.ID, b.Here) + more}
	}
	out := []pick{about(book.KindNote, "Note", "")}
	if b.Gone {
		if a.Retired.Why != incubation.Died {
			out = append(out, about(book.KindRetired, "It is back", "&again=yes"))
		}
		return append(out, about(book.KindAnimal, "What is known of it", ""))
	}
	out = append(out, about(book.KindTreated, "Treated", ""), about(book.KindHoused, "Moved", ""))
	if b.Apart {
		out = append(out, about(book.KindQuarantine, "Quarantine over", "&over=yes"))
	} else {
		out = append(out, about(book.KindQuarantine, "Quarantine", ""))
	}
	if b.Rests {
		out = append(out, about(book.KindRetired, "Breeds again", "&again=yes"))
	} else {
		out = append(out, about(book.KindRetired, "Rests, left or died", ""))
	}
	return append(out, about(book.KindAnimal, "Name, age, parents", ""))
}

// entriesOf lists what the book says of an animal, newest first.
func (v *visit) entriesOf(a *incubation.Animal, b *animalBody) {
	all := v.about(a.ID)
	if before, err := strconv.ParseUint(v.asked("before"), 10, 64); err == nil {
		if i := slices.IndexFunc(all, func(e book.Entry) bool { return e.Seq == before }); i >= 0 {
			all = all[i+1:]
		}
	}
	if len(all) > shownOfAnimal {
		all = all[:shownOfAnimal]
		b.Older = b.Here + "?before=" + strconv.FormatUint(all[shownOfAnimal-1].Seq, 10) + "#entries"
	}
	by := v.replacements()
	for _, e := range all {
		l := v.entryLine(e)
		l.Here = b.Here
		v.corrected(&l, e, by)
		b.Entries = append(b.Entries, l)
	}
}

func (v *visit) lastLook(a *incubation.Animal) *lastLook {
	c := v.condition(a)
	if c == nil {
		return nil
	}
	l := &lastLook{Says: capital(sawWords(*c)), When: v.say.age(c.At) + ", " + v.say.moment(c.At), Note: c.Note, Draw: drawOf(c)}
	l.Vet = len(vets(c)) > 0
	return l
}

// pairingLines are an animal's pairings, newest first.
func (v *visit) pairingLines(a *incubation.Animal) []pairingLine {
	var out []pairingLine
	all := v.snap.Book.Pairings
	for i := len(all) - 1; i >= 0; i-- {
		p := all[i]
		other := p.Male
		if p.Male == a.ID {
			other = p.Female
		}
		if p.Female != a.ID && p.Male != a.ID {
			continue
		}
		l := pairingLine{When: v.say.day(p.At), Outcome: receptionWord(p.Outcome), Note: p.Note}
		l.With = linked{Text: v.snap.Book.Name(other)}
		if o := v.snap.Book.Animals[other]; o != nil {
			l.With.Href = pageOf(o)
		}
		out = append(out, l)
	}
	return out
}

// layingLines are a female's clutches, newest first.
func (v *visit) layingLines(a *incubation.Animal) []layingLine {
	var all []*incubation.Clutch
	for _, c := range v.snap.Book.Clutches {
		if c.Female == a.ID {
			all = append(all, c)
		}
	}
	slices.SortFunc(all, func(x, y *incubation.Clutch) int {
		return cmp.Or(y.Laid.To.Compare(x.Laid.To), asCounted(x.ID, y.ID))
	})
	var out []layingLine
	for _, c := range all {
		l := layingLine{ID: c.ID, Laid: v.say.days(c.Laid.From, c.Laid.To), Sires: v.siresOf(c.ID)}
		var eggs []string
		for _, e := range c.Eggs {
			eggs = append(eggs, e.Mark+" "+eggWord(e))
		}
		l.Eggs = list(eggs)
		out = append(out, l)
	}
	return out
}

// eggWord is an egg's state, and of a hatched one its sex as seen.
func eggWord(e *incubation.Egg) string {
	switch {
	case e.State == incubation.Failed && e.Cause != "":
		return "lost (" + e.Cause + ")"
	case e.State == incubation.Failed:
		return "lost"
	case e.State == incubation.Hatched && e.Sex != "" && e.Sexed.How.Seen():
		return "hatched, " + e.Sex
	}
	return string(e.State)
}

// offspring are the animals that descend from one, the youngest first.
func (v *visit) offspring(a *incubation.Animal) []linked {
	var young []*incubation.Animal
	for _, o := range v.snap.Book.Animals {
		if o.Dam == a.ID || o.Sire == a.ID {
			young = append(young, o)
		}
	}
	slices.SortFunc(young, func(x, y *incubation.Animal) int {
		return cmp.Or(cmp.Compare(y.Hatched, x.Hatched), asCounted(x.ID, y.ID))
	})
	var out []linked
	for _, o := range young {
		other := o.Sire
		if o.Sire == a.ID {
			other = o.Dam
		}
		about := cmp.Or(o.Sex, "sex not known")
		if age := v.ageOf(o); age != "" {
			about += ", " + age
		}
		if other != "" {
			about += ", with " + v.snap.Book.Name(other)
		}
		out = append(out, linked{v.snap.Book.Name(o.ID), about, pageOf(o)})
	}
	return out
}

// dayStart is when a time's day begins in the room's zone.
func (w words) dayStart(t time.Time) time.Time {
	return incubation.DayStart(w.in(t))
}
