package book_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

func TestAnEggsStaysRunFromTheLayingToTheHatch(t *testing.T) {
	s := folded(t, laid(
		at(20, book.KindCandle, book.CandleData{Egg: "c-1-a", Seen: "alive"}),
		at(25, book.KindEgg, book.EggData{Egg: "c-1-b", Box: "box-2"}),
		at(49, book.KindPip, book.EggEvent{Egg: "c-1-a"}),
		at(50, book.KindHatch, book.HatchData{Egg: "c-1-a", Sex: "female"}),
		at(51, book.KindFail, book.FailData{Egg: "c-1-b", Cause: "collapsed"}),
	))
	want := &incubation.Clutch{
		ID: "c-1", Female: "f-1",
		Laid: incubation.Laying{From: day(1), To: day(2), Place: "lay"},
		Eggs: []*incubation.Egg{
			{
				ID: "c-1-a", Clutch: "c-1", Mark: "A", State: incubation.Hatched,
				Stays: []incubation.Stay{
					{Place: "lay", From: day(1), To: day(3)},
					{Place: "box-1", From: day(3), To: day(50)},
				},
				AliveAt: day(49), PippedAt: day(49), Ended: day(50), Sex: "female",
				Sexed:     incubation.Sexing{At: day(50), How: incubation.AtHatch},
				Candlings: []incubation.Candling{{At: day(20), Seq: 13, Seen: "alive"}},
			},
			{
				ID: "c-1-b", Clutch: "c-1", Mark: "B", State: incubation.Failed,
				Stays: []incubation.Stay{
					{Place: "lay", From: day(1), To: day(3)},
					{Place: "box-1", From: day(3), To: day(25)},
					{Place: "box-2", From: day(25), To: day(51)},
				},
				AliveAt: day(25), Ended: day(51), Cause: "collapsed",
			},
		},
	}
	if d := cmp.Diff(want, s.Clutches["c-1"]); d != "" {
		t.Errorf("clutch (-want +got):\n%s", d)
	}
	if s.Eggs["c-1-a"] != s.Clutches["c-1"].Eggs[0] {
		t.Error("the egg by id is not the egg of its clutch")
	}
}

func TestPlacesSetpointsLimitsAndProbes(t *testing.T) {
	low := incubation.Celsius(26)
	s := folded(t, number(append(room(),
		at(1, book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: 31}),
		at(1, book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: 32}),
		at(5, book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: 30}),
		at(1, book.KindProbe, book.ProbeData{Probe: "p-1", Place: "box-1", OffsetKelvin: 0.2}),
		at(6, book.KindProbe, book.ProbeData{Probe: "p-1", Place: "warm"}),
		at(7, book.KindProbe, book.ProbeData{Probe: "p-1"}),
		at(2, book.KindContact, book.ContactData{Contact: "d", Kind: incubation.Door, Place: "warm"}),
		at(3, book.KindContact, book.ContactData{Contact: "d", Kind: incubation.Door, Place: "pen"}),
		at(4, book.KindContact, book.ContactData{Contact: "d"}),
		at(2, book.KindContact, book.ContactData{Contact: "drip", Kind: incubation.Leak, Place: "box-2"}),
		at(1, book.KindLimits, book.LimitsData{Place: "pen", LowCelsius: &low}),
		at(1, book.KindLimits, book.LimitsData{Place: "warm", LowCelsius: &low}),
		at(2, book.KindLimits, book.LimitsData{Place: "warm"}),
		at(3, book.KindPlace, book.PlaceData{Place: "box-1", Name: "Tub"}),
		at(4, book.KindStand, book.StandData{Place: "box-1"}),
		at(8, book.KindPlace, book.PlaceData{Place: "box-2", Gone: true}),
		at(9, book.KindNote, book.NoteData{Subject: "p-1", Text: "washed"}),
	)...))
	check := func(what string, want, got any) {
		t.Helper()
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s (-want +got):\n%s", what, d)
		}
	}
	check("setpoints: of two at one time the later entry counts",
		[]book.Setpoint{{From: day(1), Celsius: 32}, {From: day(5), Celsius: 30}}, s.Setpoints["warm"])
	check("placements: each ends where the next begins", []incubation.Placement{
		{
			Probe: "p-1", Position: incubation.BoxAir, Offset: 0.2,
			Stay: incubation.Stay{Place: "box-1", From: day(1), To: day(6)},
		},
		{
			Probe: "p-1", Position: incubation.IncubatorAir,
			Stay: incubation.Stay{Place: "warm", From: day(6), To: day(7)},
		},
	}, s.Placements)
	check("contacts: each ends where the next begins, or with its place", []incubation.ContactStay{
		{Contact: "d", Kind: incubation.Door, Stay: incubation.Stay{Place: "warm", From: day(2), To: day(3)}},
		{Contact: "drip", Kind: incubation.Leak, Stay: incubation.Stay{Place: "box-2", From: day(2), To: day(8)}},
		{Contact: "d", Kind: incubation.Door, Stay: incubation.Stay{Place: "pen", From: day(3), To: day(4)}},
	}, s.Contacts)
	if c, ok := s.ContactAt("d", day(3.5)); !ok || c.Stay.Place != "pen" {
		t.Errorf("the door contact tells of %q, %v", c.Stay.Place, ok)
	}
	if c, ok := s.ContactAt("d", day(5)); ok {
		t.Errorf("the door contact still tells of %q", c.Stay.Place)
	}
	check("limits: none of its own again", map[string]book.LimitsData{
		"pen": {Place: "pen", LowCelsius: &low},
	}, s.Limits)
	check("a renamed box, taken out", &incubation.Place{
		ID: "box-1", Kind: incubation.Box,
		Name: "Tub", Stays: []incubation.Stay{{Place: "warm", From: day(0), To: day(4)}},
	},
		s.Places["box-1"])
	check("out of use", map[string]bool{"box-2": true}, s.Gone)
	check("notes", []book.Note{{At: day(9), Subject: "p-1", Text: "washed"}}, s.Notes)
}

func TestALateEntryLandsInItsTime(t *testing.T) {
	entries := laid(
		at(25, book.KindEgg, book.EggData{Egg: "c-1-a", Box: "box-2"}),
		at(10, book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: 30}),
		at(9, book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: 32}),
	)
	s := folded(t, entries)
	late := at(20, book.KindEgg, book.EggData{Egg: "c-1-a", Box: "box-1"})
	if err := book.Check(s, late); err != nil {
		t.Fatalf("a late entry: %v", err)
	}
	for _, row := range []struct {
		day  float64
		want incubation.Celsius
	}{{9.5, 32}, {12, 30}} {
		if got := s.SetpointAt("box-1", day(row.day)); got == nil || *got != row.want {
			t.Errorf("setpoint on day %g: %v, want %g", row.day, got, row.want)
		}
	}
}

func TestVoid(t *testing.T) {
	base := laid(at(50, book.KindHatch, book.HatchData{Egg: "c-1-a"}))
	hatch := base[len(base)-1].Seq
	for _, row := range []struct {
		name     string
		more     []book.Entry
		state    incubation.EggState
		problems []string
	}{
		{
			"a void takes the hatch back, though it is dated before it",
			[]book.Entry{at(1, book.KindVoid, book.VoidData{Entry: hatch})},
			incubation.Incubating, nil,
		},
		{
			"a void taken back lets the hatch count again",
			[]book.Entry{
				at(51, book.KindVoid, book.VoidData{Entry: hatch}),
				at(51, book.KindVoid, book.VoidData{Entry: hatch + 1}),
			},
			incubation.Hatched, nil,
		},
		{
			"without the laying its eggs are unknown, and that is listed",
			[]book.Entry{at(51, book.KindVoid, book.VoidData{Entry: 10})},
			"",
			[]string{
				`entry 11 (egg, 2026-03-04 12:00 UTC) does not count: the book has no egg "c-1-a" at that time`,
				`entry 12 (egg, 2026-03-04 12:00 UTC) does not count: the book has no egg "c-1-b" at that time`,
				`entry 13 (hatch, 2026-04-20 12:00 UTC) does not count: the book has no egg "c-1-a" at that time`,
			},
		},
	} {
		t.Run(row.name, func(t *testing.T) {
			s := book.Fold(number(append(slices.Clone(base), row.more...)...))
			var state incubation.EggState
			if e := s.Eggs["c-1-a"]; e != nil {
				state = e.State
			}
			if state != row.state {
				t.Errorf("the egg is %q, want %q", state, row.state)
			}
			if d := cmp.Diff(row.problems, s.Problems); d != "" {
				t.Errorf("problems (-want +got):\n%s", d)
			}
			if len(s.Skipped) != len(s.Problems) {
				t.Errorf("%d skipped, %d problems", len(s.Skipped), len(s.Problems))
			}
		})
	}
}

func TestRequestsAndSequencesCountOnce(t *testing.T) {
	note := at(1, book.KindNote, book.NoteData{Text: "one"})
	note.Seq, note.Request = 10, "r-1"
	again := note
	again.Seq = 11
	s := book.Fold(append(room(), again, note, note))
	if len(s.Notes) != 1 || len(s.Entries) != 10 || s.LastSeq != 10 {
		t.Errorf("%d notes, %d entries, last %d; want 1, 10, 10",
			len(s.Notes), len(s.Entries), s.LastSeq)
	}
}

func TestWithLeavesTheOldStateAlone(t *testing.T) {
	s := folded(t, laid())
	before := book.Fold(laid())
	next := s.With(at(4, book.KindEgg, book.EggData{Egg: "c-1-a", Box: "box-2"}))
	if d := cmp.Diff(before, s, cmpopts.IgnoreUnexported(book.State{})); d != "" {
		t.Errorf("the old state changed (-before +after):\n%s", d)
	}
	if got := incubation.At(next.Eggs["c-1-a"].Stays, day(5)); got != "box-2" || next.LastSeq != 13 {
		t.Errorf("the egg lies in %q, last %d; want box-2, 13", got, next.LastSeq)
	}
}

func TestWhereThingsAre(t *testing.T) {
	s := folded(t, laid(
		at(1, book.KindStand, book.StandData{Place: "warm", In: "room"}),
		at(1, book.KindProbe, book.ProbeData{Probe: "p-1", Place: "warm"}),
		at(1, book.KindProbe, book.ProbeData{Probe: "p-0", Place: "warm"}),
		at(10, book.KindFail, book.FailData{Egg: "c-1-b"}),
		at(12, book.KindStand, book.StandData{Place: "box-1"}),
	))
	for _, row := range []struct {
		name, want, got string
	}{
		{"a box in an incubator, the room left out", "Warm / Box 1", s.Path("box-1", day(5))},
		{"before it stood there", "Box 1", s.Path("box-1", day(-1))},
		{"taken out", "Box 1", s.Path("box-1", day(13))},
		{"the room itself", "Room", s.Path("room", day(5))},
		{"no such place", "", s.Path("nowhere", day(5))},
		{"both eggs, by way of the box", "[c-1-a c-1-b]", fmt.Sprint(s.LiveEggs("warm", day(5)))},
		{"one failed", "[c-1-a]", fmt.Sprint(s.LiveEggs("box-1", day(10)))},
		{"the box is out", "[]", fmt.Sprint(s.LiveEggs("warm", day(13)))},
		{"laid, in the lay box", "[c-1-a c-1-b]", fmt.Sprint(s.LiveEggs("pen", day(1.5)))},
		{"not laid yet", "[]", fmt.Sprint(s.LiveEggs("lay", day(0.5)))},
		{"probes by id", "[p-0 p-1]", fmt.Sprint(s.ProbesIn("warm", day(5)))},
		{"probes of the place itself only", "[]", fmt.Sprint(s.ProbesIn("box-1", day(5)))},
	} {
		if row.got != row.want {
			t.Errorf("%s: %s, want %s", row.name, row.got, row.want)
		}
	}
	if got := incubation.Sources(s.Room(), s.Eggs["c-1-a"].Stays, day(5)); len(got) != 2 {
		t.Errorf("%d probes speak for the egg, want 2: %v", len(got), got)
	}
	if got := s.SetpointAt("box-1", day(5)); got != nil {
		t.Errorf("a setpoint nobody wrote down: %g", *got)
	}
}

// lines draws entries that are often about the same few things.
func lines(t *rapid.T) []book.Entry {
	pool := laid(
		at(4, book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: 32}),
		at(4, book.KindEgg, book.EggData{Egg: "c-1-a", Box: "box-2"}),
		at(4, book.KindStand, book.StandData{Place: "box-2", In: "warm"}),
		at(4, book.KindProbe, book.ProbeData{Probe: "p-1", Place: "box-2"}),
		at(9, book.KindProbe, book.ProbeData{Probe: "p-1", Place: "warm"}),
		at(4, book.KindContact, book.ContactData{Contact: "d", Kind: incubation.Door, Place: "warm"}),
		at(9, book.KindContact, book.ContactData{Contact: "d"}),
		at(9, book.KindHatch, book.HatchData{Egg: "c-1-a"}),
		at(9, book.KindFail, book.FailData{Egg: "c-1-a"}),
		at(9, book.KindHatch, book.HatchData{Egg: "c-1-b", Sex: "male"}),
		at(9, book.KindSexed, book.SexedData{Egg: "c-1-a", Sex: "female", How: incubation.ByAnatomy}),
		at(9, book.KindSexed, book.SexedData{Egg: "c-1-b", Sex: "female", How: incubation.ByTemperature}),
		at(9, book.KindSexed, book.SexedData{Clutch: "c-1", Males: 1, How: incubation.ByAnatomy}),
		at(9, book.KindSexed, book.SexedData{Clutch: "c-1", Females: 2, How: incubation.ByTemperature}),
		at(9, book.KindPlace, book.PlaceData{Place: "box-2", Gone: true}),
		at(9, book.KindPlan, book.PlanData{Egg: "c-1-b", Steps: []book.PlanStep{{Day: 20, Celsius: 28}}}),
		at(9, book.KindVoid, book.VoidData{Entry: 10}),
		at(9, book.KindVoid, book.VoidData{Entry: 14}),
		at(9, book.KindVoid, book.VoidData{Entry: 22}),
		at(2, book.KindAnimal, book.AnimalData{Animal: "m-1", Name: "Flint", Sex: incubation.Male}),
		at(3, book.KindAnimal, book.AnimalData{Animal: "f-2", Name: "Sorrel", Dam: "f-1", Sire: "m-1"}),
		at(4, book.KindHoused, book.HousedData{Animal: "f-1", Enclosure: "pen"}),
		at(5, book.KindChecked, book.CheckedData{Animal: "f-1", Stage: incubation.Gravid}),
		at(5, book.KindPaired, book.PairedData{Female: "f-1", Male: "m-1", Outcome: incubation.Accepted}),
		at(6, book.KindWeighed, book.WeighedData{Egg: "c-1-a", Grams: 3.1}),
		at(6, book.KindRetired, book.RetiredData{Animal: "f-1", Why: incubation.Sold}),
		at(7, book.KindRetired, book.RetiredData{Animal: "f-1", Back: true}),
		at(8, book.KindPhoto, book.PhotoData{Animal: "f-1", Photo: "abc"}),
		corrects(15, at(3, book.KindEgg, book.EggData{Egg: "c-1-b", Box: "box-1"})),
		corrects(20, at(5, book.KindChecked, book.CheckedData{Animal: "f-1", Stage: incubation.Quiet})),
	)
	picked := rapid.SliceOfN(rapid.SampledFrom(pool), 1, 40).Draw(t, "picked")
	for i := range picked {
		picked[i].Seq = uint64(i + 1)
		if rapid.Bool().Draw(t, "elsewhen") {
			picked[i].At = day(float64(rapid.IntRange(0, 12).Draw(t, "day")))
		}
	}
	return picked
}

func TestOrderOfArrivalDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := lines(t)
		want := book.Fold(entries)
		shuffled := rapid.Permutation(entries).Draw(t, "shuffled")
		if d := cmp.Diff(want, book.Fold(shuffled), cmpopts.IgnoreUnexported(book.State{})); d != "" {
			t.Fatalf("another order of arrival, another room (-want +got):\n%s", d)
		}
	})
}

// Entered one by one, whatever came first, the book is what it is at once.
func TestWithIsFold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := lines(t)
		s := book.Fold(nil)
		for _, e := range rapid.Permutation(entries).Draw(t, "arriving") {
			s = s.With(e)
		}
		if d := cmp.Diff(book.Fold(entries), s, cmpopts.IgnoreUnexported(book.State{}), cmpopts.EquateEmpty()); d != "" {
			t.Fatalf("one by one, another room (-at once +one by one):\n%s", d)
		}
	})
}

// Stays never overlap, never have no length, and end with the egg.
func TestStaysAreInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := book.Fold(lines(t))
		for id, e := range s.Eggs {
			for i, stay := range e.Stays {
				if !stay.To.IsZero() && !stay.From.Before(stay.To) {
					t.Fatalf("egg %s: a stay without length: %v", id, stay)
				}
				if i > 0 && (e.Stays[i-1].To.IsZero() || stay.From.Before(e.Stays[i-1].To)) {
					t.Fatalf("egg %s: stays overlap: %v", id, e.Stays)
				}
			}
			if n := len(e.Stays); n > 0 && e.Live() != e.Stays[n-1].To.IsZero() {
				t.Fatalf("egg %s is %s, its stays are %v", id, e.State, e.Stays)
			}
		}
	})
}

func TestACheckedEntryNeverLeavesAProblem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := lines(t)
		e := entries[len(entries)-1]
		s := book.Fold(entries[:len(entries)-1])
		err := book.Check(s, e)
		after := s.With(e)
		if err == nil && e.Kind != book.KindVoid && len(after.Problems) > len(s.Problems) {
			t.Fatalf("passed, but: %s", strings.Join(after.Problems, "\n"))
		}
	})
}

func season(n int) []book.Entry {
	entries := laid()
	for i := len(entries); i < n; i++ {
		box := []string{"box-1", "box-2"}[i%2]
		e := at(3+float64(i)/100, book.KindEgg, book.EggData{Egg: "c-1-a", Box: box})
		if i%3 == 0 {
			e = at(3+float64(i)/100, book.KindNote, book.NoteData{Subject: "c-1", Text: "looked"})
		}
		e.Seq = uint64(i + 1)
		entries = append(entries, e)
	}
	return entries
}

func BenchmarkFold(b *testing.B) {
	for _, n := range []int{200, 5000} {
		entries := season(n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				book.Fold(entries)
			}
		})
	}
}
