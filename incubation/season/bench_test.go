package season_test

import (
	"fmt"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/season"
)

// large is a room of two hundred females with three seasons of fortnightly checks,
// monthly weights, pairings and layings: about thirty thousand entries'
// worth.
func large(b *testing.B) (*book.State, map[string]incubation.HatchSpan, time.Time, int) {
	b.Helper()
	now := on("2026-05-01")
	w := simulated(b, 1, 200)
	s := book.Fold(nil)
	windows := map[string]incubation.HatchSpan{}
	entries := 0
	for i := range 8 {
		id := fmt.Sprintf("m-%d", i)
		s.Animals[id] = &incubation.Animal{ID: id, Sex: incubation.Male, AgeClass: incubation.Adult}
	}
	for i := range 300 {
		id := fmt.Sprintf("box-%d", i)
		s.Places[id] = &incubation.Place{ID: id, Kind: incubation.Box, Name: id}
	}
	for i, id := range w.females {
		a := &incubation.Animal{ID: id, Sex: incubation.Female, Hatched: "2022", Since: on(begin)}
		if i > 20 {
			a.Dam, a.Sire = fmt.Sprintf("f-%d", i%20), fmt.Sprintf("m-%d", i%8)
		}
		s.Animals[id] = a
		for d := on("2023-11-01"); d.Before(now); d = d.AddDate(0, 0, 14) {
			stage := incubation.Quiet
			if d.Month() < time.September {
				stage = []incubation.Stage{incubation.Follicular, incubation.Follicular, incubation.Gravid}[d.YearDay()/14%3]
			}
			a.Checks = append(a.Checks, incubation.Check{At: d, Seq: uint64(entries), Stage: stage})
			entries++
			if d.YearDay()/14%2 == 0 {
				a.Weights = append(a.Weights, incubation.Weight{At: d, Grams: 60})
				entries++
			}
		}
		for _, at := range w.paired[id] {
			s.Pairings = append(s.Pairings, incubation.Pairing{
				At: at, Female: id, Male: fmt.Sprintf("m-%d", i%8), Outcome: incubation.Accepted,
			})
			entries++
		}
		for n, at := range w.layings[id] {
			if !at.Before(now) {
				break
			}
			c := &incubation.Clutch{ID: fmt.Sprintf("%s-%d", id, n), Female: id, Laid: incubation.Laying{From: at, To: at}}
			for _, mark := range []string{"a", "b"} {
				e := &incubation.Egg{ID: c.ID + mark, Clutch: c.ID, Mark: mark, State: incubation.Hatched, Ended: at.AddDate(0, 0, 55)}
				e.Candlings = []incubation.Candling{{At: at.AddDate(0, 0, 10), Seen: "alive"}}
				e.Stays = []incubation.Stay{{Place: fmt.Sprintf("box-%d", len(s.Clutches)%300), From: at, To: e.Ended}}
				if e.Ended.After(now) {
					e.State, e.Stays[0].To = incubation.Incubating, time.Time{}
					windows[e.ID] = incubation.HatchSpan{Earliest: e.Ended.AddDate(0, 0, -5), Likely: e.Ended, Latest: e.Ended.AddDate(0, 0, 7)}
					e.Ended = time.Time{}
				}
				c.Eggs = append(c.Eggs, e)
				s.Eggs[e.ID] = e
				entries += 4
			}
			s.Clutches[c.ID] = c
			entries++
		}
	}
	return s, windows, now, entries
}

func BenchmarkDue(b *testing.B) {
	s, windows, now, entries := large(b)
	n := 0
	for b.Loop() {
		n = len(season.Look(s, now, season.Options{Hatch: windows}).Due())
	}
	b.ReportMetric(float64(entries), "entries")
	b.ReportMetric(float64(n), "items")
}

func BenchmarkAhead(b *testing.B) {
	s, windows, now, _ := large(b)
	h := season.Look(s, now, season.Options{Hatch: windows})
	for b.Loop() {
		h.Ahead(season.Span{})
	}
}

func BenchmarkFertility(b *testing.B) {
	s, windows, now, _ := large(b)
	h := season.Look(s, now, season.Options{Hatch: windows})
	for b.Loop() {
		h.Fertility()
	}
}
