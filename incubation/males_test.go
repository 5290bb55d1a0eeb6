package incubation_test

import (
	"testing"

	"clutchd/incubation"
)

func TestMales(t *testing.T) {
	middle := constant(30.3).lay(t, leopards(), 35)
	warm := constant(32).lay(t, leopards(), 35)
	cool := constant(26.5).lay(t, leopards(), 40)
	q := incubation.Question{Now: day(40)}
	ask := func(tracks ...*incubation.Track) []float64 {
		var eggs []incubation.Answer
		for _, track := range tracks {
			eggs = append(eggs, track.Ask(q))
		}
		return incubation.Males(eggs)
	}
	chance := func(track *incubation.Track) float64 { return track.Estimate(q).Sex.MaleProbability }
	for _, row := range []struct {
		why    string
		tracks []*incubation.Track
	}{
		{"no egg", nil},
		{"one egg", []*incubation.Track{middle}},
		{"two eggs side by side", []*incubation.Track{middle, middle}},
		{"siblings apart, one warm and one cool", []*incubation.Track{warm, cool}},
		{"three eggs", []*incubation.Track{warm, middle, cool}},
	} {
		males := ask(row.tracks...)
		total, mean, want := 0.0, 0.0, 0.0
		for n, p := range males {
			total += p
			mean += float64(n) * p
		}
		for _, track := range row.tracks {
			want += chance(track)
		}
		if len(males) != len(row.tracks)+1 {
			t.Errorf("%s: %d chances for %d eggs", row.why, len(males), len(row.tracks))
		}
		near(t, row.why+": all chances", total, 1, 1e-12)
		near(t, row.why+": males to expect", mean, want, 1e-9)
	}

	// Siblings go together: both of one sex more often than by chance, side by
	// side and, as they share their parents, apart.
	p, w := chance(middle), chance(warm)
	if both := ask(middle, middle)[2]; both < p*p+0.04 || both > p {
		t.Errorf("two males have chance %.3f, each %.3f", both, p)
	}
	if both := ask(middle, warm)[2]; both < p*w+0.01 || both > min(p, w) {
		t.Errorf("two males apart have chance %.3f, each %.3f and %.3f", both, p, w)
	}
}

// Without a correlation and with nothing uncertain, eggs are coins.
func TestMalesOfOneMember(t *testing.T) {
	e := exact(17.5, 28, 53.5)
	track := constant(30.31).lay(t, e, 35)
	a := track.Ask(incubation.Question{Now: day(35)})
	p := a.Sex.MaleProbability
	near(t, "chance at the pivotal temperature", p, 0.5, 0.002)
	got := incubation.Males([]incubation.Answer{a, a})
	for n, want := range []float64{(1 - p) * (1 - p), 2 * p * (1 - p), p * p} {
		near(t, "chance of that many males", got[n], want, 1e-9)
	}
	// Nearly fixed by its parents, a clutch is of one sex or the other.
	e.Members[0].Clutch = 0.95
	mixed := incubation.Males([]incubation.Answer{a, a})[1]
	if mixed > 0.25 {
		t.Errorf("a clutch with a correlation of 0.95 is mixed with chance %.3f", mixed)
	}
}
