package season_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/season"
)

// family writes animals with their parents: "calf: dam sire".
func family(t *testing.T, lines ...string) *season.Herd {
	t.Helper()
	k := &keeper{t: t}
	for _, line := range lines {
		id, parents, _ := strings.Cut(line, ":")
		d := book.AnimalData{Animal: id, Name: id}
		if p := strings.Fields(parents); len(p) == 2 {
			if p[0] != "-" {
				d.Dam = p[0]
			}
			if p[1] != "-" {
				d.Sire = p[1]
			}
		}
		k.add(begin, book.KindAnimal, d)
	}
	return season.Look(k.state(), time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), season.Options{})
}

func TestKin(t *testing.T) {
	grand := []string{"a", "b", "c", "d", "e", "f"}
	with := func(lines ...string) []string { return append(append([]string{}, grand...), lines...) }
	for _, c := range []struct {
		says         string
		lines        []string
		a, b         string
		relationship float64
		inbreeding   float64 // of young that they would have
		words        string
		close        bool
	}{
		{"strangers", grand, "a", "b", 0, 0, "no kinship is known; no parents of a and b are in the book", false},
		{"parent and child: ½", with("x: a b"), "a", "x", 0.5, 0.25, "parent and child (0.5)", true},
		{"full siblings: 2·½·½", with("x: a b", "y: a b"), "x", "y", 0.5, 0.25, "full siblings (0.5)", true},
		{"half siblings: ½·½", with("x: a b", "y: a c"), "x", "y", 0.25, 0.125, "half siblings (0.25)", true},
		{"grandparent: ½·½", with("x: a b", "y: x c"), "a", "y", 0.25, 0.125, "grandparent and grandchild (0.25)", true},
		{
			"aunt: two paths of three steps, 2/8", with("x: a b", "y: a b", "z: y c"), "x", "z", 0.25, 0.125,
			"close kin (0.25)", true,
		},
		{
			"first cousins: two paths of four steps, 2/16", with("x: a b", "y: a b", "p: x c", "q: y d"), "p", "q",
			0.125, 0.0625, "close kin (0.125)", true,
		},
		{
			"half first cousins: one path of four steps, 1/16", with("x: a b", "y: a c", "p: x d", "q: y e"), "p", "q",
			0.0625, 0.03125, "distant kin (0.062)", false,
		},
		{
			"one common parent known, the other not", with("x: a -", "y: a -"), "x", "y", 0.25, 0.125,
			"half siblings (0.25)", true,
		},
		{
			// Wright 1922, Am. Nat. 56:330, the bull Roan Gauntlet, as worked in Lynch &
			// Walsh 1998, ch. 7, example 1: two paths of four individuals and two of
			// seven, 2·(½)⁴ + 2·(½)⁷ = 0.140625. That one lies between Lord Raglan and
			// Carmine follows from the seven; its name was not in the text seen. The
			// relationship by hand: his sire's parents are half siblings, F = ⅛; his
			// dam's are joined by a path of four, (½)⁴ = 1/16.
			"the parents of Roan Gauntlet",
			[]string{
				"raglan", "hope", "champion: hope raglan", "duchess", "mistletoe", "cressida",
				"grandduke: duchess champion", "mimulus: mistletoe champion", "between: - raglan", "carmine: cressida between",
				"royal: mimulus grandduke", "princess: carmine champion",
			},
			"royal", "princess",
			2 * 0.140625 / math.Sqrt((1+1.0/8)*(1+1.0/16)), 0.140625, "close kin (0.257)", true,
		},
	} {
		t.Run(c.says, func(t *testing.T) {
			for _, pair := range [][2]string{{c.a, c.b}, {c.b, c.a}} {
				k := family(t, c.lines...).Kin(pair[0], pair[1])
				if math.Abs(k.Relationship-c.relationship) > 1e-9 || math.Abs(k.Inbreeding-c.inbreeding) > 1e-9 {
					t.Errorf("relationship %.6f, young %.6f; want %.6f, %.6f",
						k.Relationship, k.Inbreeding, c.relationship, c.inbreeding)
				}
				if k.Close != c.close {
					t.Errorf("close: %v", k.Close)
				}
			}
			if got := family(t, c.lines...).Kin(c.a, c.b).Says; !strings.HasPrefix(got, c.words) {
				t.Errorf("says %q, want %q", got, c.words)
			}
		})
	}
}

// Inbreeding of an animal is the kinship of its parents.
func TestInbreedingAgainstWhatOthersWorkedOut(t *testing.T) {
	for _, c := range []struct {
		says      string
		lines     []string
		dam, sire string
		want      float64
	}{
		{
			// Full siblings mated on: F = 0.25, 0.375, 0.5, 0.594 (Wright 1921,
			// Genetics 6:124, from memory; by F'' = (1 + 2F' + F)/4).
			"four generations of full siblings: (1 + 2·0.5 + 0.375)/4 = 0.59375",
			[]string{
				"a", "b", "c: a b", "d: a b", "e: c d", "f: c d", "g: e f", "h: e f", "i: g h", "j: g h",
			},
			"i", "j", 0.59375,
		},
		{
			// Favourite (252), sire of Comet: Wright 1922's pedigree, of four
			// generations: Bolingbroke × Phoenix.
			"the bull Favourite: Foljambe and a cow on both sides: (½)³ + (½)⁴ = 0.1875",
			[]string{
				"foljambe", "cow", "dalton", "strawberry: cow dalton", "bolingbroke: strawberry foljambe",
				"phoenix: cow foljambe",
			},
			"phoenix", "bolingbroke", 0.1875,
		},
		{
			// Young Phoenix was Favourite's daughter by his own dam.
			"the bull Comet: 0.46875",
			[]string{
				"foljambe", "cow", "dalton", "strawberry: cow dalton", "bolingbroke: strawberry foljambe",
				"phoenix: cow foljambe", "favourite: phoenix bolingbroke", "young: phoenix favourite",
			},
			"young", "favourite", 0.46875,
		},
		{
			// Sargolzaei & Iwaisaki 2005, Anim. Sci. J. 76:401, the example of six
			// animals shipped with R's pedigreeTools: F of the fifth.
			"parents 4 and 3 of the example: 0.125",
			[]string{"1", "2", "3: 2 1", "4: - 1"},
			"3", "4", 0.125,
		},
		{
			"parents 5 and 2 of the same: 0.125",
			[]string{"1", "2", "3: 2 1", "4: - 1", "5: 3 4"},
			"2", "5", 0.125,
		},
	} {
		t.Run(c.says, func(t *testing.T) {
			if got := family(t, c.lines...).Kin(c.dam, c.sire).Inbreeding; math.Abs(got-c.want) > 1e-9 {
				t.Errorf("%.6f, want %.6f", got, c.want)
			}
		})
	}
}

func TestUnknownParentsAreSaid(t *testing.T) {
	h := family(t, "a", "b", "x: a b", "y")
	k := h.Kin("x", "y")
	if k.Unknown != 4+6 {
		t.Errorf("%d forebears unknown: four grandparents of x, all six of y", k.Unknown)
	}
	if !strings.Contains(k.Says, "no parents of y are in the book") {
		t.Errorf("says %q", k.Says)
	}
}

func TestPairable(t *testing.T) {
	gates := func(d book.GatesData) func(*keeper) {
		return func(k *keeper) { k.add("2026-01-01", book.KindGates, d) }
	}
	weigh := func(day string, g float64) func(*keeper) {
		return func(k *keeper) { k.add(day, book.KindWeighed, book.WeighedData{Animal: "saffron", Grams: g}) }
	}
	months, heavy, loss, one := 36.0, 60.0, 0.05, 1
	for _, c := range []struct {
		says    string
		write   []func(k *keeper)
		why     string // of a refusal; "": allowed
		warning string
	}{
		{says: "nothing against it, and her weight not known", warning: "Saffron was never weighed."},
		{
			says:  "under the starting 45 g",
			write: []func(*keeper){weigh("2026-03-10", 44)}, why: "Saffron weighed 44 g",
		},
		{says: "at 45 g", write: []func(*keeper){weigh("2026-03-10", 45)}},
		{
			says:  "at 55 g with a gate of 60",
			write: []func(*keeper){weigh("2026-03-10", 55), gates(book.GatesData{MinGrams: &heavy})},
			why:   "from 60 g on",
		},
		{
			says:  "a weight of more than sixty days ago says nothing",
			write: []func(*keeper){weigh("2026-01-01", 30)}, warning: "was last weighed",
		},
		{
			says:  "62 g to 52 g this season: 16 % lost, the starting gate is 15",
			write: []func(*keeper){weigh("2026-01-10", 62), weigh("2026-03-10", 52)}, why: "lost 16 %",
		},
		{
			says:  "60 g to 52 g: 13 % is let pass",
			write: []func(*keeper){weigh("2026-01-10", 60), weigh("2026-03-10", 52)},
		},
		{
			says: "but not with a gate of 5 %",
			write: []func(*keeper){
				weigh("2026-01-10", 60), weigh("2026-03-10", 52),
				gates(book.GatesData{MaxLossRatio: &loss}),
			},
			why: "up to 5 %",
		},
		{
			says:  "last season's weight is no loss",
			write: []func(*keeper){weigh("2025-08-10", 70), weigh("2026-03-10", 52)},
		},
		{
			says:  "hatched on 1 May 2023 she is 34 months old: the gate is 36",
			write: []func(*keeper){gates(book.GatesData{MinMonths: &months})}, why: "34 months old",
		},
		{
			says: "one clutch this season, and the keeper wants no more",
			write: []func(*keeper){
				func(k *keeper) { k.lays("2026-02-01", "saffron", "c-1") },
				gates(book.GatesData{MaxClutches: &one}),
			},
			why: "laid 1 clutch this season",
		},
		{
			says: "accepted three days ago: she is left alone for a week",
			write: []func(*keeper){func(k *keeper) {
				k.pair("2026-03-12", "saffron", "flint", incubation.Accepted)
			}},
			why: "left alone for 7 days",
		},
		{
			says: "refused three days ago does not count as rest",
			write: []func(*keeper){func(k *keeper) {
				k.pair("2026-03-12", "saffron", "flint", incubation.Refused)
			}},
		},
		{
			says:  "shells forming",
			write: []func(*keeper){func(k *keeper) { k.check("2026-03-10", "saffron", incubation.Shelling, "") }},
			why:   "shells forming",
		},
		{
			says:  "white eggs",
			write: []func(*keeper){func(k *keeper) { k.check("2026-03-10", "saffron", incubation.Gravid, "") }},
			why:   "white eggs",
		},
		{
			says: "she is in quarantine",
			write: []func(*keeper){func(k *keeper) {
				k.add("2026-03-01", book.KindQuarantine, book.QuarantineData{Animal: "saffron", Until: on("2026-04-01")})
			}},
			why: "Saffron is in quarantine until 1 April",
		},
		{
			says: "so is he; over today it is over",
			write: []func(*keeper){func(k *keeper) {
				k.add("2026-01-01", book.KindQuarantine, book.QuarantineData{Animal: "flint", Until: on("2026-03-15 11:00")})
			}},
		},
		{
			says: "he was sold",
			write: []func(*keeper){func(k *keeper) {
				k.add("2026-03-01", book.KindRetired, book.RetiredData{Animal: "flint", Why: incubation.Sold})
			}},
			why: "Flint is no longer here",
		},
		{
			says: "close kin is a warning, no refusal",
			write: []func(*keeper){func(k *keeper) {
				k.add("2026-01-01", book.KindAnimal, book.AnimalData{Animal: "saffron", Sire: "flint"})
			}},
			warning: "Parent and child (0.5)",
		},
	} {
		t.Run(c.says, func(t *testing.T) {
			k := keeps(t)
			for _, w := range c.write {
				w(k)
			}
			v := k.look("2026-03-15").Pairable("saffron", "flint")
			if v.Allowed != (c.why == "") {
				t.Errorf("allowed: %v, %s", v.Allowed, v.Why)
			}
			if !strings.Contains(v.Why, c.why) {
				t.Errorf("why %q, want %q", v.Why, c.why)
			}
			if !strings.Contains(strings.Join(v.Warnings, " "), c.warning) {
				t.Errorf("warnings %q, want %q", v.Warnings, c.warning)
			}
		})
	}
}

func TestAHatchYearCountsAsItsEnd(t *testing.T) {
	k := keeps(t)
	k.animal("wren", incubation.Female, "2025", "rack-4")
	if v := k.look("2026-12-30").Pairable("wren", "flint"); v.Allowed {
		t.Error("hatched in 2025 she may be eleven months old on 30 December 2026")
	}
	if v := k.look("2026-12-31").Pairable("wren", "flint"); !v.Allowed {
		t.Errorf("from 31 December on she is a year old: %s", v.Why)
	}
}

func TestReceptivityIsThePapers(t *testing.T) {
	k := keeps(t)
	k.check("2026-03-10", "saffron", incubation.Follicular, incubation.Small)
	v := k.look("2026-03-11").Pairable("saffron", "flint")
	// Rhen et al. 2000: about 20 % early, about 80 % late vitellogenic.
	if v.Receptive == nil || *v.Receptive != 0.2 || !v.Ready {
		t.Errorf("small follicles: %+v", v)
	}
	k.check("2026-03-14", "saffron", incubation.Follicular, incubation.Large)
	if v := k.look("2026-03-15").Pairable("saffron", "flint"); v.Receptive == nil || *v.Receptive != 0.8 {
		t.Errorf("large follicles: %+v", v)
	}
}
