package web

import (
	"fmt"
	"net/http"
	"strconv"
	"time"
	"unicode/utf8"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// roundBody is one female of the round, and how to go on.
type roundBody struct {
	Name, Href, Slot string
	Long             bool // a name that needs smaller letters
	Animal           string
	Last             string // what was seen last, and when
	Today            bool   // she was looked at in this round already
	Vet              string // what was seen last and belongs to a vet
	Due              string // why she is due
	Same             string // what "same as last time" would write; "": not offered
	Tiles            []tap
	More             []field // of a check: sides, signs, a note
	Request, To      string  // of the form: where it goes on
	Seen             uint64  // the entry of her last check, as this page knows it
	Skip, All        string  // addresses
	Done, Of         int
	Next             string
	Before           *justNow
	Passed           []turnLine
	Told             string // what another phone wrote meanwhile
	Twice            string // the form's answer that was not written
}

// justNow is the check written just before, which can be undone.
type justNow struct {
	Says, Request, Back string
	Seq                 uint64
	Laid                string // address of the form for the eggs she laid
}

// A turnLine is one female in the list of the round.
type turnLine struct {
	Name, Slot, Says, Href string
	Done                   bool
}

// roundEnd is a round in which all were looked at or passed over.
type roundEnd struct {
	Done, Of int
	Tally    []fact
	Passed   []turnLine
	Again    string // address: those passed over
	Before   *justNow
}

// round is the walk; without a day in its address, its beginning.
func (s *Server) round(v *visit) error {
	if v.asked("day") == "" {
		return s.roundStart(v)
	}
	w := v.walkOf(v.r.URL.Query())
	st := v.stand(w)
	before := v.beforeThis(w)
	if st.here == nil {
		b := roundEnd{Done: st.done, Of: len(st.turns), Tally: st.tally(w.day), Before: before}
		for _, t := range st.passed {
			b.Passed = append(b.Passed, v.turnLine(w, t))
		}
		w.skip, w.at = nil, ""
		b.Again = w.href()
		return v.render("roundend", frame{Title: "Round done", Nav: "today", Body: b}, http.StatusOK)
	}
	return v.showTurn(w, st, before, "")
}

// longName is how many letters of a name stand in large type on one line of a
// phone with room for the slot.
const longName = 16

// showTurn shows one female.
func (v *visit) showTurn(w walk, st stand, before *justNow, told string) error {
	t := *st.here
	id := t.animal.ID
	last := t.animal.Last()
	b := roundBody{
		Name: t.name, Long: utf8.RuneCountInString(t.name) > longName, Href: pageOf(t.animal), Slot: t.slotSays(), Animal: id, Tiles: stageTiles(),
		More: checkForm().fields(v)[2:], Request: newRequest(), Before: before, Done: st.done, Of: len(st.turns),
		Today: t.seenSince(w.day) != nil, Vet: list(vets(last)), Told: told, Due: v.dueWords(id),
		Skip: w.past(id).href(), All: "/round", Last: v.lastSeen(v.condition(t.animal)),
	}
	w.at = ""
	b.To = w.href()
	if last != nil {
		b.Seen = last.Seq
	}
	if v.repeatOf(t.animal, "") != nil {
		b.Same = sawWords(incubation.Check{Stage: last.Stage, Sides: last.Sides, Size: last.Size})
	}
	if st.upcoming != nil {
		b.Next = st.upcoming.name
	}
	return v.render("round", frame{Title: t.name + " · round", Nav: "today", Body: b}, http.StatusOK)
}

// lastSeen tells the newest check and when it was.
func (v *visit) lastSeen(c *incubation.Check) string {
	if c == nil {
		return "Not looked at yet."
	}
	return capital(sawWords(*c)) + " · " + v.ago(c.At)
}

// ago tells a day by how far it lies back, and its date.
func (v *visit) ago(at time.Time) string {
	switch n := v.daysSince(at); n {
	case 0:
		return "today " + v.say.clock(at)
	case 1:
		return "yesterday " + v.say.clock(at)
	default:
		return fmt.Sprintf("%d days ago, %s", n, v.say.day(at))
	}
}

// daysSince counts midnights of the room's zone.
func (v *visit) daysSince(at time.Time) int {
	day := func(t time.Time) time.Time {
		t = v.say.in(t)
		return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
	}
	return int(day(v.snap.Time).Sub(day(at)).Hours() / 24)
}

// beforeThis is the check that the address says was written last, while it
// still counts.
func (v *visit) beforeThis(w walk) *justNow {
	n, err := strconv.ParseUint(v.asked("done"), 10, 64)
	if err != nil {
		return nil
	}
	e := v.teller().entry(n)
	if e == nil || e.Kind != book.KindChecked || v.snap.Book.Voided[n] {
		return nil
	}
	data, err := book.Decode(*e)
	d, ok := data.(book.CheckedData)
	if err != nil || !ok {
		return nil
	}
	says := v.snap.Book.Name(d.Animal) + ": " + sawWords(incubation.Check{
		Stage: d.Stage, Sides: d.Sides, Size: d.Size, Signs: d.Signs,
	})
	b := &justNow{Says: says, Seq: n, Request: newRequest(), Back: w.standing(d.Animal).href()}
	if d.Stage == incubation.Laid {
		b.Laid = "/entries/new?kind=laying&female=" + d.Animal + "&back=" + escapeQuery(w.href())
	}
	return b
}

func (v *visit) turnLine(w walk, t turn) turnLine {
	l := turnLine{Name: t.name, Slot: t.slotSays(), Href: w.standing(t.animal.ID).href(), Says: "not looked at yet"}
	if c := v.condition(t.animal); c != nil {
		l.Says = sawWords(*c) + " · " + v.ago(c.At)
	}
	if c := t.animal.Last(); c != nil {
		l.Done = !c.At.Before(w.day)
	}
	return l
}

// rackLines is one rack of the round's beginning.
type rackLines struct {
	Name, Href string
	Done       int
	Lines      []turnLine
}

type roundStart struct {
	Of, Done, Open int
	Go, FromEnd    string
	Racks          []rackLines
}

// roundStart lists the round rack by rack, with what is done of it today.
func (s *Server) roundStart(v *visit) error {
	w := v.walkOf(nil)
	turns := v.turns("")
	b := roundStart{Of: len(turns), Go: w.href()}
	end := w
	end.fromEnd = true
	b.FromEnd = end.href()
	for _, t := range turns {
		name, href := "In no rack", ""
		if t.slot > 0 {
			one := w
			one.rack = t.rack
			name, href = capital(rackWord(t.rack)), one.href()
		}
		if n := len(b.Racks); n == 0 || b.Racks[n-1].Name != name {
			b.Racks = append(b.Racks, rackLines{Name: name, Href: href})
		}
		r := &b.Racks[len(b.Racks)-1]
		l := v.turnLine(w, t)
		if l.Done {
			b.Done++
			r.Done++
		}
		r.Lines = append(r.Lines, l)
	}
	if len(b.Racks) == 1 || len(racks(turns)) < 2 {
		for i := range b.Racks {
			b.Racks[i].Href = ""
		}
	}
	b.Open = b.Of - b.Done
	return v.render("roundstart", frame{Title: "Round", Nav: "today", Body: b}, http.StatusOK)
}
