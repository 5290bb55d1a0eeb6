package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// postRound writes one check down and goes on to the next female. When
// another phone has looked at the same one since this page was shown, nothing
// is written until the keeper says so.
func (s *Server) postRound(v *visit) error {
	if err := v.r.ParseForm(); err != nil {
		return err
	}
	form := v.r.PostForm
	on, err := url.Parse(localPath(form.Get("to")))
	if err != nil {
		on = &url.URL{Path: "/round"}
	}
	w := v.walkOf(on.Query())
	a := v.snap.Book.Animals[form.Get("animal")]
	if a == nil {
		return missing{"animal " + form.Get("animal")}
	}
	if last := a.Last(); last != nil && form.Get("anyway") == "" &&
		strconv.FormatUint(last.Seq, 10) != form.Get("seen") && !v.same(last.Seq, form.Get("request")) {
		return v.overtaken(w, a, form)
	}
	e, wrong := v.checkOf(a, form)
	if wrong == nil {
		done, err := s.do(v.r.Context(), monitor.Change{Entry: &e})
		if err == nil {
			http.Redirect(v.w, v.r, w.href()+"&done="+strconv.FormatUint(done.Entry.Seq, 10), http.StatusSeeOther)
			return nil
		}
		p, _ := s.why(err)
		wrong = &p
	}
	w.at = a.ID
	return v.showTurn(w, v.stand(w), nil, "Not written: "+wrong.Text+".")
}

// same reports whether an entry came from this very form: a double tap.
func (v *visit) same(seq uint64, request string) bool {
	e := v.teller().entry(seq)
	return e != nil && request != "" && e.Request == request
}

// checkOf makes the entry that a tap asks for, as the check's form would.
func (v *visit) checkOf(a *incubation.Animal, form url.Values) (book.Entry, *problem) {
	values := url.Values{"kind": {string(book.KindChecked)}}
	for name, list := range form {
		if name != "to" && name != "anyway" {
			values[name] = list
		}
	}
	last := a.Last()
	switch stage := form.Get("stage"); {
	case stage == "":
		return book.Entry{}, &problem{Text: "say what you saw"}
	case stage == sameAgain && v.repeatOf(a, "") == nil:
		return book.Entry{}, &problem{Text: "there is nothing to repeat"}
	case stage == sameAgain:
		again := checkAnswers(book.CheckedData{Stage: last.Stage, Size: last.Size})
		values.Set("stage", again["stage"])
		if form.Get("sides") == "" {
			values.Set("sides", last.Sides)
		}
	}
	return readForm(values, v.say, v.snap.Time)
}

// sameAgain is the stage of the button that repeats the last check. Its signs
// are not repeated: they are looked for anew.
const sameAgain = "same"

// overtaken shows what the other phone wrote, with this phone's answer kept.
func (v *visit) overtaken(w walk, a *incubation.Animal, form url.Values) error {
	w.at = ""
	b := roundTwice{
		Name: v.snap.Book.Name(a.ID), Other: v.lastSeen(a.Last()), Next: w.href(), To: w.href(),
		Seen: a.Last().Seq, Request: newRequest(),
	}
	if e, wrong := v.checkOf(a, form); wrong == nil {
		var d book.CheckedData
		if json.Unmarshal(e.Data, &d) == nil {
			b.Mine = sawWords(incubation.Check{Stage: d.Stage, Size: d.Size, Sides: d.Sides, Signs: d.Signs})
			b.Answers = checkAnswers(d)
		}
	}
	return v.render("roundtwice", frame{Title: b.Name, Nav: "today", Body: b}, http.StatusConflict)
}

// roundTwice is an answer that came after another phone's.
type roundTwice struct {
	Name, Other, Mine, Next string
	To, Request             string
	Answers                 map[string]string
	Seen                    uint64
}
