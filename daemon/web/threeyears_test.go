package web_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"syscall"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// threeYears writes down n females and a tenth as many males over three
// seasons: a check every week of the season, pairings, clutches, eggs that
// hatch or fail, weights. The same n gives the same book. Nothing in it is a
// claim about geckos.
func threeYears(t testing.TB, n int) []book.Entry {
	t.Helper()
	r := rand.New(rand.NewPCG(7, uint64(n)))
	out := females(t, n)
	write := func(at time.Time, kind book.Kind, data any) {
		if at.Before(noon) {
			out = append(out, newEntry(t, at.Truncate(time.Minute), kind, data))
		}
	}
	// What females wrote of the last months stays; the years lie before it.
	for i := range out {
		if out[i].Kind != book.KindChecked {
			out[i].At = days(-1200)
		}
	}
	males, boxes := max(1, n/10), max(2, n/2)
	for i := range males {
		write(days(-1200), book.KindAnimal, book.AnimalData{
			Animal: fmt.Sprintf("m-%d", i+1), Name: fmt.Sprintf("Male %d", i+1), Sex: incubation.Male, Hatched: "2021",
		})
	}
	write(days(-1200), book.KindPlace, book.PlaceData{Place: "cabinet", Kind: incubation.Incubator, Name: "Cabinet"})
	write(days(-1199), book.KindSetpoint, book.SetpointData{Place: "cabinet", Celsius: 28})
	for i := range boxes {
		id := fmt.Sprintf("box-%d", i+1)
		write(days(-1199), book.KindPlace, book.PlaceData{Place: id, Kind: incubation.Box, Name: fmt.Sprintf("Box %d", i+1)})
		write(days(-1198), book.KindStand, book.StandData{Place: id, In: "cabinet"})
	}
	clutch := 0
	for year := range 3 {
		opens := time.Date(2024+year, time.January, 15, 9, 0, 0, 0, time.UTC)
		for i := range n {
			id, male := fmt.Sprintf("f-%d", i+1), fmt.Sprintf("m-%d", i%males+1)
			at := opens.Add(time.Duration(r.IntN(40*24)) * time.Hour)
			for week := range 26 {
				stage := []incubation.Stage{incubation.Quiet, incubation.Follicular, incubation.Gravid}[week%3]
				write(at.AddDate(0, 0, 7*week), book.KindChecked, book.CheckedData{Animal: id, Stage: stage})
			}
			write(at, book.KindWeighed, book.WeighedData{Animal: id, Grams: 55 + 20*r.Float64()})
			write(at.AddDate(0, 0, 3), book.KindPaired, book.PairedData{Female: id, Male: male, Outcome: incubation.Accepted})
			for k := range 4 + r.IntN(3) {
				laid := at.AddDate(0, 0, 30+22*k).Add(time.Duration(r.IntN(96)) * time.Hour)
				clutch++
				name := fmt.Sprintf("c%d", clutch)
				d := book.LayingData{Clutch: name, Female: id, From: laid.Add(-12 * time.Hour), To: laid}
				for _, mark := range []string{"A", "B"} {
					d.Eggs = append(d.Eggs, book.EggName{Egg: name + "-" + strings.ToLower(mark), Mark: mark})
				}
				write(laid, book.KindLaying, d)
				for _, e := range d.Eggs {
					write(laid.Add(time.Hour), book.KindEgg, book.EggData{Egg: e.Egg, Box: fmt.Sprintf("box-%d", 1+r.IntN(boxes))})
					if end := laid.AddDate(0, 0, 55+r.IntN(6)); r.IntN(10) < 7 {
						write(end, book.KindHatch, book.HatchData{Egg: e.Egg})
					} else {
						write(laid.AddDate(0, 0, 20), book.KindFail, book.FailData{Egg: e.Egg, Cause: []string{"clear", "mould", ""}[r.IntN(3)]})
					}
				}
			}
		}
	}
	return out
}

// BenchmarkWalkPages is what the keeper's pages cost with 200 females and
// three seasons: as a page is opened again, and after an entry was written,
// when all is worked out anew.
func BenchmarkWalkPages(b *testing.B) {
	entries := threeYears(b, 200)
	s, k := withBook(b, entries)
	b.Logf("%d entries", len(entries))
	for _, path := range []string{"/", "/today", "/round", "/round?day=2026-06-14", "/season", "/api/due", "/api/season"} {
		b.Run("again"+path, func(b *testing.B) {
			busy(b, func() { s.ask("GET", path, "") })
		})
		b.Run("written"+path, func(b *testing.B) {
			busy(b, func() {
				next, snap := *k.snap.Book, *k.snap
				snap.Book = &next
				k.snap = &snap
				s.ask("GET", path, "")
			})
		})
	}
}

// busy reports the processor's time beside the clock's: the clock's means
// little on a machine that others use too.
func busy(b *testing.B, f func()) {
	used := func() time.Duration {
		var r syscall.Rusage
		if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
			b.Fatal(err)
		}
		return time.Duration(r.Utime.Nano() + r.Stime.Nano())
	}
	f()
	from := used()
	for b.Loop() {
		f()
	}
	b.ReportMetric(float64((used()-from).Microseconds())/1000/float64(b.N), "cpu-ms/op")
}
