package learn_test

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/incubation/learn"
	"clutchd/incubation/species"
)

// The figures of the hindsight are those that counting gives; the first clutch
// was foretold by nothing learned, a later one better with it.
func TestHindsight(t *testing.T) {
	base := species.Ensemble(0)
	k := newKeeper(base, 2, 0.6)
	season := k.season(base, clutches)
	h, err := learn.Class{Base: base}.LookBack(season)
	if err != nil {
		t.Fatal(err)
	}
	last := h.Eggs[len(h.Eggs)-1]
	if diff := cmp.Diff(last.Shipped, last.Learned); diff != "" {
		t.Errorf("the first clutch was foretold by something learned:\n%s", diff)
	}
	for name, m := range map[string]learn.Marks{"shipped": h.Shipped, "learned": h.Learned} {
		inside, off, brier, eggs := 0, 0.0, 0.0, 0
		for _, e := range h.Eggs {
			s := e.Shipped
			if name == "learned" {
				s = e.Learned
			}
			if s.Inside {
				inside++
			}
			off += max(s.Late, -s.Late)
			came := 0.0
			if e.Sex == incubation.Male {
				came = 1
			}
			brier += (s.Male - came) * (s.Male - came)
		}
		n := float64(len(h.Eggs))
		near(t, name+": days off", m.OffDays, off/n, 1e-9)
		near(t, name+": Brier score", m.Brier, brier/n, 1e-9)
		if m.Inside != inside || m.Hatched != len(h.Eggs) || m.Sexed != len(h.Eggs) {
			t.Errorf("%s: %+v, counted %d inside of %d", name, m, inside, len(h.Eggs))
		}
		for _, b := range m.Reliability {
			eggs += b.Eggs
			if b.Eggs > 0 && (b.Said < b.From || b.Said > b.To || b.Low > b.High) {
				t.Errorf("%s: band %+v", name, b)
			}
		}
		if eggs != m.Sexed {
			t.Errorf("%s: bands hold %d of %d", name, eggs, m.Sexed)
		}
		t.Logf("%s: %d of %d inside windows of %.1f d, off by %.1f d (%+.1f), Brier %.3f",
			name, m.Inside, m.Hatched, m.WidthDays, m.OffDays, m.LateDays, m.Brier)
	}
	// Later clutches were foretold with what the earlier ones taught.
	if narrow := h.Learned.WidthDays / h.Shipped.WidthDays; narrow > 0.7 {
		t.Errorf("windows that were learned are %.2f as long as those that ship", narrow)
	}
	if low, _ := learn.Wilson(h.Learned.Inside, h.Learned.Hatched); 10*h.Learned.Inside < 7*h.Learned.Hatched {
		t.Errorf("windows that were learned hold %d of %d, at least %.2f", h.Learned.Inside, h.Learned.Hatched, low)
	}
}

// Wilson's interval: the pooled counts of Viets et al. 1993 and Kratochvíl et
// al. 2008 with the intervals derived from them, and the ends.
func TestWilson(t *testing.T) {
	for _, row := range []struct {
		seen, n   int
		low, high float64
	}{{0, 125, 0, 0.030}, {4, 21, 0.077, 0.400}, {43, 132, 0.252, 0.410}, {8, 9, 0.565, 0.980}, {0, 0, 0, 1}} {
		low, high := learn.Wilson(row.seen, row.n)
		near(t, fmt.Sprint("low of ", row.seen, " of ", row.n), low, row.low, 0.0006)
		near(t, fmt.Sprint("high of ", row.seen, " of ", row.n), high, row.high, 0.0006)
	}
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(max(got-want, want-got) <= within) {
		t.Errorf("%s is %.6g, want %.6g give or take %g", what, got, want, within)
	}
}
