package book_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// hatched is the laid room with both eggs hatched, A on day 50 and B on day
// 52, which was taken for a male that day: entries 13 and 14.
func hatched(more ...book.Entry) []book.Entry {
	return laid(append([]book.Entry{
		at(50, book.KindHatch, book.HatchData{Egg: "c-1-a"}),
		at(52, book.KindHatch, book.HatchData{Egg: "c-1-b", Sex: "male"}),
	}, more...)...)
}

// sexed is a sexing of one egg's animal, mixed one of animals whose eggs are
// not known; both on the animal unless told otherwise.
func sexed(n float64, egg, sex string, how ...incubation.SexedHow) book.Entry {
	return at(n, book.KindSexed, book.SexedData{Egg: egg, Sex: sex, How: append(how, incubation.ByAnatomy)[0]})
}

func mixed(n float64, males, females int, how ...incubation.SexedHow) book.Entry {
	return at(n, book.KindSexed, book.SexedData{
		Clutch: "c-1", Males: males, Females: females, How: append(how, incubation.ByAnatomy)[0],
	})
}

func TestWhatIsKnownOfTheSexes(t *testing.T) {
	by := func(n float64, how incubation.SexedHow) incubation.Sexing {
		return incubation.Sexing{At: day(n), How: how}
	}
	const label = incubation.ByTemperature
	type known struct {
		SexA, SexB string
		A, B       incubation.Sexing
		Mixed      incubation.Mixed
	}
	atHatch := by(52, incubation.AtHatch)
	for _, row := range []struct {
		sentence string
		more     []book.Entry
		want     known
	}{
		{"a sex seen at the hatch stands as that", nil, known{SexB: "male", B: atHatch}},
		{
			"a sexing at three months replaces what was seen at the hatch",
			[]book.Entry{sexed(140, "c-1-b", "female")},
			known{SexB: "female", B: by(140, incubation.ByAnatomy)},
		},
		{
			"sexed again, the later look counts, whichever was entered first",
			[]book.Entry{sexed(160, "c-1-a", "female"), sexed(120, "c-1-a", "male")},
			known{SexA: "female", A: by(160, incubation.ByAnatomy), SexB: "male", B: atHatch},
		},
		{
			"the later look taken back, the earlier counts again",
			[]book.Entry{
				sexed(120, "c-1-a", "male"), sexed(160, "c-1-a", "female"),
				at(161, book.KindVoid, book.VoidData{Entry: 16}),
			},
			known{SexA: "male", A: by(120, incubation.ByAnatomy), SexB: "male", B: atHatch},
		},
		{
			"a label from the temperature is kept as that",
			[]book.Entry{sexed(60, "c-1-a", "female", label)},
			known{SexA: "female", A: by(60, label), SexB: "male", B: atHatch},
		},
		{
			"a label never replaces what was seen, at the hatch or later",
			[]book.Entry{
				sexed(60, "c-1-b", "female", label), sexed(120, "c-1-a", "male"), sexed(130, "c-1-a", "female", label),
			},
			known{SexA: "male", A: by(120, incubation.ByAnatomy), SexB: "male", B: atHatch},
		},
		{
			"a look replaces a label",
			[]book.Entry{sexed(60, "c-1-a", "female", label), sexed(120, "c-1-a", "male")},
			known{SexA: "male", A: by(120, incubation.ByAnatomy), SexB: "male", B: atHatch},
		},
		{
			"animals mixed up are counted for the clutch",
			[]book.Entry{mixed(120, 1, 1)},
			known{SexB: "male", B: atHatch, Mixed: incubation.Mixed{Males: 1, Females: 1, Sexed: by(120, incubation.ByAnatomy)}},
		},
		{
			"counted again, the later count counts, though it was entered first",
			[]book.Entry{mixed(150, 0, 2), mixed(120, 1, 1)},
			known{SexB: "male", B: atHatch, Mixed: incubation.Mixed{Females: 2, Sexed: by(150, incubation.ByAnatomy)}},
		},
		{
			"one sexed by itself, the other counted",
			[]book.Entry{sexed(120, "c-1-a", "female"), mixed(121, 1, 0)},
			known{
				SexA: "female", A: by(120, incubation.ByAnatomy), SexB: "male", B: atHatch,
				Mixed: incubation.Mixed{Males: 1, Sexed: by(121, incubation.ByAnatomy)},
			},
		},
		{
			"counted without one, that one can be sexed by itself",
			[]book.Entry{mixed(120, 1, 1), mixed(121, 1, 0), sexed(121, "c-1-a", "female")},
			known{
				SexA: "female", A: by(121, incubation.ByAnatomy), SexB: "male", B: atHatch,
				Mixed: incubation.Mixed{Males: 1, Sexed: by(121, incubation.ByAnatomy)},
			},
		},
		{
			"counted labels give way to a count",
			[]book.Entry{mixed(60, 0, 2, label), mixed(120, 1, 1), mixed(130, 0, 2, label)},
			known{SexB: "male", B: atHatch, Mixed: incubation.Mixed{Males: 1, Females: 1, Sexed: by(120, incubation.ByAnatomy)}},
		},
		{
			"and to a sexing of one of them, before or after",
			[]book.Entry{mixed(60, 0, 2, label), sexed(120, "c-1-a", "male"), mixed(130, 0, 2, label)},
			known{SexA: "male", A: by(120, incubation.ByAnatomy), SexB: "male", B: atHatch},
		},
	} {
		t.Run(row.sentence, func(t *testing.T) {
			s := folded(t, hatched(row.more...))
			c, a, b := s.Clutches["c-1"], s.Eggs["c-1-a"], s.Eggs["c-1-b"]
			if d := cmp.Diff(row.want, known{a.Sex, b.Sex, a.Sexed, b.Sexed, c.Mixed}); d != "" {
				t.Errorf("(-want +got):\n%s", d)
			}
		})
	}
}

func TestSexingsThatMakeNoSense(t *testing.T) {
	other := []book.Entry{at(60, book.KindLaying, laying(nil)), at(61, book.KindFail, book.FailData{Egg: "c-2-a"})}
	data := func(d book.SexedData) book.Entry { return at(140, book.KindSexed, d) }
	const seen = incubation.ByAnatomy
	for _, row := range []struct {
		sentence    string
		before      []book.Entry
		entry       book.Entry
		field, text string
	}{
		{"about nothing", nil, data(book.SexedData{Sex: "male", How: seen}), "egg", "one egg, or about a clutch"},
		{"about two things", nil, data(book.SexedData{Egg: "c-1-a", Clutch: "c-1", Males: 1, How: seen}), "egg", "one egg, or about a clutch"},
		{"how is not told", nil, data(book.SexedData{Egg: "c-1-a", Sex: "male"}), "how", "anatomy or temperature"},
		{"at the hatch is the hatch entry's", nil, sexed(140, "c-1-a", "male", incubation.AtHatch), "how", "anatomy or temperature"},
		{"a sex nobody knows", nil, sexed(140, "c-1-a", "both"), "sex", "male or female"},
		{"an egg without a sex", nil, sexed(140, "c-1-a", ""), "sex", "male or female"},
		{"an egg with counts", nil, data(book.SexedData{Egg: "c-1-a", Sex: "male", Males: 1, How: seen}), "males", "counted of a clutch"},
		{"a clutch with a sex", nil, data(book.SexedData{Clutch: "c-1", Sex: "male", Males: 1, How: seen}), "sex", "a clutch is counted"},
		{"nobody counted", nil, mixed(140, 0, 0), "males", "at least one"},
		{"fewer than none", nil, mixed(140, 2, -1), "females", "outside 0 to 6"},
		{"more than any clutch has", nil, mixed(140, 7, 0), "males", "outside 0 to 6"},
		{"an id that is none", nil, sexed(140, "C 1", "male"), "egg", "lower-case"},
		{"an unknown egg", nil, sexed(140, "c-9-a", "male"), "egg", `no egg "c-9-a"`},
		{"an unknown clutch", nil, data(book.SexedData{Clutch: "c-9", Males: 1, How: seen}), "clutch", `no clutch "c-9"`},
		{"before the hatch", nil, sexed(49, "c-1-a", "male"), "egg", "has not hatched by then"},
		{"counted before the first hatch", nil, mixed(49, 1, 0), "clutch", "no egg of clutch c-1 has hatched"},
		{"two counted between the hatches", nil, mixed(51, 1, 1), "males", "hatched eggs of clutch c-1 by then: 1"},
		{"a lost egg", other, sexed(140, "c-2-a", "male"), "egg", "failed on 2026-05-01"},
		{"three of two", nil, mixed(140, 1, 2), "females", "3 animals are too many: hatched eggs of clutch c-1 by then: 2"},
		{"three labels of two", nil, mixed(140, 1, 2, incubation.ByTemperature), "females", "3 animals are too many: hatched eggs of clutch c-1 by then: 2"},
		{
			"two of the one that was not sexed by itself",
			[]book.Entry{sexed(120, "c-1-a", "male")},
			mixed(140, 1, 1), "males", "not sexed by themselves: 1",
		},
		{
			"one of both that were counted",
			[]book.Entry{mixed(120, 1, 1)},
			sexed(140, "c-1-a", "male"), "egg", "counted on 2026-06-29 12:00 UTC",
		},
		{
			"the same, dated before the count",
			[]book.Entry{mixed(120, 1, 1)},
			sexed(110, "c-1-a", "male"), "at", "contradict a later entry: entry 15",
		},
	} {
		s := folded(t, number(slices.Concat(hatched(), row.before)...))
		err := book.Check(s, row.entry)
		var p *book.Problem
		if !errors.As(err, &p) {
			t.Errorf("%s: %v, want a problem", row.sentence, err)
			continue
		}
		if p.Field != row.field || !strings.Contains(p.Text, row.text) {
			t.Errorf("%s: %s: %q, want %s: … %q …", row.sentence, p.Field, p.Text, row.field, row.text)
		}
	}
}

func TestASexingLosesItsSenseWithItsHatch(t *testing.T) {
	s := book.Fold(hatched(sexed(120, "c-1-a", "male"), at(121, book.KindVoid, book.VoidData{Entry: 13})))
	if a := s.Eggs["c-1-a"]; a.State != incubation.Incubating || a.Sex != "" || a.Sexed != (incubation.Sexing{}) {
		t.Errorf("the egg that did not hatch is %s, %q, %+v", a.State, a.Sex, a.Sexed)
	}
	if !slices.Equal(s.Skipped, []uint64{15}) || !strings.Contains(s.Problems[0], "has not hatched by then") {
		t.Errorf("skipped %v: %q", s.Skipped, s.Problems)
	}
}

func TestTheFirstPipIsKept(t *testing.T) {
	s := folded(t, laid(
		at(49, book.KindPip, book.EggEvent{Egg: "c-1-a"}),
		at(48, book.KindPip, book.EggEvent{Egg: "c-1-a"}),
	))
	if a := s.Eggs["c-1-a"]; !a.PippedAt.Equal(day(48)) || !a.AliveAt.Equal(day(49)) {
		t.Errorf("pipped %v, alive %v; want day 48 and day 49", a.PippedAt, a.AliveAt)
	}
	if b := s.Eggs["c-1-b"]; !b.PippedAt.IsZero() {
		t.Errorf("an egg nobody saw pip did at %v", b.PippedAt)
	}
}
