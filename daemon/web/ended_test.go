package web

import (
	"testing"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

func TestEndedEggsStandBesideTheirEstimate(t *testing.T) {
	on := func(month time.Month, day, hour int) time.Time {
		return time.Date(2026, month, day, hour, 0, 0, 0, time.UTC)
	}
	span := incubation.HatchSpan{Earliest: on(6, 4, 8), Likely: on(6, 10, 8), Latest: on(6, 16, 20), Probability: 0.9}
	c := monitor.ClutchNow{Laid: monitor.LaidJSON{From: on(4, 20, 20), To: on(4, 21, 8)}}
	for _, r := range []struct {
		sentence     string
		egg          incubation.Egg
		line, beside string
		estimate     string
	}{
		{
			"hatched on the likely day",
			incubation.Egg{State: incubation.Hatched, Ended: on(6, 10, 20)},
			"hatched 10 Jun, day 50", "it came that day", "estimate: 4–16 Jun, likely female",
		},
		{
			"a day late, after midnight in the room's zone",
			incubation.Egg{State: incubation.Hatched, Ended: on(6, 10, 23), Sex: "female", Sexed: incubation.Sexing{At: on(6, 10, 23), How: incubation.AtHatch}},
			"hatched 11 Jun, day 50, female", "it came a day later", "estimate: 4–16 Jun, likely female",
		},
		{
			"a label from the temperature is not told in a list",
			incubation.Egg{State: incubation.Hatched, Ended: on(6, 10, 20), Sex: "female", Sexed: incubation.Sexing{How: incubation.ByTemperature}},
			"hatched 10 Jun, day 50", "it came that day", "estimate: 4–16 Jun, likely female",
		},
		{
			"before the window",
			incubation.Egg{State: incubation.Hatched, Ended: on(6, 3, 8)},
			"hatched 3 Jun, day 43", "it came 7 days earlier, outside the window", "estimate: 4–16 Jun, likely female",
		},
		{
			"lost, why known",
			incubation.Egg{State: incubation.Failed, Ended: on(5, 1, 8), Cause: "mould"},
			"lost 1 May, day 10: mould", "", "estimate: likely female",
		},
		{
			"lost, why not known",
			incubation.Egg{State: incubation.Failed, Ended: on(5, 1, 8)},
			"lost 1 May, day 10", "", "estimate: likely female",
		},
	} {
		egg := r.egg
		egg.ID = "x-a"
		v := &visit{
			snap: &monitor.Snapshot{
				Time: on(6, 20, 8), Trusted: true,
				Book: &book.State{Eggs: map[string]*incubation.Egg{"x-a": &egg}},
			},
			say: words{zone: time.FixedZone("CEST", 7200), now: on(6, 20, 8)},
		}
		e := monitor.EggNow{ID: "x-a", State: egg.State, Estimate: &incubation.Estimate{
			Hatch: span,
			Sex:   incubation.Sex{Words: "likely female"},
		}}
		end := v.ending(c, e)
		if end == nil {
			t.Fatalf("%s: no ending", r.sentence)
		}
		if end.line() != r.line || end.Came != r.beside {
			t.Errorf("%s: %q, %q, want %q, %q", r.sentence, end.line(), end.Came, r.line, r.beside)
		}
		if got := end.estimate(e, v.eggLine(c, e)); got != r.estimate {
			t.Errorf("%s: %q, want %q", r.sentence, got, r.estimate)
		}
		egg.State, e.State = incubation.Pipped, incubation.Pipped
		if v.ending(c, e) != nil {
			t.Errorf("%s: an egg that lives has an ending", r.sentence)
		}
	}
}

func TestMissingEstimateSaysWhy(t *testing.T) {
	for _, r := range []struct {
		sentence           string
		computing, trusted bool
		want               string
	}{
		{"the record is being read", true, true, "the estimate is being worked out"},
		{"it is not read before the clock is set", true, false, "the estimate waits until the clock is set"},
		{"nothing is known", false, true, "no estimate: no record and no setpoint"},
	} {
		v := &visit{snap: &monitor.Snapshot{Trusted: r.trusted}}
		if got := v.without(monitor.EggNow{Computing: r.computing}); got != r.want {
			t.Errorf("%s: %q, want %q", r.sentence, got, r.want)
		}
	}
}
