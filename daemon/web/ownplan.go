package web

import (
	"cmp"
	"errors"
	"slices"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// An ownPlan is the visitor's own: what was typed, and what it would give.
type ownPlan struct {
	First, More []field
	Open        bool // there is something in More
	Error       string
	Says        string
	Outcome     *outcomeLine
}

// fillOwn reads the visitor's own plan from the address and asks about it.
func (s *Server) fillOwn(v *visit, b *eggPlanBody, want incubation.Wish) error {
	fields := v.changeFields()
	values := v.r.URL.Query()
	a := &answers{values: values, say: v.say, now: v.snap.Time.Truncate(time.Minute)}
	a.say.fahrenheit = cmp.Or(values.Get("unit"), v.say.Unit()) == "°F"
	asked := slices.ContainsFunc(fields, func(f field) bool { return a.text(f.Name) != "" })
	steps := a.planSteps()
	for i := range fields {
		v.answered(&fields[i], a)
	}
	b.Own = ownPlan{First: fields[:4], More: fields[4:]}
	b.Own.Open = slices.ContainsFunc(b.Own.More, func(f field) bool { return f.Value != "" })
	if !asked {
		return nil
	}
	if a.wrong == nil {
		a.within(steps)
	}
	if a.wrong != nil {
		b.Own.Error = capital(a.wrong.Text) + "."
		return nil
	}
	answer, err := s.consider(v.snap, b.ID, [][]book.PlanStep{steps})
	if err != nil {
		refusal, ok := errors.AsType[*monitor.Refusal](err)
		if !ok {
			return err
		}
		b.Own.Error = capital(refusal.Text) + "."
		return nil
	}
	v.ownOutcome(b, answer, steps, want)
	return nil
}

// answered shows a question of the own plan as it was answered; a temperature
// in the unit that the page is in now.
func (v *visit) answered(f *field, a *answers) {
	f.Value = a.text(f.Name)
	if a.say.fahrenheit != v.say.fahrenheit && f.Suffix != "" && f.Value != "" && a.wrong == nil {
		f.Value = plainly(v.say.degrees(a.degrees(f.Name)), 2)
	}
	for j := range f.Options {
		f.Options[j].Chosen = f.Options[j].Value == f.Value
	}
	if a.wrong != nil && a.wrong.Field == f.Name {
		f.Error = capital(a.wrong.Text) + "."
	}
}

// within refuses temperatures that nobody keeps eggs at, in the visitor's unit.
func (a *answers) within(steps []book.PlanStep) {
	const low, high = 10, 45
	for _, s := range steps {
		if s.Box == "" && (s.Celsius < low || s.Celsius > high) {
			a.blame("", "%s is outside %s to %s", a.say.temp(s.Celsius)+nbsp+a.say.Unit(), a.say.temp(low),
				a.say.temp(high)+nbsp+a.say.Unit())
		}
	}
}

func (v *visit) ownOutcome(b *eggPlanBody, answer considered, steps []book.PlanStep, want incubation.Wish) {
	t := planTeller{v.say, v.snap}
	line := v.outcome(answer.Plans[0], want)
	limits := answer.Profile().Limits
	line.Warnings = t.warnings(limits.Warn(answer.steps[0]), limits)
	var hidden []hiddenAnswer
	for _, f := range append(slices.Clone(b.Own.First), b.Own.More...) {
		if f.Value != "" {
			hidden = append(hidden, hiddenAnswer{f.Name, f.Value})
		}
	}
	line.Keep = v.keep(b, hidden)
	b.Own.Outcome = &line
	b.Own.Says = ownSays(v.teller(), steps)
}

// ownSays tells a plan of the visitor's own.
func ownSays(t teller, steps []book.PlanStep) string {
	out := ""
	for i, s := range steps {
		if i > 0 {
			out += ", then "
		}
		out += t.stepSays(s)
	}
	return capital(out)
}

// considered is an answer and the temperatures that were asked about.
type considered struct {
	incubation.Answer
	steps [][]incubation.Step
}

// consider asks what plans for an egg would give.
func (s *Server) consider(snap *monitor.Snapshot, egg string, plans [][]book.PlanStep) (considered, error) {
	steps, err := snap.WhatIf(egg, plans)
	if err != nil {
		return considered{}, err
	}
	a, err := s.o.Planner.Consider(egg, steps...)
	return considered{a, steps}, err
}

// input is a time as a datetime-local field holds it.
func (w words) input(t time.Time) string { return w.in(t).Format("2006-01-02T15:04") }
