package web

import (
	"net/http"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

type plansJSON struct {
	Egg       string          `json:"egg"`
	Want      incubation.Wish `json:"want"`
	TSP       *incubation.TSP `json:"tsp,omitempty"`
	Proposals []proposalJSON  `json:"proposals"`
	LeftOut   []leftOutJSON   `json:"left_out"`
	Notes     []string        `json:"notes"`
}

type proposalJSON struct {
	Says   string            `json:"says"`
	Stays  []stayJSON        `json:"stays"`
	Moves  int               `json:"moves"`
	Odds   float64           `json:"odds"`
	Behind float64           `json:"behind"`
	Why    incubation.Reason `json:"why"`
	outcomeJSON
}

type stayJSON struct {
	Place string    `json:"place"`
	From  time.Time `json:"from"`
	To    time.Time `json:"to,omitzero"`
}

type leftOutJSON struct {
	Place string             `json:"place"`
	Why   incubation.Warning `json:"why,omitempty"`
	As    string             `json:"as,omitempty"`
}

// An outcomeJSON is what a plan would give.
type outcomeJSON struct {
	Steps    []setpointJSON       `json:"steps"`
	Sex      chanceJSON           `json:"sex"`
	Hatch    incubation.HatchSpan `json:"hatch"`
	Warnings []incubation.Warning `json:"warnings"`
}

type chanceJSON struct {
	Male float64 `json:"male_probability"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

func outcomeOf(o incubation.Outcome, steps []incubation.Step, w []incubation.Warning) outcomeJSON {
	out := outcomeJSON{
		Steps: []setpointJSON{}, Hatch: o.Hatch, Warnings: some(w),
		Sex: chanceJSON{o.Sex.MaleProbability, o.Sex.Low, o.Sex.High},
	}
	for _, s := range steps {
		out.Steps = append(out.Steps, setpointJSON{s.From.UTC(), thousandths(s.Celsius)})
	}
	return out
}

// plannable finds an egg that can be asked about.
func (s *Server) plannable(snap *monitor.Snapshot, r *http.Request) (string, error) {
	id := r.PathValue("id")
	if _, e := eggOf(snap, id); e == nil || s.o.Planner == nil {
		return "", notFound("egg " + id)
	}
	return id, nil
}

func (s *Server) apiPlans(snap *monitor.Snapshot, r *http.Request) (any, error) {
	egg, err := s.plannable(snap, r)
	if err != nil {
		return nil, err
	}
	want, ok := wishOf(r.URL.Query().Get("want"))
	if !ok {
		return nil, wrong("want", "want is male, female or any")
	}
	p, err := s.o.Planner.Propose(egg, want)
	if err != nil {
		return nil, err
	}
	t := planTeller{words{zone: s.o.Zone, now: snap.Time}, snap}
	out := plansJSON{Egg: egg, Want: want, Proposals: []proposalJSON{}, LeftOut: []leftOutJSON{}, Notes: t.notes(p)}
	if p.TSP.State != "" {
		out.TSP = &p.TSP
		says, means := t.due(p.TSP)
		out.Notes = append(out.Notes, says, means)
	}
	for _, o := range p.List {
		one := proposalJSON{
			Says: t.proposal(o), Moves: o.Moves, Odds: o.Odds, Behind: o.Behind, Why: o.Why,
			outcomeJSON: outcomeOf(o.Outcome, o.Steps, o.Warnings),
		}
		for _, stay := range o.Stays {
			to := stay.To
			if !to.IsZero() {
				to = to.UTC()
			}
			one.Stays = append(one.Stays, stayJSON{stay.Place, stay.From.UTC(), to})
		}
		out.Proposals = append(out.Proposals, one)
	}
	for _, l := range p.LeftOut {
		out.LeftOut = append(out.LeftOut, leftOutJSON(l))
	}
	return out, nil
}

type considerJSON struct {
	Plans [][]book.PlanStep `json:"plans"`
}

type consideredJSON struct {
	Egg      string        `json:"egg"`
	Outcomes []outcomeJSON `json:"outcomes"`
}

// apiConsider says what plans would give, in their order. It writes nothing
// down.
func (s *Server) apiConsider(snap *monitor.Snapshot, r *http.Request) (any, error) {
	egg, err := s.plannable(snap, r)
	if err != nil {
		return nil, err
	}
	var c considerJSON
	if err := readJSON(r.Body, &c); err != nil {
		return nil, err
	}
	a, err := s.consider(snap, egg, c.Plans)
	if err != nil {
		return nil, err
	}
	out := consideredJSON{Egg: egg, Outcomes: []outcomeJSON{}}
	for i, o := range a.Plans {
		out.Outcomes = append(out.Outcomes, outcomeOf(o, a.steps[i], a.Profile().Limits.Warn(a.steps[i])))
	}
	return out, nil
}
