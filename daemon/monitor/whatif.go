package monitor

import (
	"encoding/json"
	"fmt"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// Bounds of what may be asked at once. Judgement.
const (
	plansMost = 12
	stepsMost = 12
	coldest   = 10 // °C
	warmest   = 45
)

// WhatIf gives the temperatures that plans for an egg make: each box as it is
// expected to be, a temperature as it is, and up to the first step what the
// egg lies at now. The error is a *Refusal for a plan that makes no sense.
func (s *Snapshot) WhatIf(egg string, plans [][]book.PlanStep) ([][]incubation.Step, error) {
	e := s.Book.Eggs[egg]
	switch {
	case e == nil:
		return nil, &Refusal{Field: "egg", Text: fmt.Sprintf("the book has no egg %q", egg)}
	case len(plans) == 0:
		return nil, &Refusal{Field: "plans", Text: "there is no plan to ask about"}
	case len(plans) > plansMost:
		return nil, &Refusal{Field: "plans", Text: fmt.Sprintf("%d plans are more than %d at a time", len(plans), plansMost)}
	}
	var out [][]incubation.Step
	for i, plan := range plans {
		if text := s.unplannable(egg, plan); text != "" {
			if len(plans) > 1 {
				text = fmt.Sprintf("plan %d: %s", i+1, text)
			}
			return nil, &Refusal{Field: "plans", Text: text}
		}
		out = append(out, s.steps(e, plan))
	}
	return out, nil
}

// unplannable says what is wrong with a plan, "" for nothing.
func (s *Snapshot) unplannable(egg string, plan []book.PlanStep) string {
	if len(plan) == 0 {
		return "it has no step"
	}
	if len(plan) > stepsMost {
		return fmt.Sprintf("%d steps are more than %d", len(plan), stepsMost)
	}
	data, err := json.Marshal(book.PlanData{Egg: egg, Steps: plan})
	if err != nil {
		return "it holds a number that is none"
	}
	entry := book.Entry{At: s.Time, Made: s.Time, Kind: book.KindPlan, Data: data}
	if err := book.Check(s.Book, entry); err != nil {
		return refuse(err).Error()
	}
	for i, step := range plan {
		switch at := s.Book.When(egg, step); {
		case at.Before(s.Time.Truncate(time.Minute)):
			return fmt.Sprintf("step %d is due in the past: what was is in the record", i+1)
		case step.Box == "" && (step.Celsius < coldest || step.Celsius > warmest):
			return fmt.Sprintf("step %d: %g °C is outside %d to %d °C", i+1, step.Celsius, coldest, warmest)
		case step.Box != "" && s.Course(step.Box) == nil:
			return fmt.Sprintf("step %d: nothing is known of the temperature in %s", i+1, s.Book.Places[step.Box].Name)
		}
	}
	return ""
}

// steps gives the temperatures of a plan that makes sense.
func (s *Snapshot) steps(e *incubation.Egg, plan []book.PlanStep) []incubation.Step {
	lies := incubation.Stay{Place: incubation.At(e.Stays, s.Time), From: s.Time}
	course := s.Course(lies.Place)
	var out []incubation.Step
	for _, step := range plan {
		if lies.To = s.Book.When(e.ID, step); lies.To.After(lies.From) {
			out = append(out, incubation.During(course, lies)...)
		}
		lies = incubation.Stay{Place: step.Box, From: lies.To}
		if lies.From.Before(s.Time) {
			lies.From = s.Time
		}
		course = []incubation.Step{{From: lies.From, Celsius: step.Celsius}}
		if step.Box != "" {
			course = s.Course(step.Box)
		}
	}
	return append(out, incubation.During(course, lies)...)
}
