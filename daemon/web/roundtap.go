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

// checkOf makes the entry that a tap asks for.
func (v *visit) checkOf(a *incubation.Animal, form url.Values) (book.Entry, *problem) {
	d := book.CheckedData{Animal: a.ID, Sides: form.Get("sides"), Note: form.Get("note")}
	d.Stage, d.Size = readStage(form.Get("stage"))
	for _, s := range form["signs"] {
		d.Signs = append(d.Signs, incubation.Sign(s))
	}
	if form.Get("stage") == "same" {
		last := a.Last()
		if !repeatable(last) {
			return book.Entry{}, &problem{Text: "there is nothing to repeat"}
		}
		d.Stage, d.Size = last.Stage, last.Size
		if d.Sides == "" {
			d.Sides = last.Sides
		}
	}
	if d.Stage == "" {
		return book.Entry{}, &problem{Text: "say what you saw"}
	}
	text, err := json.Marshal(d)
	if err != nil || len(form.Get("request")) > 64 {
		return book.Entry{}, &problem{Text: "this form is damaged: open it again"}
	}
	return book.Entry{
		Request: form.Get("request"), Made: v.snap.Time, Zone: v.say.in(v.snap.Time).Location().String(), By: who,
		Kind: book.KindChecked, Data: text,
	}, nil
}

// overtaken shows what the other phone wrote, with this phone's answer kept.
func (v *visit) overtaken(w walk, a *incubation.Animal, form url.Values) error {
	w.at = ""
	b := roundTwice{
		Name: v.snap.Book.Name(a.ID), Other: v.lastSeen(a.Last()), Next: w.href(), Animal: a.ID, To: w.href(),
		Seen: a.Last().Seq, Request: newRequest(), Stage: form.Get("stage"), Sides: form.Get("sides"),
		Note: form.Get("note"), Signs: form["signs"],
	}
	if e, wrong := v.checkOf(a, form); wrong == nil {
		var d book.CheckedData
		if json.Unmarshal(e.Data, &d) == nil {
			b.Mine = checkWords(incubation.Check{Stage: d.Stage, Size: d.Size, Sides: d.Sides, Signs: d.Signs})
			b.Stage = string(d.Stage)
			if d.Size != "" {
				b.Stage += "/" + d.Size
			}
			b.Sides = d.Sides
		}
	}
	return v.render("roundtwice", frame{Title: b.Name, Nav: "today", Body: b}, http.StatusConflict)
}

// roundTwice is an answer that came after another phone's.
type roundTwice struct {
	Name, Other, Mine, Next string
	Animal, To, Request     string
	Stage, Sides, Note      string
	Signs                   []string
	Seen                    uint64
}
