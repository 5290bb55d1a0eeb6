package web

import (
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation/book"
)

// shownEntries is how many entries one page of the book shows.
const shownEntries = 60

type entriesBody struct {
	Choices  []choice
	Lines    []entryLine
	Problems []string
	Older    string // address of the page before; "" on the first
}

// An entryLine is one entry as the book shows it.
type entryLine struct {
	Seq                        uint64
	At, Made, Says, By, Clutch string
	Back                       bool   // it was taken back
	Stays                      bool   // it cannot be taken back
	Skipped                    string // why it does not count
	// Correct is the address of the form that corrects it, "" if none does.
	// Now is the entry that stands for it, Instead what that says; Of is the
	// entry that it stands for.
	Correct, Instead string
	Now, Of          uint64
	Here             string // the page it is shown on, to come back to
}

func (s *Server) entries(v *visit) error {
	b := entriesBody{Problems: v.snap.Book.Problems}
	for _, f := range forms() {
		if f.Kind != book.KindVoid && !f.besides {
			b.Choices = append(b.Choices, choice{"/entries/new?kind=" + string(f.Kind) + "&back=/entries", f.Title})
		}
	}
	list := slices.Clone(s.o.Entries(0))
	if before, err := strconv.ParseUint(v.asked("before"), 10, 64); err == nil {
		list = slices.DeleteFunc(list, func(e book.Entry) bool { return e.Seq >= before })
	}
	slices.Reverse(list)
	if len(list) > shownEntries {
		list = list[:shownEntries]
		b.Older = "/entries?before=" + strconv.FormatUint(list[shownEntries-1].Seq, 10)
	}
	by := v.replacements()
	for _, e := range list {
		l := v.entryLine(e)
		l.Here = "/entries"
		v.corrected(&l, e, by)
		b.Lines = append(b.Lines, l)
	}
	return v.render("entries", frame{Title: "Book", Nav: "book", Body: b}, http.StatusOK)
}

func (v *visit) entryLine(e book.Entry) entryLine {
	t := v.teller()
	l := entryLine{
		Seq: e.Seq, At: v.say.moment(e.At), Says: t.says(e), By: e.By,
		Clutch: t.clutchOf(e), Back: t.book.Voided[e.Seq], Stays: book.OfAlert(e.Kind),
	}
	if i := slices.Index(t.book.Skipped, e.Seq); i >= 0 {
		_, l.Skipped, _ = strings.Cut(t.book.Problems[i], "does not count: ")
	}
	if d := e.Made.Sub(e.At); d > time.Hour {
		l.Made = "written " + v.say.moment(e.Made)
	}
	return l
}

// replacements gives, by entry, the one that stands for it now.
func (v *visit) replacements() map[uint64]book.Entry {
	out := map[uint64]book.Entry{}
	for _, e := range v.snap.Book.Entries {
		if e.Replaces != 0 && !slices.Contains(v.snap.Book.Skipped, e.Seq) {
			out[e.Replaces] = e
		}
	}
	return out
}

// corrected says which entry stands for which, and where one is corrected.
func (v *visit) corrected(l *entryLine, e book.Entry, by map[uint64]book.Entry) {
	l.Of = e.Replaces
	if now, ok := by[e.Seq]; ok && l.Back {
		l.Now, l.Instead = now.Seq, v.teller().says(now)
	}
	if f, ok := formOf(string(e.Kind)); ok && f.fill != nil && !l.Back && l.Skipped == "" {
		l.Correct = "/entries/new?replaces=" + strconv.FormatUint(e.Seq, 10) + "&back=" + l.Here
	}
}

// formBody is a form, fresh or come back with what was typed.
type formBody struct {
	Form             form
	Fields           []field
	About            string // whom it is about, where that is asked no more
	Request, Return  string
	At, Error, Field string
	AtError          string
	Zone             string
	Seen             uint64 // the newest entry when the form was opened
	Replaces         uint64 // the entry that it stands for; 0: none
	Was              string // what that says
	Doubts           []string
	Sure             string  // sent back: the doubts were read
	Same             *repeat // of a check: the same as last time
}

func (s *Server) newEntry(v *visit) error {
	b := formBody{Request: newRequest(), Return: localPath(v.asked("back")), Seen: v.snap.Book.LastSeq}
	if n, err := strconv.ParseUint(v.asked("replaces"), 10, 64); err == nil {
		e, f := v.correctable(n)
		if e == nil {
			return missing{"entry " + v.asked("replaces") + " that can be corrected"}
		}
		if err := v.refill(e, f, &b); err != nil {
			return err
		}
		return v.showForm(f, b, http.StatusOK)
	}
	f, ok := formOf(v.asked("kind"))
	if !ok {
		return missing{"form for " + v.asked("kind")}
	}
	if f.Kind == book.KindChecked {
		b.Same = v.repeatOf(v.snap.Book.Animals[v.asked("animal")], b.Return)
	}
	return v.showForm(f, b, http.StatusOK)
}

func (v *visit) showForm(f form, b formBody, code int) error {
	b.Form, b.Zone = f, v.say.in(v.say.now).Location().String()
	if b.Fields == nil {
		b.Fields = choose(f.fields(v))
	}
	if first := &b.Fields[0]; f.Near && first.Type == "hidden" {
		b.About, first.Label = first.Label, ""
	}
	nav := "book"
	switch f.Kind {
	case book.KindChecked, book.KindPaired, book.KindAnimal, book.KindFemale, book.KindHoused, book.KindTreated,
		book.KindQuarantine, book.KindRetired, book.KindWeighed:
		nav = "females"
	case book.KindLaying, book.KindEgg, book.KindCandle, book.KindLooked, book.KindPip, book.KindHatch, book.KindSexed,
		book.KindFail, book.KindMilestone:
		nav = "clutches"
	}
	return v.render("form", frame{Title: f.Title, Nav: nav, Body: b}, code)
}

// postEntry writes a filled-in form into the book, or shows it again with one
// line about what is wrong and everything that was typed.
func (s *Server) postEntry(v *visit) error {
	if err := v.r.ParseForm(); err != nil {
		return err
	}
	values := v.r.PostForm
	f, ok := formOf(values.Get("kind"))
	if !ok {
		return missing{"form for " + values.Get("kind")}
	}
	e, wrong := readForm(values, v.say, v.snap.Time)
	if wrong != nil {
		return v.again(f, *wrong, http.StatusUnprocessableEntity)
	}
	v.finish(f, &e, values)
	if doubts, sure := v.doubts(f, e, values); len(doubts) > 0 {
		return v.askAgain(f, doubts, sure)
	}
	done, err := s.do(v.r.Context(), monitor.Change{Entry: &e})
	if err != nil {
		p, code := s.why(err)
		return v.again(f, p, code)
	}
	// A form that came back with the browser's back button and was changed is
	// not what was written down: that is said.
	again := done.Duplicate && string(done.Entry.Data) != string(e.Data)
	http.Redirect(v.w, v.r, written(v.onwards(done.Entry, values.Get("return")), done.Entry.Seq, again), http.StatusSeeOther)
	return nil
}

// onwards is where an entry leads: eggs that were found are put into a box
// next, from their clutch's page; a round goes on.
func (v *visit) onwards(e book.Entry, back string) string {
	data, err := book.Decode(e)
	if d, ok := data.(book.LayingData); err == nil && ok && e.Replaces == 0 && !strings.HasPrefix(back, "/round") {
		return "/clutches/" + d.Clutch
	}
	return back
}

// written is the address to go on to, with what was just written down.
func written(to string, seq uint64, again bool) string {
	u, err := url.Parse(localPath(to))
	if err != nil {
		return "/"
	}
	q := u.Query()
	q.Del("again")
	if q.Set("written", strconv.FormatUint(seq, 10)); again {
		q.Set("again", "1")
	}
	u.RawQuery = q.Encode()
	return u.String()
}

func (v *visit) again(f form, p problem, code int) error {
	b := v.sent(f)
	b.Error, b.Field = capital(p.Text)+".", p.Field
	if p.Field == "at" {
		b.AtError = b.Error
	}
	for i := range b.Fields {
		if n := &b.Fields[i]; n.Name == p.Field {
			n.Error = b.Error
			b.Error = n.Label + ": " + p.Text + "."
			break
		}
	}
	return v.showForm(f, b, code)
}

// askAgain shows the form with what is in doubt; sent again as it is, it is
// written down.
func (v *visit) askAgain(f form, doubts []string, sure string) error {
	b := v.sent(f)
	b.Doubts, b.Sure = doubts, sure
	return v.showForm(f, b, http.StatusUnprocessableEntity)
}

// sent is a form as it was sent, with everything that was typed.
func (v *visit) sent(f form) formBody {
	values := v.r.PostForm
	b := formBody{
		Request: values.Get("request"), Return: localPath(values.Get("return")), At: values.Get("at"),
		Fields: choose(f.fields(v)),
	}
	b.Seen, _ = strconv.ParseUint(values.Get("latest"), 10, 64)
	b.Replaces, _ = strconv.ParseUint(values.Get("replaces"), 10, 64)
	if old := v.replaced(values); old != nil {
		b.Was = v.teller().says(*old) + ", " + v.say.moment(old.At)
	}
	answer(b.Fields, values)
	return b
}

// nextClutch proposes an id for a new clutch of a female: one more than the
// highest number that hers end in where they are called after her, else than
// any other's that is called after nobody. Never one that names another dam:
// it goes onto the lid.
func (v *visit) nextClutch(female string) string {
	after := map[string]int{} // the highest number behind each beginning
	byDam := false
	for id, c := range v.snap.Book.Clutches {
		head := strings.TrimRight(id, "0123456789")
		n, err := strconv.Atoi(id[len(head):])
		if err != nil {
			continue
		}
		after[head] = max(after[head], n)
		byDam = byDam || head == c.Female+"-"
	}
	if hers := female + "-"; female != "" && byDam {
		return hers + strconv.Itoa(after[hers]+1)
	}
	prefix, highest := "c", 0
	for head, n := range after {
		if v.snap.Book.Animals[strings.TrimSuffix(head, "-")] == nil && n > highest {
			prefix, highest = head, n
		}
	}
	return prefix + strconv.Itoa(highest+1)
}

// clockForm offers the visitor's time while the clock is not trusted.
func (s *Server) clockForm(v *visit) error {
	a := &answers{values: v.r.PostForm, say: v.say}
	if err := v.r.ParseForm(); err != nil {
		return err
	}
	a.values = v.r.PostForm
	now := a.need("now")
	if a.wrong != nil {
		v.trouble(http.StatusUnprocessableEntity, "The clock was not set",
			capital(a.wrong.Text)+".")
		return nil
	}
	_, err := s.do(v.r.Context(), monitor.Change{ClockOffer: &monitor.ClockOffer{
		Now: now,
		By:  who,
	}})
	if err != nil {
		p, code := s.why(err)
		v.trouble(code, "The clock was not set", capital(p.Text)+".")
		return nil
	}
	http.Redirect(v.w, v.r, localPath(v.r.PostForm.Get("back")), http.StatusSeeOther)
	return nil
}
