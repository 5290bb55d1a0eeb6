package web

import (
	"errors"
	"net/http"
	"strconv"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// startIn is how far ahead a plan that begins now is dated when it is written
// down: the page may have been open for a while.
const startIn = time.Hour

type eggPlanBody struct {
	ID, Mark, Clutch, Title, Female string
	Lies                            string // where, and on what day
	Want                            string
	Wants                           []spanTab
	Not                             string // why there is nothing to plan
	Due, DueMeans                   string
	Notes, LeftOut                  []string
	Planned                         *outcomeLine // what the book's own plan gives
	PlannedSays                     string
	List                            []proposalLine
	Own                             ownPlan
}

// An outcomeLine is what a plan would give, told of the wanted sex.
type outcomeLine struct {
	Sex, Share, Range   string
	Span                spanMark
	Hatch, Likely, Sure string
	Warnings            []string
	Keep                *keepPlan // nil: there is nothing to write down
}

type proposalLine struct {
	Says, Why string
	outcomeLine
}

// A spanTab is one of a few views of a page.
type spanTab struct {
	Href, Text string
	Current    bool
}

// A keepPlan is a filled-in plan form, hidden: one button writes it down.
type keepPlan struct {
	Request, Return, Egg, Unit string
	Verb                       string // on the button
	Answers                    []hiddenAnswer
}

type hiddenAnswer struct{ Name, Value string }

// eggPlanPage tells what could be done for a wanted sex, and what any plan of
// the visitor's own would give. Nothing is written down by opening it.
func (s *Server) eggPlanPage(v *visit) error {
	c, e := eggOf(v.snap, v.r.PathValue("id"))
	want, ok := wishOf(v.asked("want"))
	if e == nil || !ok || s.o.Planner == nil {
		return missing{"plan for egg " + v.r.PathValue("id")}
	}
	b := eggPlanBody{
		ID: e.ID, Mark: e.Mark, Clutch: c.ID, Title: clutchTitle(c.ID), Female: c.Name, Want: string(want),
		Lies: capital(dayOf(c.Laid, v.snap.Time)) + " · not in a box yet",
	}
	t := planTeller{v.say, v.snap}
	if e.Box != "" {
		b.Lies = capital(dayOf(c.Laid, v.snap.Time)) + " · " + t.shelf(e.Box)
	}
	if end := v.ending(*c, *e); end != nil {
		b.Lies, b.Not = capital(end.Says), "There is nothing left to plan."
		return v.render("eggplan", frame{Title: "Plan for egg " + e.Mark, Nav: "clutches", Body: b}, http.StatusOK)
	}
	for _, w := range []struct{ want, text string }{
		{"male", "A male"}, {"female", "A female"}, {"any", "No matter"},
	} {
		b.Wants = append(b.Wants, spanTab{"/eggs/" + e.ID + "/plan?want=" + w.want, w.text, string(want) == w.want})
	}
	if err := s.fillPlans(v, &b, want); err != nil {
		refusal, ok := errors.AsType[*monitor.Refusal](err)
		if !ok {
			return err
		}
		b.Not = capital(refusal.Text) + "."
	}
	return v.render("eggplan", frame{Title: "Plan for egg " + e.Mark, Nav: "clutches", Body: b}, http.StatusOK)
}

func (s *Server) fillPlans(v *visit, b *eggPlanBody, want incubation.Wish) error {
	p, err := s.o.Planner.Propose(b.ID, want)
	if err != nil {
		return err
	}
	t := planTeller{v.say, v.snap}
	if len(p.List) == 0 {
		return &monitor.Refusal{Text: "nothing is known to go by: no record of this egg, and no box whose temperature is known"}
	}
	b.Due, b.DueMeans = t.due(p.TSP)
	b.Notes, b.LeftOut = t.notes(p), t.leftOut(p)
	if says := v.eggPlan(*clutchOf(v.snap, b.Clutch), b.ID); says != "" {
		line := v.outcome(incubation.Outcome{Sex: p.Sex, Hatch: p.Hatch}, want)
		b.Planned, b.PlannedSays = &line, capital(says)
	}
	for _, o := range p.List {
		line := proposalLine{Says: t.proposal(o), Why: t.reason(o), outcomeLine: v.outcome(o.Outcome, want)}
		line.Warnings = t.warnings(o.Warnings, p.Profile().Limits)
		if answers := v.proposalAnswers(o); len(answers) > 0 || b.Planned != nil {
			line.Keep = v.keep(b, answers)
		}
		b.List = append(b.List, line)
	}
	return s.fillOwn(v, b, want)
}

// outcome tells what a plan gives, of the wanted sex: of a male without a wish.
func (v *visit) outcome(o incubation.Outcome, want incubation.Wish) outcomeLine {
	sex, chance, low, high := "Male", o.Sex.MaleProbability, o.Sex.Low, o.Sex.High
	if want == incubation.WantFemale {
		sex, chance, low, high = "Female", 1-chance, 1-high, 1-low
	}
	return outcomeLine{
		Sex: sex, Share: share(chance), Range: between(low, high), Span: mark(low, high, chance),
		Hatch: v.say.days(o.Hatch.Earliest, o.Hatch.Latest), Likely: v.say.day(o.Hatch.Likely),
		Sure: percent(o.Hatch.Probability),
	}
}

// proposalAnswers are the plan form's answers for a proposal.
func (v *visit) proposalAnswers(p incubation.Proposal) []hiddenAnswer {
	var out []hiddenAnswer
	n := 0
	for i, stay := range p.Stays {
		at := stay.From
		if i == 0 {
			if p.Moves < len(p.Stays) {
				continue // it lies there already
			}
			at = v.snap.Time.Add(startIn).Truncate(10 * time.Minute)
		}
		n++
		k := strconv.Itoa(n)
		out = append(out, hiddenAnswer{"at-" + k, v.say.input(at)}, hiddenAnswer{"box-" + k, stay.Place})
	}
	return out
}

func (v *visit) keep(b *eggPlanBody, answers []hiddenAnswer) *keepPlan {
	verb := "Write this plan down"
	if len(answers) == 0 {
		verb = "Write down: no plan"
	}
	return &keepPlan{
		Verb: verb, Request: newRequest(), Return: "/eggs/" + b.ID + "/plan?want=" + b.Want, Egg: b.ID,
		Unit: v.say.Unit(), Answers: answers,
	}
}
