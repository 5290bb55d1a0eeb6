package season_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/season"
)

func TestAheadOfNobodyIsEmpty(t *testing.T) {
	f := keeps(t).look("2026-05-01").Ahead(season.Span{Weeks: 4})
	if len(f.Weeks) != 4 || f.Layings.High != 0 || f.Hatchlings.High != 0 || f.Capacity != 2 {
		t.Errorf("no female laid or was paired; two boxes stand in the cabinet: %+v", f)
	}
	if !f.Full.IsZero() || !f.MayBeFull.IsZero() {
		t.Errorf("full %v, %v", f.Full, f.MayBeFull)
	}
}

// A female with a fixed rhythm: what arithmetic gives.
func TestAheadOfAFixedRhythm(t *testing.T) {
	k := keeps(t)
	// Three seasons of fifteen clutches every 20 days: the within-female variance
	// comes down to 54.3/(6+41) and her own mean is 20 within a tenth.
	for y := 2023; y < 2026; y++ {
		t0 := time.Date(y, 1, 10, 12, 0, 0, 0, time.UTC)
		for i := range 13 {
			k.lays(t0.AddDate(0, 0, 20*i).Format(time.DateOnly), "saffron", fmt.Sprintf("c-%d-%d", y, i))
		}
	}
	for _, d := range []string{"2026-01-10", "2026-01-30", "2026-02-19"} {
		k.lays(d, "saffron", "now-"+d)
	}
	for _, e := range k.state().Eggs {
		if e.Live() && e.Clutch[:3] != "now" {
			d := k.state().Clutches[e.Clutch].Laid.To.AddDate(0, 0, 60)
			k.add(d.Format(time.DateOnly), book.KindHatch, book.HatchData{Egg: e.ID})
		}
	}
	h := k.look("2026-02-20")
	if l := h.Rhythm("saffron").Interval; math.Abs(l.Days-20) > 0.1 || l.SD > 1.3 {
		t.Fatalf("her interval: %+v", l)
	}
	f := h.Ahead(season.Span{Weeks: 9, Runs: 1000, Seed: 1})
	// From 20 February: 11, 31 March and 20 April, days 19, 39 and 59, weeks 2,
	// 5 and 8. Three seasons went on to thirteen clutches; with four of the
	// starting value's beside them she goes on after the third, fourth and fifth
	// by (4·0.9407+3)/7 = 0.966, 0.925 and 0.866: three come by 0.774, and none
	// more fits in.
	if f.Layings.Middle != 3 || f.Layings.High != 3 {
		t.Errorf("layings in nine weeks: %+v, want 3", f.Layings)
	}
	for w, want := range []float64{0, 0, 1, 0, 0, 1, 0, 0, 1} {
		if got := f.Weeks[w].Layings.Middle; got != want {
			t.Errorf("week %d: %v layings, want %v", w, got, want)
		}
	}
	// The eggs of 10 January hatch 60 days later, 11 March: day 19, week 2. All
	// of 78 eggs hatched: (7 + 78)/(10 + 78) = 0.966 of six eggs come by week 8.
	if got := f.Hatchlings.Middle; got != 6 {
		t.Errorf("hatchlings: %+v, want 6 in the middle", f.Hatchlings)
	}
	if f.Weeks[0].Boxes.Middle != 1 || !f.Weeks[0].From.Equal(on("2026-02-20 00:00")) {
		t.Errorf("the first week begins today, with one box: %+v", f.Weeks[0])
	}
}

func TestWhenTheIncubatorIsFull(t *testing.T) {
	k := keeps(t) // two boxes in the cabinet
	k.laysEvery("2026-02-10", "saffron", 21, 21)
	f := k.look("2026-03-25").Ahead(season.Span{Weeks: 20, Seed: 3, Capacity: 4})
	// Six eggs in one box now, so three clutches share one; at 4 boxes it never
	// fills.
	if !f.Full.IsZero() {
		t.Errorf("full from %v", f.Full)
	}
	g := k.look("2026-03-25").Ahead(season.Span{Weeks: 20, Seed: 3, Capacity: 1})
	if !g.Full.Equal(on("2026-03-25 00:00")) || g.Full.Before(g.MayBeFull) {
		t.Errorf("one box, and it is taken: full from %v, perhaps from %v", g.Full, g.MayBeFull)
	}
}

func TestTheSameSeedGivesTheSameForecast(t *testing.T) {
	h := simulated(t, 7, 10).herd(on("2026-04-01"))
	a, b := h.Ahead(season.Span{Seed: 5}), h.Ahead(season.Span{Seed: 5})
	if fmt.Sprint(a) != fmt.Sprint(b) {
		t.Error("two forecasts of one seed differ")
	}
	if c := h.Ahead(season.Span{Seed: 6}); fmt.Sprint(a) == fmt.Sprint(c) {
		t.Error("another seed makes no difference: are dice thrown at all?")
	}
}

// A world is a herd whose true rhythms are drawn, and the layings of its years.
type world struct {
	females []string
	layings map[string][]time.Time
	paired  map[string][]time.Time
}

// simulated draws a herd from what the starting values say: a herd's mean
// interval, females about it, intervals about theirs, numbers of clutches, and
// three seasons of it.
func simulated(t testing.TB, seed uint64, n int) *world {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 9))
	w := &world{layings: map[string][]time.Time{}, paired: map[string][]time.Time{}}
	const spread = 14 / (2 * 1.6448536)
	herd := 21 + spread/2*r.NormFloat64()
	for i := range n {
		id := fmt.Sprintf("f-%d", i)
		w.females = append(w.females, id)
		own := herd + spread/2*r.NormFloat64()
		opens := 25.8 / math.Sqrt2 * r.NormFloat64()
		for y := 2024; y <= 2026; y++ {
			from := time.Date(y, 1, 15, 12, 0, 0, 0, time.UTC)
			at := from.Add(time.Duration((opens + 25.8/math.Sqrt2*r.NormFloat64()) * 24 * float64(time.Hour)))
			w.paired[id] = append(w.paired[id], at)
			at = at.Add(time.Duration(max(28+8.2*r.NormFloat64(), 12) * 24 * float64(time.Hour)))
			for range max(int(math.Round(6+1.82*r.NormFloat64())), 1) {
				w.layings[id] = append(w.layings[id], at.Truncate(time.Minute))
				gap := max(own+spread/math.Sqrt2*r.NormFloat64(), 8)
				at = at.Add(time.Duration(gap * 24 * float64(time.Hour)))
			}
		}
	}
	return w
}

// herd is the world's book as it stands at a time.
func (w *world) herd(now time.Time) *season.Herd {
	s := book.Fold(nil)
	for _, id := range w.females {
		a := &incubation.Animal{ID: id, Sex: incubation.Female, AgeClass: incubation.Adult, Since: on(begin)}
		s.Animals[id] = a
		for _, at := range w.paired[id] {
			if at.Before(now) {
				s.Pairings = append(s.Pairings, incubation.Pairing{
					At: at, Female: id, Male: "m", Outcome: incubation.Accepted,
				})
			}
		}
		for i, at := range w.layings[id] {
			if at.Before(now) {
				c := &incubation.Clutch{ID: fmt.Sprintf("%s-%d", id, i), Female: id, Laid: incubation.Laying{From: at, To: at}}
				s.Clutches[c.ID] = c
			}
		}
	}
	return season.Look(s, now, season.Options{})
}

func (w *world) between(from, to time.Time) (all int) {
	for _, id := range w.females {
		for _, at := range w.layings[id] {
			if !at.Before(from) && at.Before(to) {
				all++
			}
		}
	}
	return all
}

// On simulated herds the 80 % bands hold about 80 %: of single next layings, of
// all layings in eight weeks, and of one week's.
func TestBandsHoldWhatTheySay(t *testing.T) {
	const herds = 120
	var next, nexts, eight, week, weeks int
	var came, chance float64
	for seed := range uint64(herds) {
		w := simulated(t, seed, 8)
		now := on("2026-03-20").AddDate(0, 0, int(seed%40))
		h := w.herd(now)
		for _, id := range w.females {
			e := h.Rhythm(id).Next
			if e == nil || e.Past {
				continue
			}
			at, ok := w.next(id, now)
			chance += e.Comes
			if !ok {
				continue
			}
			came++
			nexts++
			if !at.Before(e.From) && !at.After(e.By) {
				next++
			}
		}
		f := h.Ahead(season.Span{Weeks: 8, Runs: 300, Seed: seed})
		if n := float64(w.between(now, now.AddDate(0, 0, 56))); n >= f.Layings.Low && n <= f.Layings.High {
			eight++
		}
		for i, wk := range f.Weeks {
			if i == 0 {
				continue // begins at midnight, the book at noon
			}
			weeks++
			if n := float64(w.between(wk.From, wk.From.AddDate(0, 0, 7))); n >= wk.Layings.Low && n <= wk.Layings.High {
				week++
			}
		}
	}
	share := func(n, of int) float64 { return float64(n) / float64(of) }
	t.Logf("next laying in its window: %.3f of %d; eight weeks' layings in their band: %.3f of %d; one week's: "+
		"%.3f of %d; another clutch came %.0f times, %.0f were expected",
		share(next, nexts), nexts, share(eight, herds), herds, share(week, weeks), weeks, came, chance)
	if s := share(next, nexts); s < 0.74 || s > 0.86 {
		t.Errorf("next layings: %.3f in windows of 0.8", s)
	}
	// Whole numbers: a band holds both its ends, so it holds more than 0.8.
	if s := share(eight, herds); s < 0.72 || s > 0.93 {
		t.Errorf("layings of eight weeks: %.3f in bands of 0.8", s)
	}
	if s := share(week, weeks); s < 0.78 || s > 0.97 {
		t.Errorf("layings of a week: %.3f in bands of 0.8", s)
	}
	if math.Abs(came-chance) > 0.08*chance {
		t.Errorf("%.0f clutches came, %.0f were expected", came, chance)
	}
}

// next is a female's next laying of the season that runs.
func (w *world) next(id string, now time.Time) (time.Time, bool) {
	for _, at := range w.layings[id] {
		if !at.Before(now) && at.Year() == now.Year() {
			return at, true
		}
	}
	return time.Time{}, false
}
