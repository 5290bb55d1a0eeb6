package book_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// pair is the room with its clutch, hatched as far as egg A goes, a male, a
// daughter of the egg and a neighbour who left: entries 13 to 20.
func pair(more ...book.Entry) []book.Entry {
	return laid(append([]book.Entry{
		at(0, book.KindAnimal, book.AnimalData{Animal: "m-1", Name: "Flint", Sex: incubation.Male, AgeClass: incubation.Adult}),
		at(0, book.KindAnimal, book.AnimalData{Animal: "f-2", Name: "Sorrel", Sex: incubation.Female, Hatched: "2024-06"}),
		at(1, book.KindHoused, book.HousedData{Animal: "f-1", Enclosure: "pen"}),
		at(1, book.KindPaired, book.PairedData{Female: "f-1", Male: "m-1", Outcome: incubation.Accepted}),
		at(50, book.KindHatch, book.HatchData{Egg: "c-1-a", Grams: 2.9}),
		at(52, book.KindAnimal, book.AnimalData{Animal: "y-1", Name: "Teasel", Egg: "c-1-a"}),
		at(53, book.KindRetired, book.RetiredData{Animal: "f-2", Why: incubation.Sold}),
		at(54, book.KindMilestone, book.MilestoneData{Egg: "c-1-a", What: incubation.FirstShed}),
	}, more...)...)
}

func TestAnimalsAreFolded(t *testing.T) {
	s := folded(t, pair(
		at(55, book.KindChecked, book.CheckedData{Animal: "f-1", Stage: incubation.Follicular, Sides: incubation.BothSide, Size: incubation.Large}),
		at(56, book.KindWeighed, book.WeighedData{Animal: "f-1", Grams: 61.5}),
		at(56, book.KindTreated, book.TreatedData{Animal: "f-1", What: "calcium", Until: day(60)}),
		at(57, book.KindQuarantine, book.QuarantineData{Animal: "m-1", Until: day(80)}),
		at(58, book.KindPhoto, book.PhotoData{Animal: "f-1", Photo: "p1"}),
		at(59, book.KindPhoto, book.PhotoData{Animal: "f-1", Photo: "p2"}),
		at(60, book.KindPhoto, book.PhotoData{Animal: "f-1", Photo: "p1", Gone: true}),
	))
	want := map[string]*incubation.Animal{
		"f-1": {
			ID: "f-1", Name: "Saffron", Sex: incubation.Female, Since: day(0),
			Stays:   []incubation.Stay{{Place: "pen", From: day(1)}},
			Weights: []incubation.Weight{{At: day(56), Seq: 22, Grams: 61.5}},
			Checks: []incubation.Check{{
				At: day(55), Seq: 21, Stage: incubation.Follicular,
				Sides: incubation.BothSide, Size: incubation.Large,
			}},
			Treatments: []incubation.Treatment{{At: day(56), Seq: 23, What: "calcium", Until: day(60)}},
			Photos:     []incubation.Photo{{At: day(59), Seq: 26, File: "p2"}},
		},
		"m-1": {
			ID: "m-1", Name: "Flint", Sex: incubation.Male, AgeClass: incubation.Adult, Since: day(0),
			Quarantine: day(80),
		},
		"f-2": {
			ID: "f-2", Name: "Sorrel", Sex: incubation.Female, Hatched: "2024-06", Since: day(0),
			Retired: &incubation.Retirement{At: day(53), Seq: 19, Why: incubation.Sold},
		},
		// Its dam and its day of hatching come from the egg.
		"y-1": {
			ID: "y-1", Name: "Teasel", Egg: "c-1-a", Dam: "f-1", Hatched: "2026-04-20", Since: day(52),
		},
	}
	if d := cmp.Diff(want, s.Animals); d != "" {
		t.Errorf("animals (-want +got):\n%s", d)
	}
	pairings := []incubation.Pairing{{At: day(1), Seq: 16, Female: "f-1", Male: "m-1", Outcome: incubation.Accepted}}
	if d := cmp.Diff(pairings, s.Pairings); d != "" {
		t.Errorf("pairings (-want +got):\n%s", d)
	}
	egg := s.Eggs["c-1-a"]
	if len(egg.Weights) != 1 || egg.Weights[0].Grams != 2.9 || len(egg.Milestones) != 1 {
		t.Errorf("the hatchling has weights %v and milestones %v; want 2.9 g and one", egg.Weights, egg.Milestones)
	}
}

func TestAnimalsAreRefused(t *testing.T) {
	s := folded(t, pair())
	grams := func(v float64) *float64 { return &v }
	for _, row := range []struct {
		name  string
		entry book.Entry
		field string
		text  string
	}{
		{"a new animal without a name", at(60, book.KindAnimal, book.AnimalData{Animal: "x"}), "name", "empty"},
		{"an animal by an egg's id", at(60, book.KindAnimal, book.AnimalData{Animal: "c-1-a", Name: "X"}), "animal", "id of an egg"},
		{"a place by an animal's id", at(60, book.KindPlace, book.PlaceData{Place: "m-1", Kind: incubation.Box, Name: "X"}), "place", "id of an animal"},
		{"hatched on the 31st of February", at(60, book.KindAnimal, book.AnimalData{Animal: "m-1", Hatched: "2023-02-31"}), "hatched", "no year"},
		{"a third sex", at(60, book.KindAnimal, book.AnimalData{Animal: "y-1", Sex: "both"}), "sex", "male or female"},
		{"a male who laid", at(60, book.KindAnimal, book.AnimalData{Animal: "f-1", Sex: incubation.Male}), "sex", "paired or laid as a female"},
		{"a male for a dam", at(60, book.KindAnimal, book.AnimalData{Animal: "y-1", Dam: "m-1"}), "dam", "is a male"},
		{"a dam nobody knows", at(60, book.KindAnimal, book.AnimalData{Animal: "y-1", Dam: "f-9"}), "dam", "no animal"},
		{"her own mother", at(60, book.KindAnimal, book.AnimalData{Animal: "f-1", Dam: "f-1"}), "dam", "not its own dam"},
		{"her daughter's daughter", at(60, book.KindAnimal, book.AnimalData{Animal: "f-1", Dam: "y-1"}), "dam", "Teasel descends from Saffron"},
		{"an egg that did not hatch", at(60, book.KindAnimal, book.AnimalData{Animal: "y-2", Name: "Two", Egg: "c-1-b"}), "egg", "no hatched egg"},
		{"the dam hatched from her own egg", at(60, book.KindAnimal, book.AnimalData{Animal: "f-1", Name: "Saffron", Egg: "c-1-a"}), "egg", "cannot have hatched from it"},
		{"two animals of one egg", at(60, book.KindAnimal, book.AnimalData{Animal: "y-2", Name: "Two", Egg: "c-1-a"}), "egg", "Teasel hatched from this egg"},
		{"a gecko in a tub of eggs", at(60, book.KindHoused, book.HousedData{Animal: "m-1", Enclosure: "box-1"}), "enclosure", "animals live in enclosures"},
		{"taken out of nowhere", at(60, book.KindHoused, book.HousedData{Animal: "m-1"}), "enclosure", "in no enclosure"},
		{"an enclosure with her in it is not done away with", at(60, book.KindPlace, book.PlaceData{Place: "pen", Gone: true}), "gone", "not empty"},
		{"a slot for a box", at(60, book.KindPlace, book.PlaceData{Place: "box-1", Rack: "A", Slot: 2}), "slot", "racks hold enclosures"},
		{"the belly of a male", at(60, book.KindChecked, book.CheckedData{Animal: "m-1", Stage: incubation.Quiet}), "animal", "is a male"},
		{"a check of one who was sold", at(60, book.KindChecked, book.CheckedData{Animal: "f-2", Stage: incubation.Quiet}), "animal", "no longer here"},
		{"a stage nobody knows", at(60, book.KindChecked, book.CheckedData{Animal: "f-1", Stage: "ripe"}), "stage", "quiet, follicular"},
		{"a size of shells", at(60, book.KindChecked, book.CheckedData{Animal: "f-1", Stage: incubation.Gravid, Size: incubation.Large}), "size", "of follicles"},
		{"one sign twice", at(60, book.KindChecked, book.CheckedData{Animal: "f-1", Stage: incubation.Quiet, Signs: []incubation.Sign{"thin", "thin"}}), "signs", "noted twice"},
		{"two females", at(60, book.KindPaired, book.PairedData{Female: "f-1", Male: "f-1", Outcome: incubation.Refused}), "male", "two animals"},
		{"a male with the male", at(60, book.KindPaired, book.PairedData{Female: "m-1", Male: "y-1", Outcome: incubation.Refused}), "female", "is a male"},
		{"taken apart before", at(60, book.KindPaired, book.PairedData{Female: "f-1", Male: "m-1", Outcome: incubation.Refused, Until: day(59)}), "until", "before they were brought"},
		{"a gecko of a ton", at(60, book.KindWeighed, book.WeighedData{Animal: "f-1", Grams: 1e6}), "grams", "outside 1 to 250"},
		{"an egg of an ounce", at(60, book.KindWeighed, book.WeighedData{Egg: "c-1-b", Grams: 28}), "grams", "outside"},
		{"a weight of two things", at(60, book.KindWeighed, book.WeighedData{Egg: "c-1-b", Box: "box-1", Grams: 3}), "animal", "one animal, one egg or one box"},
		{"a weight of nothing", at(60, book.KindWeighed, book.WeighedData{Grams: 3}), "animal", "one animal, one egg or one box"},
		{"a quarantine that is over", at(60, book.KindQuarantine, book.QuarantineData{Animal: "m-1", Until: day(59)}), "until", "before it begins"},
		{"back who never left", at(60, book.KindRetired, book.RetiredData{Animal: "f-1", Back: true}), "back", "not been taken out"},
		{"a shed of an egg", at(60, book.KindMilestone, book.MilestoneData{Egg: "c-1-b", What: incubation.FirstShed}), "egg", "no hatched egg"},
		{"a second first shed", at(60, book.KindMilestone, book.MilestoneData{Egg: "c-1-a", What: incubation.FirstShed}), "what", "written down on"},
		{"dents of a box", at(60, book.KindLooked, book.LookedData{Box: "box-1", Dents: incubation.DeepDents}), "dents", "of an egg"},
		{"a gate of a negative weight", at(60, book.KindGates, book.GatesData{MinGrams: grams(-1)}), "min_grams", "outside"},
		{"a picture taken away that is none", at(60, book.KindPhoto, book.PhotoData{Animal: "f-1", Photo: "p9", Gone: true}), "photo", "no such picture"},
	} {
		row.entry.Made = row.entry.At.Add(time.Minute)
		var p *book.Problem
		if err := book.Check(s, row.entry); !errors.As(err, &p) {
			t.Errorf("%s: %v, want a problem", row.name, err)
		} else if p.Field != row.field || !strings.Contains(p.Text, row.text) {
			t.Errorf("%s: %s: %q, want %s: … %q …", row.name, p.Field, p.Text, row.field, row.text)
		}
	}
}

// A correction stands for the entry that it names, at its own time; both stay.
func TestCorrections(t *testing.T) {
	wrong := at(55, book.KindChecked, book.CheckedData{Animal: "f-1", Stage: incubation.Quiet})
	right := corrects(21, at(54.5, book.KindChecked, book.CheckedData{Animal: "f-1", Stage: incubation.Gravid}))
	s := folded(t, pair(wrong, right))
	if len(s.Entries) != 22 || !s.Voided[21] {
		t.Errorf("%d entries, the corrected one voided: %v; want 22, true", len(s.Entries), s.Voided[21])
	}
	checks := []incubation.Check{{At: day(54.5), Seq: 22, Stage: incubation.Gravid}}
	if d := cmp.Diff(checks, s.Animals["f-1"].Checks); d != "" {
		t.Errorf("checks (-want +got):\n%s", d)
	}
	s = folded(t, pair(wrong, right, at(56, book.KindVoid, book.VoidData{Entry: 22})))
	if got := s.Animals["f-1"].Last(); s.Voided[21] || got == nil || got.Stage != incubation.Quiet {
		t.Errorf("the correction taken back, her last check is %v; want the first one", got)
	}
	s = folded(t, pair(wrong, right))
	for _, row := range []struct {
		name, field, text string
		entry             book.Entry
	}{
		{"what was corrected is corrected again", "replaces", "corrected already", corrects(21, wrong)},
		{"an entry nobody made", "replaces", "no entry 99", corrects(99, wrong)},
		{"an entry of another kind", "replaces", "another kind", corrects(16, wrong)},
		{"a void", "replaces", "", corrects(22, at(60, book.KindVoid, book.VoidData{Entry: 22}))},
		{"a laying moved behind what was done with its eggs", "at", "contradict a later entry", corrects(10, at(9, book.KindLaying, book.LayingData{
			Clutch: "c-1", Female: "f-1", From: day(8), To: day(9),
			Eggs: []book.EggName{{Egg: "c-1-a", Mark: "A"}, {Egg: "c-1-b", Mark: "B"}},
		}))},
	} {
		row.entry.Made = day(70)
		var p *book.Problem
		if err := book.Check(s, row.entry); !errors.As(err, &p) {
			t.Errorf("%s: %v, want a problem", row.name, err)
		} else if p.Field != row.field || !strings.Contains(p.Text, row.text) {
			t.Errorf("%s: %s: %q, want %s: … %q …", row.name, p.Field, p.Text, row.field, row.text)
		}
	}
	mended := corrects(10, at(2, book.KindLaying, book.LayingData{
		Clutch: "c-1", Female: "f-1", From: day(1.5), To: day(2), Place: "lay",
		Eggs: []book.EggName{{Egg: "c-1-a", Mark: "A"}, {Egg: "c-1-b", Mark: "B"}},
	}))
	mended.Made = day(70)
	if err := book.Check(s, mended); err != nil {
		t.Errorf("a laying corrected under what was done since: %v", err)
	}
	if after := s.With(mended); len(after.Problems) != 0 || !after.Clutches["c-1"].Laid.From.Equal(day(1.5)) {
		t.Errorf("corrected, laid from %v with problems %q", after.Clutches["c-1"].Laid.From, after.Problems)
	}
}
