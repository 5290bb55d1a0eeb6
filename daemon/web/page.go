package web

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// lateAfter is how old the last tick may be before its numbers are no longer
// told as the present.
const lateAfter = time.Minute

const unitsCookie = "clutchd_units"

// A visit is one request for a page: what was true at the last tick, and how
// this visitor likes it told.
type visit struct {
	s    *Server
	w    http.ResponseWriter
	r    *http.Request
	snap *monitor.Snapshot
	say  words
	laid map[string]time.Time // by female, of her newest clutch; see condition

	asker asker
}

// A frame is what every page shows around its body.
type frame struct {
	Title, Nav string // Nav: which of the main pages it belongs to
	Bare       bool   // without navigation: before the login
	Site, Now  string
	Late       string // how old the last tick is, when it is too old
	Untrusted  bool   // the clock is
	StoreFault string
	Unseen     int // alerts nobody has acknowledged, and the colour of the worst
	Worst      string
	Live       string // what the event stream compares: changes with the page's structure
	Unit       string
	Back       string // this page, to return to after a form
	Stamp      string
	Login      bool        // there is a session to end
	ReadOnly   bool        // the asker may change nothing: forms and links to them are taken out
	Keeper     bool        // the asker came with the password, or none is needed
	Wall       bool        // one screen, without navigation
	Written    *book.Entry // what was just written down
	Says       string      // the same in a sentence
	Again      bool        // the form had been written down before, otherwise filled in
	Undo       string      // request id of one tap that takes it back; "": it was not just written
	Then       string      // what to do about it next
	Words      []term      // that this page explains
	Charts     bool        // it has a chart that can be looked at closer
	Review     bool        // it is made to be printed
	Body       any
}

// missing says that what a page is about does not exist.
type missing struct{ what string }

func (m missing) Error() string { return m.what + " is not known here" }

func (s *Server) visit(w http.ResponseWriter, r *http.Request) *visit {
	v := &visit{s: s, w: w, r: r, snap: s.o.Snapshot(), asker: askerOf(r)}
	v.say = words{zone: s.o.Zone, fahrenheit: s.units(r) == "F", dates: s.dates(r)}
	if begun(v.snap) {
		v.say.now = v.snap.Time
	}
	return v
}

// begun reports whether a tick has finished: before that there is nothing to
// tell.
func begun(snap *monitor.Snapshot) bool { return snap != nil && snap.Tick > 0 }

func (s *Server) units(r *http.Request) string {
	if c, err := r.Cookie(unitsCookie); err == nil && (c.Value == "C" || c.Value == "F") {
		return c.Value
	}
	return s.o.Units
}

func (s *Server) setUnits(w http.ResponseWriter, r *http.Request) {
	u := r.PostFormValue("units")
	if u != "C" && u != "F" {
		http.Error(w, "units are C or F", http.StatusUnprocessableEntity)
		return
	}
	http.SetCookie(w, preference(unitsCookie, u))
	http.Redirect(w, r, localPath(r.PostFormValue("back")), http.StatusSeeOther)
}

// page turns a page's function into a handler: it needs a finished tick, and
// errors become a page of their own.
func (s *Server) page(show func(*visit) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		v := s.visit(w, r)
		if !begun(v.snap) {
			w.Header().Set("Retry-After", "5")
			v.trouble(http.StatusServiceUnavailable, "The first round is not finished",
				"The service has just started. Open this page again in a few seconds.")
			return
		}
		err := show(v)
		var gone missing
		var large *http.MaxBytesError
		switch {
		case err == nil:
		case errors.As(err, &gone):
			v.trouble(http.StatusNotFound, "Not here", "There is no "+gone.what+".")
		case errors.As(err, &large):
			v.trouble(http.StatusRequestEntityTooLarge, "Too long", "Write less and send it again.")
		default:
			s.o.Log.Error("page not shown", "page", r.URL.Path, "error", err)
			v.trouble(http.StatusInternalServerError, "This page could not be made",
				"The watch goes on. The log says why.")
		}
	}
}

// render writes a page whole or not at all.
func (v *visit) render(name string, f frame, code int) error {
	f.Stamp, f.Unit = v.s.look.stamp, v.say.Unit()
	f.Back = v.r.URL.RequestURI()
	if v.r.Method != http.MethodGet {
		f.Back = "/"
	}
	f.Login = v.s.login.needed && !f.Bare
	f.ReadOnly, f.Keeper = v.asker.readOnly(), v.asker.keeper
	f.Words = explain(name)
	if begun(v.snap) {
		v.tell(&f)
	}
	var out bytes.Buffer
	if err := v.s.look.pages[name].Execute(&out, f); err != nil {
		return fmt.Errorf("make page %s: %w", name, err)
	}
	page := out.Bytes()
	if f.ReadOnly {
		page = withhold(page, v.s.permits(v.asker))
	}
	v.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	if v.r.Method == http.MethodPost && code == http.StatusUnprocessableEntity {
		// The back button finds the form again, as it was filled in.
		v.w.Header().Set("Cache-Control", "private, no-cache")
	}
	v.w.WriteHeader(code)
	_, _ = v.w.Write(page)
	return nil
}

// tell fills in what the snapshot says on every page, once logged in.
func (v *visit) tell(f *frame) {
	if f.Bare {
		return
	}
	f.Site, f.Now = v.snap.Site, v.say.moment(v.snap.Time)
	f.Untrusted, f.StoreFault = !v.snap.Trusted, v.snap.StoreFault
	f.Live = structure(v.snap)
	if age := ageOf(v.snap); age > lateAfter {
		f.Late = span(age)
	}
	f.Unseen, f.Worst = unseen(v.snap)
	if n, err := strconv.ParseUint(v.asked("written"), 10, 64); err == nil {
		if f.Written = v.teller().entry(n); f.Written != nil {
			f.Says, f.Again = v.teller().says(*f.Written), v.asked("again") != ""
			v.offerUndo(f)
		}
	}
}

// undoFor is how long what was written can be undone with one tap.
const undoFor = time.Hour

// offerUndo adds to what was written down how it is undone, and what follows.
func (v *visit) offerUndo(f *frame) {
	e := *f.Written
	b := v.snap.Book
	if !b.Voided[e.Seq] && !book.OfAlert(e.Kind) && v.snap.Time.Sub(e.Made) < undoFor {
		f.Undo = newRequest()
	}
	data, err := book.Decode(e)
	if d, ok := data.(book.PairedData); err == nil && ok && d.Outcome == incubation.Refused && !b.Voided[e.Seq] {
		f.Then = refusedThen
	}
	if e.Kind == book.KindLaying && !b.Voided[e.Seq] {
		f.Then = "Put each egg into its box next."
	}
}

// ageOf is how long ago the last tick finished, by the system's clock: the
// tick's own time means nothing while that clock is not trusted.
func ageOf(snap *monitor.Snapshot) time.Duration {
	at := snap.Finished
	if at.IsZero() {
		at = snap.Time
	}
	return max(0, time.Since(at))
}

// unseen counts the alerts that nobody has acknowledged, those on the shelf
// left out, and gives the colour of the worst that is told.
func unseen(snap *monitor.Snapshot) (n int, worst string) {
	worst = quiet.Class
	for _, a := range snap.Alerts {
		if !a.Acknowledged.IsZero() || shelved(a, snap.Time) {
			continue
		}
		if n++; n == 1 && a.Told() { // they come worst first
			worst = stateOf(a.Severity).Class
		}
	}
	return n, worst
}

func shelved(a alerts.State, now time.Time) bool { return a.ShelvedUntil.After(now) }

type problemBody struct{ Head, Text string }

func (v *visit) trouble(code int, head, text string) {
	f := frame{Title: head, Body: problemBody{head, text}}
	if err := v.render("problem", f, code); err != nil {
		v.s.o.Log.Error("page not shown", "page", "problem", "error", err)
		http.Error(v.w, head+"\n"+text, code)
	}
}

// about tells the cautions to anyone, and of the room only to those who may
// see it.
func (s *Server) about(w http.ResponseWriter, r *http.Request) {
	f := frame{Title: "Cautions", Bare: askerOf(r).may == mayNothing}
	if err := s.visit(w, r).render("about", f, http.StatusOK); err != nil {
		s.o.Log.Error("page not shown", "page", "about", "error", err)
		http.Error(w, "this page could not be made", http.StatusInternalServerError)
	}
}
