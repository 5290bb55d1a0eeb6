package book_test

import (
	"fmt"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// herd is the book of a large room: 200 females looked at every week of three
// years, with a pairing and a laying a season each, and what goes with them.
func herd() []book.Entry {
	out := room()
	for f := range 200 {
		id := fmt.Sprintf("female-%d", f)
		out = append(out, at(0, book.KindAnimal, book.AnimalData{Animal: id, Name: id, Sex: incubation.Female}))
	}
	out = append(out, at(0, book.KindAnimal, book.AnimalData{Animal: "sire", Name: "Sire", Sex: incubation.Male}))
	for week := range 3 * 52 {
		for f := range 200 {
			id, when := fmt.Sprintf("female-%d", f), 1+7*float64(week)+float64(f)/1000
			switch {
			case week%52 == 10+f%10:
				out = append(out, at(when, book.KindPaired,
					book.PairedData{Female: id, Male: "sire", Outcome: incubation.Accepted}))
			case week%52 == 14+f%10:
				clutch := fmt.Sprintf("c-%d-%d", f, week)
				out = append(out, at(when, book.KindLaying, book.LayingData{
					Clutch: clutch, Female: id, From: day(when - 1), To: day(when),
					Eggs: []book.EggName{{Egg: clutch + "-a", Mark: "A"}, {Egg: clutch + "-b", Mark: "B"}},
				}))
			default:
				out = append(out, at(when, book.KindChecked, book.CheckedData{Animal: id, Stage: incubation.Quiet}))
			}
		}
	}
	return number(out...)
}

// BenchmarkHerd folds three seasons of 200 females, and enters one more check.
func BenchmarkHerd(b *testing.B) {
	entries := herd()
	s := book.Fold(entries)
	if len(s.Problems) > 0 {
		b.Fatal(s.Problems[0])
	}
	b.Logf("%d entries", len(entries))
	b.Run("fold", func(b *testing.B) {
		for b.Loop() {
			book.Fold(entries)
		}
	})
	e := at(3*365, book.KindChecked, book.CheckedData{Animal: "female-7", Stage: incubation.Gravid})
	e.Made = e.At.Add(time.Minute)
	b.Run("check", func(b *testing.B) {
		for b.Loop() {
			if err := book.Check(s, e); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("with", func(b *testing.B) {
		for b.Loop() {
			s.With(e)
		}
	})
}
