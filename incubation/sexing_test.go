package incubation_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
)

func TestWhatIsMissingOfTheSexes(t *testing.T) {
	now := time.Date(2026, 9, 1, 8, 0, 0, 0, time.UTC)
	days := func(n float64) time.Time { return now.Add(-time.Duration(n * 24 * float64(time.Hour))) }
	// egg hatched so many days ago; how it was sexed.
	egg := func(id string, ago float64, how incubation.SexedHow) *incubation.Egg {
		return &incubation.Egg{
			ID: id, State: incubation.Hatched, Ended: days(ago), Sexed: incubation.Sexing{How: how},
		}
	}
	lies := &incubation.Egg{ID: "lies", State: incubation.Incubating}
	lost := &incubation.Egg{ID: "lost", State: incubation.Failed, Ended: days(80)}
	const (
		not   = incubation.SexedHow("")
		seen  = incubation.ByAnatomy
		label = incubation.ByTemperature
	)
	for _, row := range []struct {
		sentence  string
		eggs      []*incubation.Egg
		mixed     int
		how       incubation.SexedHow
		due, late string
		sexed     int // of the hatched
		partial   bool
	}{
		{"an egg that lies and one that was lost have no animal", []*incubation.Egg{lies, lost}, 0, not, "", "", 0, false},
		{"a hatchling of two months less an hour is too young", []*incubation.Egg{egg("a", 60-1./24, not)}, 0, not, "", "", 0, false},
		{"at two months it is due", []*incubation.Egg{egg("a", 60, not)}, 0, not, "a", "", 0, false},
		{"until four months", []*incubation.Egg{egg("a", 120-1./24, not), egg("b", 120, not)}, 0, not, "a", "b", 0, false},
		{"sexed, nothing is missing", []*incubation.Egg{egg("a", 80, seen), egg("b", 80, seen)}, 0, not, "", "", 2, false},
		{"what was seen at the hatch is to be looked at again", []*incubation.Egg{egg("a", 80, incubation.AtHatch)}, 0, not, "a", "", 0, false},
		{"a label is no sexing", []*incubation.Egg{egg("a", 80, label)}, 0, not, "a", "", 0, false},
		{"one of two", []*incubation.Egg{egg("a", 80, seen), egg("b", 80, not)}, 0, not, "b", "", 1, true},
		{"one of two, the other never", []*incubation.Egg{egg("a", 200, seen), egg("b", 200, label)}, 0, not, "", "b", 1, true},
		{"one of two, the other too young yet", []*incubation.Egg{egg("a", 80, seen), egg("b", 40, not)}, 0, not, "", "", 1, false},
		{"both counted, their eggs not known", []*incubation.Egg{egg("a", 80, not), egg("b", 80, not)}, 2, seen, "", "", 2, false},
		{"one of two counted: any of them may be left", []*incubation.Egg{egg("a", 80, not), egg("b", 80, not)}, 1, seen, "a b", "", 1, true},
		{"one of two counted, and one too young: it may be the one", []*incubation.Egg{egg("a", 80, not), egg("b", 40, not)}, 1, seen, "a", "", 1, false},
		{"counted labels count for nothing", []*incubation.Egg{egg("a", 80, not), egg("b", 80, not)}, 2, label, "a b", "", 0, false},
		{"one by itself, the other counted", []*incubation.Egg{egg("a", 80, seen), egg("b", 80, not)}, 1, seen, "", "", 2, false},
	} {
		c := &incubation.Clutch{Eggs: row.eggs, Mixed: incubation.Mixed{
			Females: row.mixed, Sexed: incubation.Sexing{How: row.how},
		}}
		g := c.SexingGap(now)
		if ids(g.Due) != row.due || ids(g.Late) != row.late || g.Sexed != row.sexed || g.Partial != row.partial {
			t.Errorf("%s: due %q, late %q, %d sexed, partial %v; want %q, %q, %d, %v", row.sentence,
				ids(g.Due), ids(g.Late), g.Sexed, g.Partial, row.due, row.late, row.sexed, row.partial)
		}
		want := fmt.Sprintf("%d of %d hatchlings", row.sexed, len(c.Hatched()))
		if w := g.Warning(); (w != "") != row.partial || row.partial && !strings.Contains(w, want) {
			t.Errorf("%s: the warning is %q, want %q in it: %v", row.sentence, w, want, row.partial)
		}
	}
}

func ids(eggs []*incubation.Egg) string {
	var out []string
	for _, e := range eggs {
		out = append(out, e.ID)
	}
	return strings.Join(out, " ")
}
