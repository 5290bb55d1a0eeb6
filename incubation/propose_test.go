package incubation_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"clutchd/incubation"
	"clutchd/incubation/species"

	"github.com/google/go-cmp/cmp"
)

// spot is a place that is kept at one temperature from a day on.
func spot(place string, celsius, from float64) incubation.Spot {
	return incubation.Spot{Place: place, Course: []incubation.Step{
		{From: day(from), Celsius: incubation.Celsius(celsius)},
	}}
}

// shelves are a cool, a middle and a warm place, from a day on.
func shelves(from float64) []incubation.Spot {
	return []incubation.Spot{spot("cool", 27.5, from), spot("middle", 30, from), spot("warm", 31.7, from)}
}

// places names where a proposal has the egg lie.
func places(p incubation.Proposal) string {
	out := ""
	for i, s := range p.Stays {
		if i > 0 {
			out += ", then "
		}
		out += s.Place
	}
	return out
}

func TestPropose(t *testing.T) {
	for _, row := range []struct {
		sentence string
		lay      curve
		days     float64
		choice   incubation.Choice
		state    incubation.TSPState
		first    string // of the list
		reason   incubation.Reason
		without  []string // not on the list
	}{
		{
			"before its TSP an egg that is to be a male goes onto the warm shelf", constant(30), 3,
			incubation.Choice{Want: incubation.WantMale, Home: "middle", Spots: shelves(3)},
			incubation.TSPBefore, "warm", incubation.ForOdds, nil,
		},
		{
			"one that is to be a female goes onto the cool one", constant(30), 3,
			incubation.Choice{Want: incubation.WantFemale, Home: "middle", Spots: shelves(3)},
			incubation.TSPBefore, "cool", incubation.ForOdds, nil,
		},
		{
			"one that lies well already stays: no move is offered for the same odds", constant(27.5), 3,
			incubation.Choice{Want: incubation.WantFemale, Home: "cool", Spots: shelves(3)},
			incubation.TSPBefore, "cool", incubation.ForStaying,
			[]string{"cool, then warm", "middle, then cool"},
		},
		{
			"half done in the middle, the warm shelf is still the way to a male", constant(30), 16,
			incubation.Choice{Want: incubation.WantMale, Home: "middle", Spots: shelves(16)},
			incubation.TSPOpen, "warm", incubation.ForOdds, nil,
		},
		{
			"late in it, where no odds are left by the edge, the better chance still goes first", constant(28), 21,
			incubation.Choice{Want: incubation.WantMale, Home: "cool", Spots: shelves(21)},
			incubation.TSPOpen, "warm", incubation.ForOdds, nil,
		},
		{
			"after the TSP nothing changes the sex any more, so nothing but staying is offered", constant(30), 38,
			incubation.Choice{Want: incubation.WantMale, Home: "middle", Spots: shelves(38)},
			incubation.TSPClosed, "middle", incubation.ForStaying,
			[]string{"warm", "cool"},
		},
		{
			"without a wish each shelf is shown and none twice", constant(30), 3,
			incubation.Choice{Want: incubation.AnySex, Home: "middle", Spots: shelves(3)},
			incubation.TSPBefore, "middle", incubation.ForStaying,
			[]string{"middle, then warm"},
		},
		{
			"an egg that lies nowhere yet, without a record, is asked about all the same", nil, 0,
			incubation.Choice{Want: incubation.WantMale, Spots: shelves(0)},
			incubation.TSPBefore, "warm", incubation.ForOdds, nil,
		},
		{
			"where it lies need not be known to the planner", constant(30), 3,
			incubation.Choice{Want: incubation.WantMale, Home: "elsewhere", Spots: shelves(3)},
			incubation.TSPBefore, "warm", incubation.ForOdds,
			[]string{"warm, then elsewhere"},
		},
	} {
		t.Run(row.sentence, func(t *testing.T) {
			track := incubation.NewTrack(leopards(), laidAt(day0))
			if row.lay != nil {
				track = row.lay.lay(t, leopards(), row.days)
			}
			got := track.Propose(incubation.Question{Now: day(row.days)}, row.choice)
			if got.TSP.State != row.state {
				t.Fatalf("the TSP is %s, want %s", got.TSP.State, row.state)
			}
			var names []string
			for _, p := range got.List {
				names = append(names, places(p))
			}
			if len(names) == 0 || len(names) > 6 || names[0] != row.first || got.List[0].Why != row.reason {
				t.Fatalf("proposals %q, the first for %q; want %s for %s", names, got.List[0].Why, row.first, row.reason)
			}
			for _, name := range row.without {
				if slices.Contains(names, name) {
					t.Errorf("proposals %q hold %q", names, name)
				}
			}
			if home := row.choice.Home; home != "" && !slices.Contains(names, home) {
				t.Errorf("proposals %q do not say what staying gives", names)
			}
			if row.state == incubation.TSPClosed && (!got.TSP.LastChange.IsZero() || len(names) != 1) {
				t.Errorf("closed, yet a change is due by %v, and %q are offered", got.TSP.LastChange, names)
			}
		})
	}
}

// Whatever the shelves, the list is by the edge against the wish, that edge is
// what the track itself says of the same steps, and staying is on it.
func TestProposalsAreInOrderAndTrue(t *testing.T) {
	few := incubation.Draw(species.Leopard(), 60)
	random := rand.New(rand.NewPCG(7, 11))
	for range 60 {
		lain := 1 + 40*random.Float64()
		track := constant(25+9*random.Float64()).lay(t, few, lain)
		last, _ := track.Last()
		now := last.End()
		c := incubation.Choice{
			Want: []incubation.Wish{incubation.WantMale, incubation.WantFemale}[random.IntN(2)],
			Home: "a",
		}
		for i := range 1 + random.IntN(9) {
			c.Spots = append(c.Spots, incubation.Spot{
				Place:  string(rune('a' + i)),
				Course: []incubation.Step{{From: now, Celsius: incubation.Celsius(22 + 15*random.Float64())}},
			})
		}
		got := track.Propose(incubation.Question{Now: now}, c)
		var plans [][]incubation.Step
		for _, p := range got.List {
			plans = append(plans, p.Steps)
		}
		if !slices.ContainsFunc(got.List, func(p incubation.Proposal) bool { return p.Moves == 0 }) {
			t.Fatalf("%+v: staying is not among %+v", c, got.List)
		}
		before := 1.0
		for i, o := range track.Ask(incubation.Question{Now: now}, plans...).Plans {
			if d := cmp.Diff(o, got.List[i].Outcome); d != "" {
				t.Fatalf("what the track says of the same steps (-) and the proposal (+):\n%s", d)
			}
			edge := o.Sex.Low
			if c.Want == incubation.WantFemale {
				edge = 1 - o.Sex.High
			}
			edge = math.Round(100*edge) / 100
			if edge > before || edge != got.List[i].Odds {
				t.Fatalf("%s, proposal %d has the edge %.4f below one of %.4f; odds %.4f", c.Want, i, edge, before, got.List[i].Odds)
			}
			before = edge
		}
		for _, p := range got.List {
			for _, s := range p.Stays {
				if i := slices.IndexFunc(got.LeftOut, func(l incubation.LeftOut) bool { return l.Place == s.Place }); i >= 0 {
					t.Fatalf("%s was left out, and is proposed", s.Place)
				}
			}
		}
	}
}

func TestPlacesLeftOut(t *testing.T) {
	c := incubation.Choice{Want: incubation.WantMale, Home: "middle", Spots: append(
		shelves(3), spot("oven", 36, 3), spot("cellar", 22, 3), spot("twin", 31.8, 3))}
	got := constant(30).lay(t, leopards(), 3).Propose(incubation.Question{Now: day(3)}, c)
	want := []incubation.LeftOut{
		{Place: "oven", Why: incubation.TooWarm}, {Place: "cellar", Why: incubation.TooCold}, {Place: "twin", As: "warm"},
	}
	if d := cmp.Diff(want, got.LeftOut); d != "" {
		t.Errorf("left out (-want +got):\n%s", d)
	}
}

func TestWarnings(t *testing.T) {
	limits := species.Leopard().Limits
	for _, row := range []struct {
		sentence string
		celsius  incubation.Celsius
		want     incubation.Warning
	}{
		{"above the lethal constant maximum, just above 35 °C (Viets et al. 1993)", 35.5, incubation.TooWarm},
		{"within a kelvin of it", 34.5, incubation.NearLimit},
		{"at 33 °C eggs hatched (Viets et al. 1993, table 1)", 33, ""},
		{"26 °C is the lowest with published hatching (Viets et al. 1993, table 1)", 26, ""},
		{"a little under that nobody has shown it", 25, incubation.Unhatched},
		{"under the lower limit, which is judgement", 23, incubation.TooCold},
	} {
		var want []incubation.Warning
		if row.want != "" {
			want = []incubation.Warning{row.want}
		}
		if d := cmp.Diff(want, limits.Warn([]incubation.Step{{Celsius: row.celsius}, {Celsius: row.celsius}})); d != "" {
			t.Errorf("%s: %v °C (-want +got):\n%s", row.sentence, row.celsius, d)
		}
	}
}

// No constant temperature gives males only: the refit of the published data
// peaks at about 0.90 near 31.7 °C (derived, from Viets et al. 1993,
// Kratochvil et al. 2008 and Flores et al. 1994).
func TestMostMale(t *testing.T) {
	at, share := species.Leopard().Sex.MostMale()
	if at < 31.5 || at > 31.9 || share < 0.87 || share > 0.92 {
		t.Errorf("most males at %v °C: %.3f; want about 0.90 near 31.7", at, share)
	}
}

func BenchmarkPropose(b *testing.B) {
	track := constant(30).lay(b, leopards(), 16)
	c := incubation.Choice{Want: incubation.WantMale, Home: "s0"}
	for i := range 6 {
		c.Spots = append(c.Spots, spot("s"+string(rune('0'+i)), 27+float64(i), 16))
	}
	for b.Loop() {
		track.Propose(incubation.Question{Now: day(16)}, c)
	}
}
