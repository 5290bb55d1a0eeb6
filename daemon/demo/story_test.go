package demo_test

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/daemon/demo"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/species"
	"clutchd/sensors/simulated"
)

var told = time.Date(2026, 7, 14, 15, 20, 40, 0, time.UTC)

const zone = "Europe/Lisbon"

func TestEveryEntryMakesSenseWhenItIsWritten(t *testing.T) {
	for _, now := range []time.Time{
		told, told.Add(9 * time.Hour), told.Add(-17 * time.Hour),
		time.Date(2026, 11, 2, 0, 0, 0, 0, time.UTC),
	} {
		entries, spec := demo.Story(now, zone)
		if err := spec.Check(); err != nil {
			t.Errorf("the room: %v", err)
		}
		s := book.Fold(nil)
		requests := map[string]bool{}
		for i, e := range entries {
			if err := book.Check(s, e); err != nil {
				t.Fatalf("%v: entry %d, %s %s: %v", now, i, e.Kind, e.Data, err)
			}
			if e.At.After(now) || i > 0 && e.At.Before(entries[i-1].At) || requests[e.Request] {
				t.Fatalf("%v: entry %d is of %v, request %q", now, i, e.At, e.Request)
			}
			requests[e.Request] = true
			s = s.With(e)
		}
		got := now.Sub(entries[0].At)
		if got < demo.SeasonLength || got > demo.SeasonLength+10*time.Minute {
			t.Errorf("the story begins %v before %v", got, now)
		}
	}
}

func TestOneNowOneStory(t *testing.T) {
	a, roomA := demo.Story(told, zone)
	b, roomB := demo.Story(told, zone)
	if d := cmp.Diff(a, b) + cmp.Diff(roomA, roomB); d != "" {
		t.Errorf("told twice, it differs:\n%s", d)
	}
	elsewhere, _ := demo.Story(told, "Nowhere/Town")
	if elsewhere[0].Zone != "UTC" {
		t.Errorf("an unknown zone became %q, want UTC", elsewhere[0].Zone)
	}
}

// written folds the story as the monitor would have numbered it.
func written(t *testing.T, entries []book.Entry) *book.State {
	t.Helper()
	entries = slices.Clone(entries)
	for i := range entries {
		entries[i].Seq = uint64(i + 1)
	}
	s := book.Fold(entries)
	for _, p := range s.Problems {
		t.Error(p)
	}
	return s
}

// What the season must hold for the pages to have something of each kind.
func TestWhatTheSeasonHolds(t *testing.T) {
	entries, spec := demo.Story(told, zone)
	s := written(t, entries)
	eggs := map[incubation.EggState]int{}
	sexed := map[incubation.SexedHow]int{}
	mixed, ask, split := 0, 0, 0
	for _, e := range s.Eggs {
		eggs[e.State]++
		sexed[e.Sexed.How]++
	}
	for _, c := range s.Clutches {
		mixed += c.Mixed.Count()
		ask += len(c.SexingGap(told).Due)
		if len(c.Eggs) == 2 && c.Eggs[0].Live() && c.Eggs[1].Live() &&
			incubation.At(c.Eggs[0].Stays, told) != incubation.At(c.Eggs[1].Stays, told) {
			split++
		}
	}
	unplaced := 0
	for _, p := range spec.Probes {
		placed := false
		for _, at := range s.Placements {
			placed = placed || at.Probe == p.ID && at.Stay.Place == p.Place && at.Position == p.Position
		}
		if !placed {
			unplaced++
		}
	}
	for _, row := range []struct {
		name     string
		got      int
		low, top int
	}{
		{"animals: twelve that lay, a young one, three males, a hatchling that is kept", len(s.Animals), 17, 17},
		{"clutches", len(s.Clutches), 18, 18},
		{"eggs in their boxes", eggs[incubation.Incubating] + eggs[incubation.Pipped], 12, 18},
		{"hatched", eggs[incubation.Hatched], 14, 22},
		{"failed", eggs[incubation.Failed], 1, 1},
		{"hatchlings sexed by anatomy", sexed[incubation.ByAnatomy], 2, 2},
		{"hatchlings sexed by anatomy, their eggs not known", mixed, 2, 2},
		{"hatchlings whose sex was seen the day they hatched", sexed[incubation.AtHatch], 1, 1},
		{"hatchlings labelled by temperature", sexed[incubation.ByTemperature], 1, 1},
		{"hatchlings whose sex is to be looked at now", ask, 1, 1},
		{"live clutches that lie apart", split, 1, 1},
		{"eggs with a plan", len(s.Plans), 2, 2},
		{"incubators", kinds(s, incubation.Incubator), 2, 2},
		{"boxes", kinds(s, incubation.Box), 8, 8},
		{"lay boxes", kinds(s, incubation.LayBox), 4, 4},
		{"enclosures", kinds(s, incubation.Enclosure), 7, 7},
		{"notes", len(s.Notes), 9, 12},
		{"pairings", len(s.Pairings), 12, 30},
		{"probes that wait for a place", unplaced, 1, 1},
	} {
		if row.got < row.low || row.got > row.top {
			t.Errorf("%s: %d, want %d to %d", row.name, row.got, row.low, row.top)
		}
	}
	for id := range s.Plans {
		steps := s.PlanSteps(id, told)
		if len(steps) != 2 || steps[0].Celsius != 32 || steps[1].Celsius != 28 {
			t.Errorf("egg %s is to lie at %v, want 32 °C and then 28", id, steps)
		}
	}
}

// Animals are looked at when they are old enough, and none turns out to be
// what hardly ever comes out of the temperature that it had: its box's mean
// over the second quarter of its incubation, about when the sex is set, under
// the middle curve of the species' own data, which names its sources.
func TestSexesAreAsTheBoxesWere(t *testing.T) {
	entries, _ := demo.Story(told, zone)
	s := written(t, entries)
	sex := species.Leopard().Sex
	curve := incubation.Member{
		Rising:  incubation.Flank{Pivotal: sex.Rising.Pivotal.Value, Slope: sex.Rising.Slope.Value},
		Falling: incubation.Flank{Pivotal: sex.Falling.Pivotal.Value, Slope: sex.Falling.Slope.Value},
	}
	means := tspMeans(s)
	likely := func(id, sex string) {
		p := curve.Chance(means[id])
		if sex == incubation.Female {
			p = 1 - p
		}
		if p < 0.05 {
			t.Errorf("egg %s became a %s at %.2f °C: the chance of that is %.3f", id, sex, means[id], p)
		}
	}
	aged := func(id string, told incubation.Sexing) {
		days := told.At.Sub(s.Eggs[id].Ended).Hours() / 24
		if told.How == incubation.ByAnatomy && (days < 60 || days > 90) {
			t.Errorf("the animal of egg %s was looked at on its day %.1f", id, days)
		}
	}
	n := 0
	for id, e := range s.Eggs {
		if e.Sex != "" {
			likely(id, e.Sex)
			aged(id, e.Sexed)
			n++
		}
	}
	for _, c := range s.Clutches {
		for _, e := range c.Eggs {
			if c.Mixed.Males > 0 {
				likely(e.ID, incubation.Male)
			}
			if c.Mixed.Females > 0 {
				likely(e.ID, incubation.Female)
			}
			if c.Mixed.Count() > 0 {
				aged(e.ID, c.Mixed.Sexed)
				n++
			}
		}
	}
	if n != 6 {
		t.Errorf("%d animals were looked into, want 6", n)
	}
}

// tspMeans gives each hatched egg's mean temperature over the second quarter
// of its incubation, in the simulated room.
func tspMeans(s *book.State) map[string]float64 {
	entries, spec := demo.Story(told, zone)
	room := simulated.New(spec, 20, entries[0].At)
	sums, counts := map[string]float64{}, map[string]float64{}
	for at := entries[0].At; at.Before(told); at = at.Add(time.Hour) {
		room.Sample(context.Background(), at)
		for id, e := range s.Eggs {
			laid := s.Clutches[e.Clutch].Laid.To
			part := at.Sub(laid).Hours() / e.Ended.Sub(laid).Hours()
			c, ok := room.Celsius(incubation.At(e.Stays, at))
			if ok && e.State == incubation.Hatched && part >= 0.25 && part < 0.5 {
				sums[id] += float64(c)
				counts[id]++
			}
		}
	}
	for id, n := range counts {
		sums[id] /= n
	}
	return sums
}

func kinds(s *book.State, kind incubation.PlaceKind) int {
	n := 0
	for _, p := range s.Places {
		if p.Kind == kind {
			n++
		}
	}
	return n
}

// Each egg that hatched had grown up by then, in the very temperature of the
// simulated box it lay in: at (T − 17.5) over 53 days' worth at 28 °C, as the
// story says of itself. The keeper looks twice a day, eggs differ by 2 %.
func TestEggsHatchWhenTheirBoxesSaySo(t *testing.T) {
	entries, spec := demo.Story(told, zone)
	s := written(t, entries)
	room := simulated.New(spec, 20, entries[0].At)
	grown := map[string]float64{}
	const step = 10 * time.Minute
	for at := entries[0].At; at.Before(told); at = at.Add(step) {
		room.Sample(context.Background(), at)
		for id, e := range s.Eggs {
			if c, ok := room.Celsius(incubation.At(e.Stays, at)); ok {
				grown[id] += float64(c-17.5) / (53 * 10.5) * step.Hours() / 24
			}
		}
	}
	for id, e := range s.Eggs {
		switch g := grown[id]; {
		case e.State == incubation.Hatched && math.Abs(g-1) > 0.08:
			t.Errorf("egg %s hatched at %.2f of its growth", id, g)
		case e.Live() && g > 1.06:
			t.Errorf("egg %s has not hatched at %.2f of its growth", id, g)
		}
	}
}

// Without the season's mishaps no box strays a kelvin from its setpoint for
// long, nor any enclosure past its limits: what is calm must look calm.
func TestTheRoomIsCalm(t *testing.T) {
	entries, spec := demo.Story(told, zone)
	if len(spec.Faults) != 2 {
		t.Errorf("%d mishaps in the season, want 2", len(spec.Faults))
	}
	spec.Faults = nil
	s := written(t, entries)
	room := simulated.New(spec, 20, entries[0].At)
	worst := map[string]float64{}
	for at := entries[0].At.Add(3 * time.Hour); at.Before(told); at = at.Add(30 * time.Minute) {
		room.Sample(context.Background(), at)
		for id, place := range s.Places {
			c, _ := room.Celsius(id)
			set := s.SetpointAt(id, at)
			changed := set != nil && s.SetpointAt(id, at.Add(-3*time.Hour)) != nil &&
				*set != *s.SetpointAt(id, at.Add(-3*time.Hour))
			if set != nil && !changed {
				worst[id] = max(worst[id], math.Abs(float64(c-*set)))
			}
			if l := s.Limits[id]; place.Kind == incubation.Enclosure && l.LowCelsius != nil &&
				(c < *l.LowCelsius || c > *l.HighCelsius) {
				t.Fatalf("%s is at %.1f °C at %v", id, float64(c), at)
			}
		}
	}
	for id, k := range worst {
		if k > 0.95 {
			t.Errorf("%s strays %.2f K from its setpoint", id, k)
		}
	}
}

func TestEntriesArePlainJSON(t *testing.T) {
	entries, _ := demo.Story(told, zone)
	for _, e := range entries {
		raw, err := json.Marshal(e)
		if err != nil {
			t.Fatalf("entry %s: %v", e.Request, err)
		}
		var back book.Entry
		if err := json.Unmarshal(raw, &back); err != nil {
			t.Fatalf("entry %s: %v", e.Request, err)
		}
		if d := cmp.Diff(e, back); d != "" {
			t.Fatalf("entry %s read back otherwise (-want +got):\n%s", e.Request, d)
		}
	}
}
