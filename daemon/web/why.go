package web

import (
	"errors"
	"fmt"
	"net/http"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

type whyBody struct {
	Clutch, ClutchTitle, Egg string
	Words, Male, Rests       string
	Live                     bool
	Refused                  string // why it cannot be said what would narrow it
	Advice                   []string
	Sources                  []sourceLine
	Charted                  bool
	Gaps                     []string
	MoreGaps                 string
	Assumed                  []assumption
}

// mostGaps is how many of the longest gaps the page names.
const mostGaps = 10

// whyPage tells what an egg's estimate rests on.
func (s *Server) whyPage(v *visit) error {
	id := v.r.PathValue("id")
	c, e := eggOf(v.snap, id)
	if e == nil || v.snap.Book.Eggs[id] == nil {
		return missing{"egg " + id}
	}
	b := whyBody{
		Clutch: c.ID, ClutchTitle: clutchTitle(c.ID), Egg: "egg " + e.Mark, Live: live(*e) && s.o.Doubts != nil,
		Assumed: v.say.assumptions(s.o.Profile), Words: capital(v.without(*e)),
	}
	b.Sources = v.sources(*c, *e)
	if n := e.Estimate; n != nil {
		b.Words, b.Rests = capital(n.Sex.Words), restsOn(n.Basis, live(*e))
		b.Male = share(n.Sex.MaleProbability) + " (" + between(n.Sex.Low, n.Sex.High) + ")"
	}
	if b.Live {
		if err := s.advise(*e, &b); err != nil {
			return err
		}
	}
	if s.o.History != nil {
		if err := s.gapsOf(v, eggAsked{*c, *e, chartColumns}, &b); err != nil {
			return err
		}
	}
	return v.render("why", frame{Title: "What this rests on", Nav: "clutches", Body: b}, http.StatusOK)
}

// advise says what would narrow the estimate, or why that cannot be said.
func (s *Server) advise(e monitor.EggNow, b *whyBody) error {
	each, err := s.o.Doubts.Narrowings(e.ID)
	refusal, refused := errors.AsType[*monitor.Refusal](err)
	switch {
	case refused:
		b.Refused = capital(refusal.Text) + "."
	case err != nil:
		return fmt.Errorf("ask what would narrow the estimate of egg %s: %w", e.ID, err)
	case e.Estimate == nil || each == nil:
		b.Refused = "There is no estimate to narrow yet."
	default:
		for _, g := range incubation.Gains(*e.Estimate, each) {
			if text := g.Advice(mostly(b.Sources)); text != "" {
				b.Advice = append(b.Advice, text)
			}
		}
	}
	return nil
}

// gapsOf lists the longest gaps of an egg's record in their order.
func (s *Server) gapsOf(v *visit, a eggAsked, b *whyBody) error {
	p, err := s.eggPlot(v.r.Context(), v.snap, a)
	if err != nil {
		return err
	}
	b.Charted = true
	gaps, left := longest(p.record.Gaps, mostGaps)
	for _, g := range gaps {
		b.Gaps = append(b.Gaps, fmt.Sprintf("%s to %s: %s", v.say.moment(g.From), v.say.moment(g.To),
			span(g.To.Sub(g.From))))
	}
	if left > 0 {
		b.MoreGaps = fmt.Sprintf("and %d shorter", left)
	}
	return nil
}

// apiNarrowings is what an egg's estimate would be without each doubt.
func (s *Server) apiNarrowings(snap *monitor.Snapshot, r *http.Request) (any, error) {
	id := r.PathValue("id")
	if _, e := eggOf(snap, id); e == nil || s.o.Doubts == nil {
		return nil, notFound("egg " + id)
	}
	each, err := s.o.Doubts.Narrowings(id)
	if err != nil {
		return nil, err
	}
	return some(each), nil
}
