package season_test

import (
	"slices"
	"strings"
	"testing"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// The clutch of each row was laid on 1 May 2026; the season began on 1 October
// 2025 and the last on 1 October 2024.
func TestSires(t *testing.T) {
	const accepted, refused, unseen = incubation.Accepted, incubation.Refused, incubation.Unseen
	for _, c := range []struct {
		says  string
		write func(k *keeper)
		want  []string // male and words, the likeliest first
		text  string
	}{
		{
			says: "no pairing at all is said", write: func(*keeper) {},
			text: "No pairing before this clutch is in the book",
		},
		{
			says:  "one male, seen 40 days before",
			write: func(k *keeper) { k.pair("2026-03-22", "saffron", "flint", accepted) },
			want:  []string{"flint likely"}, text: "Flint is the only male in the book for it.",
		},
		{
			says:  "together and nobody saw: possible",
			write: func(k *keeper) { k.pair("2026-03-22", "saffron", "flint", unseen) },
			want:  []string{"flint possible"},
		},
		{
			says:  "seen 90 days before, this season: possible",
			write: func(k *keeper) { k.pair("2026-01-31", "saffron", "flint", accepted) },
			want:  []string{"flint possible"},
		},
		{
			says:  "last season's male is listed, unlikely: how long sperm keeps is told very differently",
			write: func(k *keeper) { k.pair("2025-04-01", "saffron", "flint", accepted) },
			want:  []string{"flint unlikely"},
		},
		{
			says:  "of two seasons ago none is listed",
			write: func(k *keeper) { k.pair("2024-04-01", "saffron", "flint", accepted) },
		},
		{
			says:  "a refusal is no pairing",
			write: func(k *keeper) { k.pair("2026-03-22", "saffron", "flint", refused) },
		},
		{
			says:  "nine days before the eggs had their shells",
			write: func(k *keeper) { k.pair("2026-04-22", "saffron", "flint", accepted) },
			text:  "1 pairing came too late",
		},
		{
			says:  "another female's pairing is not hers",
			write: func(k *keeper) { k.pair("2026-03-22", "pumice", "flint", accepted) },
		},
		{
			says: "several: the seen and recent first, then the nearer",
			write: func(k *keeper) {
				k.animal("basalt", incubation.Male, "2023", "")
				k.animal("chert", incubation.Male, "2023", "")
				k.pair("2025-04-01", "saffron", "chert", accepted)
				k.pair("2026-02-10", "saffron", "flint", accepted)
				k.pair("2026-03-22", "saffron", "basalt", accepted)
			},
			want: []string{"basalt likely", "flint possible", "chert unlikely"},
			text: "Basalt, Flint or Chert may each be the sire",
		},
	} {
		t.Run(c.says, func(t *testing.T) {
			k := keeps(t)
			c.write(k)
			k.lays("2026-05-01", "saffron", "c-1")
			slices.SortStableFunc(k.entries, func(a, b book.Entry) int { return a.At.Compare(b.At) })
			p := k.look("2026-05-02").Sires("c-1")
			var got []string
			for _, s := range p.Sires {
				got = append(got, s.Male+" "+s.Words)
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("sires %q, want %q", got, c.want)
			}
			if !strings.Contains(p.Says, c.text) {
				t.Errorf("says %q, want %q", p.Says, c.text)
			}
		})
	}
}

func TestDaysBeforeALayingAreCountedFromItsMiddle(t *testing.T) {
	k := keeps(t)
	k.pair("2026-03-01", "saffron", "flint", incubation.Accepted)
	k.add("2026-04-04", book.KindLaying, book.LayingData{
		Clutch: "c-1", Female: "saffron", From: on("2026-03-31"), To: on("2026-04-04"),
		Eggs: []book.EggName{{Egg: "c-1-a", Mark: "A"}},
	})
	p := k.look("2026-04-05").Sires("c-1")
	if len(p.Sires) != 1 || p.Sires[0].Pairings[0].DaysBefore != 32 { // 1 March to 2 April
		t.Errorf("%+v", p)
	}
}

func TestFertility(t *testing.T) {
	k := keeps(t)
	k.animal("basalt", incubation.Male, "2022", "")
	k.pair("2025-02-01", "saffron", "flint", incubation.Accepted)
	k.pair("2025-02-10", "pumice", "flint", incubation.Refused)
	k.lays("2025-03-03", "saffron", "s-1")
	k.lays("2025-03-24", "saffron", "s-2")
	k.add("2025-03-15", book.KindCandle, book.CandleData{Egg: "s-1-a", Seen: "alive", Shows: incubation.Veins})
	k.add("2025-03-20", book.KindFail, book.FailData{Egg: "s-1-b", Cause: "Clear"})
	k.add("2025-04-04", book.KindCandle, book.CandleData{Egg: "s-2-a", Seen: "dead", Shows: incubation.Ring})
	k.add("2025-04-05", book.KindFail, book.FailData{Egg: "s-2-a", Cause: "mould"})
	k.add("2025-04-28", book.KindHatch, book.HatchData{Egg: "s-1-a"})
	k.add("2025-05-20", book.KindHatch, book.HatchData{Egg: "s-2-b"})
	k.check("2025-06-01", "pumice", incubation.Resorbed, "")
	k.pair("2026-02-01", "saffron", "flint", incubation.Accepted)
	k.pair("2026-02-03", "saffron", "basalt", incubation.Accepted)
	k.lays("2026-03-03", "saffron", "s-3") // flint's or basalt's
	k.lays("2026-03-10", "pumice", "p-1")  // nobody's
	f := k.look("2026-03-20").Fertility()

	saffron := f.Females[1]
	if saffron.Female != "saffron" || saffron.Clutches != 3 || saffron.Eggs != 6 || saffron.Fertile != 3 ||
		saffron.Clear != 1 || saffron.Hatched != 2 || saffron.Failed != 2 || saffron.Open != 2 {
		t.Errorf("Saffron: 3 clutches, 6 eggs, 3 fertile (veins or hatched, and a ring), 1 clear, 2 hatched, "+
			"2 failed, 2 open; got %+v", saffron)
	}
	if saffron.Causes["clear"] != 1 || saffron.Causes["mould"] != 1 {
		t.Errorf("causes %v", saffron.Causes)
	}
	if len(f.Males) != 1 || f.Males[0].Male != "flint" || f.Males[0].Eggs != 4 || f.Males[0].Hatched != 2 {
		t.Errorf("Flint's alone are the two clutches of 2025: %+v", f.Males)
	}
	if len(f.Pairs) != 1 || f.Pairs[0].Female != "saffron" || f.Pairs[0].Male != "flint" {
		t.Errorf("pairs: %+v", f.Pairs)
	}
	if f.Shared != 1 || f.Sireless != 1 {
		t.Errorf("%d shared and %d without a sire, want 1 and 1", f.Shared, f.Sireless)
	}
	if len(f.Seasons) != 2 {
		t.Fatalf("%d seasons", len(f.Seasons))
	}
	a, b := f.Seasons[0], f.Seasons[1]
	if a.Season.Name != "2025" || a.Females != 1 || a.Pairings != 1 || a.Refusals != 1 || a.Resorptions != 1 ||
		a.Interval != 21 || a.Intervals != 1 || a.FirstLaid != 153.5 { // 1 October to noon of 3 March
		t.Errorf("season of 2025: %+v", a)
	}
	if b.Season.Name != "2026" || b.Females != 2 || b.Pairings != 2 || b.Eggs != 4 || b.Intervals != 0 {
		t.Errorf("season of 2026: %+v", b)
	}
}

// 21 days is an interval; 46 is over the starting value of 45, and so is 60.
func TestGapsTooLongForAnIntervalAreCountedAsPauses(t *testing.T) {
	k := keeps(t)
	k.laysEvery("2026-01-05", "saffron", 21, 46)
	k.laysEvery("2026-02-01", "pumice", 60, 45)
	got := k.look("2026-06-20").Fertility().Seasons[0]
	if got.Intervals != 2 || got.Interval != 33 || got.Pauses != 2 {
		t.Errorf("%d intervals of %.1f days and %d pauses, want 2 of 33 and 2", got.Intervals, got.Interval, got.Pauses)
	}
}

func TestTheSeasonsCut(t *testing.T) {
	k := keeps(t)
	if s := k.look("2025-09-30").Season(); s.Name != "2025" || !s.To.Equal(on("2025-10-01 00:00")) {
		t.Errorf("30 September 2025 lies in %+v", s)
	}
	if s := k.look("2025-10-01").Season(); s.Name != "2026" {
		t.Errorf("1 October 2025 lies in %s", s.Name)
	}
	k.add(begin, book.KindSeason, book.SeasonData{Southern: true})
	if s := k.look("2026-03-31").Season(); s.Name != "2025" {
		t.Errorf("in the south 31 March 2026 lies in %s", s.Name)
	}
	if s := k.look("2026-04-01").Season(); s.Name != "2026" {
		t.Errorf("in the south 1 April 2026 lies in %s", s.Name)
	}
}
