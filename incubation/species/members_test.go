package species_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"clutchd/incubation"
	"clutchd/incubation/species"
)

func TestEnsemble(t *testing.T) {
	for _, row := range []struct {
		why     string
		n, want int
	}{
		{"all of them", 0, 1000},
		{"the first hundred", 100, 100},
		{"one", 1, 1},
		{"no more than there are", 5000, 1000},
		{"less than none is all", -3, 1000},
	} {
		e := species.Ensemble(row.n)
		if len(e.Members) != row.want || e.Drawn != row.want || e.Profile.Name != "leopard gecko" {
			t.Errorf("%s: asked for %d, got %d members of %d of the %s", row.why, row.n, len(e.Members),
				e.Drawn, e.Profile.Name)
		}
	}
	var held [3]int
	for i, m := range species.Ensemble(0).Members {
		held[m.Rule]++
		if slices.Max(held[:])-slices.Min(held[:]) > 1 {
			t.Fatalf("the first %d members hold the summary rules %v times", i+1, held)
		}
	}
}

// of are the members' values of one of the fit's numbers.
func of(name string, members []species.Plausible) []float64 {
	out := make([]float64, len(members))
	for i, m := range members {
		out[i] = map[string]float64{
			"zero": m.Zero, "days": m.Days, "bend": m.Bend, "peak": m.Peak,
			"start": m.Start, "end": m.End, "clutch": m.Clutch,
			"rising": m.Rising[0], "rising_slope": m.Rising[1],
			"falling": m.Falling[0], "falling_slope": m.Falling[1],
		}[name]
	}
	slices.Sort(out)
	return out
}

// The members lie where their file says that the fit lies, and the first
// hundred of them too: within four standard errors of a median or a 5 % point
// of so many draws. A member's pivotal temperatures are in a room of its own
// and lie at least as wide.
func TestMembersAndQuantiles(t *testing.T) {
	f, _ := species.LeopardFit()
	for _, n := range []int{len(f.Members), 100} {
		for _, q := range f.Quantiles {
			if q.Name == "laboratory" { // is in the pivotal temperatures
				continue
			}
			values := of(q.Name, f.Members[:n])
			at := func(p float64) float64 { return values[int(p*float64(n))] }
			se := q.SD / math.Sqrt(min(float64(n), f.Made.Effective))
			low, high := at(0.05), at(0.95)
			if q.Name == "rising" || q.Name == "falling" {
				low, high = max(low, q.Low), min(high, q.High)
				if n == len(f.Members) && at(0.95)-at(0.05) < q.High-q.Low {
					t.Errorf("%s is %.2f to %.2f, narrower in new rooms than between the laboratories", q.Name,
						at(0.05), at(0.95))
				}
			}
			if math.Abs(at(0.5)-q.Median) > 4*1.25*se || math.Abs(low-q.Low) > 4*2.11*se ||
				math.Abs(high-q.High) > 4*2.11*se {
				t.Errorf("%s of the first %d members is %.4g, %.4g, %.4g; the fit's is %+v", q.Name, n, low,
					at(0.5), high, q)
			}
		}
	}
}

// What the fit settled the profile says too, to the digit.
func TestProfileAndQuantiles(t *testing.T) {
	p := species.Leopard()
	f, _ := species.LeopardFit()
	profile := map[string]incubation.Number{
		"zero": p.Development.Zero, "days": p.Development.AnchorDays,
		"bend": p.Development.Bend, "peak": p.Development.Peak,
		"start": p.TSP.Start, "end": p.TSP.End,
		"rising": p.Sex.Rising.Pivotal, "rising_slope": p.Sex.Rising.Slope,
		"falling": p.Sex.Falling.Pivotal, "falling_slope": p.Sex.Falling.Slope,
		"laboratory": p.Sex.Laboratory, "clutch": p.Sex.Clutch,
	}
	for _, q := range f.Quantiles {
		n, ok := profile[q.Name]
		if !ok || n.Value != q.Median || n.Low != q.Low || n.High != q.High ||
			n.Mark != incubation.Derived || !strings.Contains(n.Source, "package fit") {
			t.Errorf("%s in the profile is %+v; the fit says %+v: put these in", q.Name, n, q)
		}
		delete(profile, q.Name)
	}
	if len(profile) != 0 || f.Anchor != p.Development.Anchor.Value {
		t.Errorf("the fit, of %g °C, says nothing of %v", f.Anchor, profile)
	}
}

func TestParseFitRefuses(t *testing.T) {
	const good = `{"anchor_celsius":28,"members":[{"zero":17,"days":54,"bend":30,"peak":4,` +
		`"start":0.2,"end":0.5,"rising":[30.3,0.5],"falling":[33,0.4],"clutch":0.3,"rule":"mean"}]}`
	if _, members, err := species.ParseFit([]byte(good)); err != nil || len(members) != 1 {
		t.Fatalf("%d members, error %v", len(members), err)
	}
	for _, row := range []struct{ why, from, to, want string }{
		{"no JSON", "{", "<", "read fitted members"},
		{"no members", `"members"`, `"others"`, "there are none"},
		{"a zero above the anchor", `"zero":17`, `"zero":28`, "its growth is none"},
		{"a bend below the anchor", `"bend":30`, `"bend":27`, "its growth is none"},
		{"a TSP that ends before it starts", `"end":0.5`, `"end":0.1`, "its TSP is from 0.2 to 0.1"},
		{"a limb without a slope", `[33,0.4]`, `[33,0]`, "its sex curve is none"},
		{"a rule nobody knows", `"mean"`, `"mode"`, `its rule "mode"`},
	} {
		f, members, err := species.ParseFit([]byte(strings.Replace(good, row.from, row.to, 1)))
		if err == nil || !strings.Contains(err.Error(), row.want) || members != nil || f.Members != nil {
			t.Errorf("%s: error %v, %d members", row.why, err, len(members))
		}
	}
}
