package web

import (
	"cmp"
	"encoding/base64"
	"io"
	"net/http"
	"net/url"
	"strings"

	"clutchd/incubation/handout"
)

// callCookie keeps whom to call, where the keeper asked for that.
const callCookie = "clutchd_call"

// Bounds of whom to call: what a sheet has room for, and a cookie. Judgement.
const (
	maxCalls = 10
	maxCall  = 100
)

type sheetBody struct {
	Error  string
	Fields []field
	Keep   bool
}

// sheetPage offers the sheet for whoever looks after the room meanwhile.
func (s *Server) sheetPage(v *visit) error {
	call, _ := base64.RawURLEncoding.DecodeString(v.remembered(callCookie))
	return v.showSheet(url.Values{"call": {string(call)}, "paper": {v.paper().Name}, "keep": kept(string(call))}, nil)
}

func (v *visit) showSheet(q url.Values, wrong *problem) error {
	b := sheetBody{Keep: len(q["keep"]) > 0}
	b.Fields = []field{
		{
			Name: "call", Label: "Whom to call", Type: "textarea", Optional: true, Value: q.Get("call"),
			Hint: "A line each: yourself, a vet, a neighbour with a key. Left empty, lines to write on are printed.",
		},
		{Name: "paper", Label: "Paper", Type: "select", Options: options(q.Get("paper"), "A4", "A4", "Letter", "Letter")},
		addressField(cmp.Or(q.Get("address"), v.address())),
	}
	code := http.StatusOK
	if wrong != nil {
		b.Error, code = wrong.Text, http.StatusUnprocessableEntity
		b.Fields = marked(b.Fields, wrong)
	}
	return v.render("sheet", frame{Title: "Sheet for a helper", Nav: "room", Body: b}, code)
}

// postSheet prints it. What was typed is kept in this browser alone, and only
// where that was ticked.
func (s *Server) postSheet(v *visit) error {
	if err := v.r.ParseForm(); err != nil {
		return err
	}
	q := v.r.PostForm
	paper, ok := handout.PaperNamed(q.Get("paper"))
	if !ok {
		return v.showSheet(q, &problem{"paper", "Choose a paper."})
	}
	base, ok := readAddress(q.Get("address"))
	if !ok {
		return v.showSheet(q, &problem{"address", "Write the address as http://192.168.1.20:8080."})
	}
	call, wrong := readCalls(q.Get("call"))
	if wrong != nil {
		return v.showSheet(q, wrong)
	}
	keep := ""
	if q.Has("keep") {
		keep = base64.RawURLEncoding.EncodeToString([]byte(strings.Join(call, "\n")))
	}
	v.remember(callCookie, keep)
	sheet := v.sheet(paper, base)
	sheet.Call = call
	return v.send("sheet", func(w io.Writer) error { return s.o.Press.Sheet(w, sheet) })
}

func readCalls(text string) ([]string, *problem) {
	var out []string
	for line := range strings.Lines(text) {
		if line = strings.TrimSpace(line); line == "" {
			continue
		}
		if out = append(out, line); len([]rune(line)) > maxCall || len(out) > maxCalls {
			return nil, &problem{"call", "At most 10 lines of 100 characters have room on the sheet."}
		}
	}
	return out, nil
}
