package command

import (
	"encoding/json"
	"flag"
	"fmt"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/sensors/logger"
)

const estimateUsage = "estimate [-laid TIME] [-eggs N] [-profile FILE] [-accuracy K] " +
	"[-position substrate|box-air|incubator-air] [-hold C | -plan PLAN] " +
	"[-unhatched] [-unit C|F] [-json] FILE.csv"

// members is the size of the ensemble an estimate is made under.
const members = 1000

// longest is how long before the last row eggs may have been laid: no gecko's
// egg lies for a year.
const longest = 366 * 24 * time.Hour

type estimateFlags struct {
	laid, profile, position, unit, plan string
	eggs                                int
	accuracy, hold                      float64
	unhatched, json                     bool
}

// Estimate says what a logger's record tells of the eggs that lay beside it,
// without a daemon. Now is the record's last row.
func Estimate(c Call) error {
	var f estimateFlags
	file, err := c.one(estimateUsage, f.define)
	if err != nil {
		return err
	}
	if err := f.check(); err != nil {
		return err
	}
	q, err := f.ask(file)
	if err != nil {
		return err
	}
	r := q.answer()
	if f.json {
		e := json.NewEncoder(c.Stdout)
		e.SetIndent("", "  ")
		return e.Encode(r)
	}
	return tell(c.Stdout, q, r)
}

func (f *estimateFlags) define(s *flag.FlagSet) {
	s.StringVar(&f.laid, "laid", "",
		"when the eggs were laid: a `TIME`, a date, or FROM/TO (default the first row)")
	s.IntVar(&f.eggs, "eggs", 2, "`N`umber of eggs in the clutch")
	s.StringVar(&f.profile, "profile", "", "`FILE` with the species' profile (default leopard gecko)")
	s.Float64Var(&f.accuracy, "accuracy", 0.2, "how far the probe may be off, `K`; 0: unknown")
	s.StringVar(&f.position, "position", string(incubation.Substrate),
		"`PLACE` of the probe: substrate, box-air or incubator-air")
	s.StringVar(&f.unit, "unit", "", "`C or F`, where the file does not tell")
	s.Float64Var(&f.hold, "hold", 0, "temperature from now on, °`C` (default as in the last day)")
	s.StringVar(&f.plan, "plan", "",
		"temperatures from now on, °C, days after laying: a `PLAN` such as \"32 to day 20, then 28\"")
	s.BoolVar(&f.unhatched, "unhatched", false, "at the last row the eggs were alive and not hatched")
	s.BoolVar(&f.json, "json", false, "print JSON")
}

func (f *estimateFlags) check() error {
	wrong := func(format string, a ...any) error {
		return &WrongCall{fmt.Sprintf(format, a...), "usage: clutchd " + estimateUsage}
	}
	switch {
	case f.eggs < 1 || f.eggs > 20:
		return wrong("-eggs %d: it can be 1 to 20", f.eggs)
	case !(f.accuracy >= 0 && f.accuracy <= 5):
		return wrong("-accuracy %g: it can be 0 to 5 K", f.accuracy)
	case incubation.Position(f.position).Rank() > incubation.IncubatorAir.Rank():
		return wrong("-position %q: it can be substrate, box-air or incubator-air", f.position)
	case f.hold != 0 && f.plan != "":
		return wrong("-hold %g and -plan %.80q: one of the two", f.hold, f.plan)
	case f.hold != 0 && !(f.hold >= 10 && f.hold <= 45):
		return wrong("-hold %g: it can be 10 to 45 °C", f.hold)
	}
	return nil
}

// inquiry is all that an estimate is made from.
type inquiry struct {
	flags    estimateFlags
	ensemble *incubation.Ensemble
	log      logger.Log
	laid     incubation.Laying
	plan     Plan
	steps    []incubation.Step // of the plan
	assumed  bool              // laid is the first row's time, for want of better
}

// ask gathers what the flags and the file say.
func (f estimateFlags) ask(file string) (inquiry, error) {
	q := inquiry{flags: f}
	var err error
	if q.laid, err = ParseLaid(f.laid); err != nil {
		return inquiry{}, err
	}
	if q.plan, err = ParsePlan(f.plan); err != nil {
		return inquiry{}, err
	}
	if f.hold != 0 {
		q.plan = Plan{{Celsius: incubation.Celsius(f.hold)}}
	}
	if q.ensemble, err = loadEnsemble(f.profile); err != nil {
		return inquiry{}, err
	}
	options := logger.Options{Start: q.laid.From, Unit: f.unit, Probe: "record"}
	if q.log, err = readLog(file, options, "-laid"); err != nil {
		return inquiry{}, err
	}
	q.log.Readings = slices.DeleteFunc(q.log.Readings, func(r incubation.Reading) bool {
		return r.Has&incubation.Temperature == 0
	})
	if len(q.log.Readings) == 0 {
		return inquiry{}, hint(fmt.Errorf("%s: it holds no temperature", file),
			"give the file of a probe that measures one")
	}
	if q.laid.From.IsZero() {
		q.laid, q.assumed = incubation.Laying{From: q.first(), To: q.first()}, true
	}
	if err := q.together(file); err != nil {
		return inquiry{}, err
	}
	q.laid.To = minTime(q.laid.To, q.last())
	if q.steps, err = q.plan.steps(q.laid, q.last()); err != nil {
		return inquiry{}, err
	}
	return q, nil
}

// together says whether laying and record belong to each other.
func (q inquiry) together(file string) error {
	laid, last := q.laid.From.Format(minute), q.last().Format(minute)
	switch lain := q.last().Sub(q.laid.From); {
	case lain < 0:
		return hint(fmt.Errorf("%s: its last row is of %s, before the eggs were laid on %s",
			file, last, laid), "give -laid as the time the eggs were laid, or the file of those days")
	case lain > longest:
		return hint(fmt.Errorf("%s: its last row is %.0f days after laying on %s",
			file, lain.Hours()/24, laid), "give -laid as the time these eggs were laid")
	}
	return nil
}

func minTime(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

func (q inquiry) first() time.Time { return q.log.Readings[0].Time }

func (q inquiry) last() time.Time { return q.log.Readings[len(q.log.Readings)-1].Time }

// result is what -json prints.
type result struct {
	incubation.Estimate
	Males []float64 `json:"males"`
	// Narrowing is what would make the estimate surer; best first, may be empty.
	Narrowing []narrowing `json:"narrowing"`
	Note      string      `json:"note"`
}

// A narrowing is the estimate without one doubt, and what to do about that.
type narrowing struct {
	incubation.Narrowing
	Text string `json:"text"`
}

func (q inquiry) answer() result {
	track := incubation.NewTrack(q.ensemble, q.laid)
	q.replay(track)
	ask := incubation.Question{Now: q.last(), Plan: q.steps, Holds: true}
	if q.flags.unhatched {
		ask.Unhatched, ask.AliveAt = true, q.last()
	}
	a := track.Ask(ask)
	out := result{
		Estimate: a.Estimate, Narrowing: []narrowing{}, Note: incubation.Caution,
		Males: incubation.Males(slices.Repeat([]incubation.Answer{a}, q.flags.eggs)),
	}
	for _, g := range incubation.Gains(a.Estimate, track.Narrowings(ask)) {
		if text := g.Advice(incubation.Position(q.flags.position)); text != "" {
			out.Narrowing = append(out.Narrowing, narrowing{g.Narrowing, text})
		}
	}
	return out
}

// replay folds the readings into the track as the daemon folds its own.
func (q inquiry) replay(track *incubation.Track) {
	aligner := incubation.Aligner{Accuracy: q.flags.accuracy, Limits: q.ensemble.Profile.Limits}
	add := func(b incubation.Block, closed bool) {
		if closed {
			b.Position = incubation.Position(q.flags.position)
			_ = track.Add(b) // refused only backwards, and the log is in order
		}
	}
	for _, r := range q.log.Readings {
		add(aligner.Add(r))
	}
	add(aligner.Close(q.last().Add(incubation.BlockLength)))
}
