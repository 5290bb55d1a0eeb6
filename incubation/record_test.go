package incubation_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
)

// A lay box in an enclosure; a box that stood in one incubator and then in
// another; probes that come and go.
func layout() (incubation.Layout, []incubation.Stay) {
	stay := func(place string, from, to float64) incubation.Stay {
		s := incubation.Stay{Place: place, From: day(from)}
		if to > 0 {
			s.To = day(to)
		}
		return s
	}
	put := func(probe, place string, at incubation.Position, from, to float64) incubation.Placement {
		return incubation.Placement{
			Probe: probe, Stay: stay(place, from, to), Position: at,
			Accuracy: 0.2,
		}
	}
	return incubation.Layout{
		Places: map[string]*incubation.Place{
			"lay": {ID: "lay", Kind: incubation.LayBox, Stays: []incubation.Stay{stay("den", -9, 0)}},
			"den": {ID: "den", Kind: incubation.Enclosure},
			"box": {ID: "box", Kind: incubation.Box, Stays: []incubation.Stay{
				stay("north", 1, 10),
				stay("south", 10, 0),
			}},
			"bare": {ID: "bare", Kind: incubation.Box},
		},
		Placements: []incubation.Placement{
			put("air", "box", incubation.BoxAir, 0, 0),
			put("deep", "box", incubation.Substrate, 0, 20),
			put("deeper", "box", incubation.Substrate, 5, 0),
			put("north", "north", incubation.IncubatorAir, 0, 0),
			put("south", "south", incubation.Substrate, 0, 0), // as it was put: in a tray of its own
			put("wall", "den", "", 0, 0),
		},
	}, []incubation.Stay{stay("lay", 0, 2), stay("box", 2, 40), stay("bare", 40, 0)}
}

func TestSources(t *testing.T) {
	room, egg := layout()
	type heard struct {
		Probe    string
		Position incubation.Position
	}
	for _, row := range []struct {
		why  string
		at   float64
		want []heard
	}{
		{"in the lay box only the enclosure's probe speaks, from afar", 1, []heard{{
			"wall",
			incubation.IncubatorAir,
		}}},
		{
			"in the box: substrate, then its air, then the incubator it stands in", 3,
			[]heard{{"deep", incubation.Substrate}, {"air", incubation.BoxAir}, {
				"north",
				incubation.IncubatorAir,
			}},
		},
		{"a second probe was put in", 6, []heard{
			{"deep", incubation.Substrate},
			{
				"deeper",
				incubation.Substrate,
			},
			{"air", incubation.BoxAir},
			{"north", incubation.IncubatorAir},
		}},
		{
			"the box was moved: the other incubator's probe is air to it, wherever it sits", 12,
			[]heard{
				{"deep", incubation.Substrate},
				{"deeper", incubation.Substrate},
				{"air", incubation.BoxAir},
				{"south", incubation.IncubatorAir},
			},
		},
		{"the first probe was taken out", 20, []heard{
			{"deeper", incubation.Substrate},
			{"air", incubation.BoxAir},
			{"south", incubation.IncubatorAir},
		}},
		{"a box that stands nowhere, without a probe", 50, nil},
		{"before it was laid", -1, nil},
	} {
		var got []heard
		for _, p := range incubation.Sources(room, egg, day(row.at)) {
			got = append(got, heard{p.Probe, p.Position})
		}
		if diff := cmp.Diff(row.want, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", row.why, diff)
		}
	}
	if room.Placements[4].Position != incubation.Substrate {
		t.Error("asking for sources changed a placement")
	}
}

func TestPiece(t *testing.T) {
	sources := []incubation.Placement{
		{Probe: "a", Position: incubation.Substrate, Accuracy: 0.3},
		{Probe: "b", Position: incubation.Substrate, Accuracy: 0.4},
		{Probe: "c", Position: incubation.BoxAir},
		{Probe: "d", Position: incubation.IncubatorAir},
	}
	said := func(probe string, celsius, covered float64) incubation.Block {
		return incubation.Block{
			Start: day0, Celsius: incubation.Celsius(celsius), Covered: covered,
			Probe: probe, Accuracy: 0.5,
		}
	}
	blocks := func(bs ...incubation.Block) map[string]incubation.Block {
		out := map[string]incubation.Block{}
		for _, b := range bs {
			out[b.Probe] = b
		}
		return out
	}
	piece := func(probe string, celsius, covered float64, at incubation.Position,
		accuracy float64,
	) incubation.Block {
		return incubation.Block{
			Start: day0, Celsius: incubation.Celsius(celsius), Covered: covered,
			Probe: probe, Position: at, Accuracy: accuracy,
		}
	}
	for _, row := range []struct {
		why    string
		blocks map[string]incubation.Block
		want   incubation.Block
		ok     bool
	}{
		{
			"the nearest rank; independent errors of 0.3 and 0.4 make 0.5 of a sum, 0.25 of a mean",
			blocks(said("a", 28, 1), said("b", 29, 0.5), said("c", 35, 1)),
			piece("a+b", 28.5, 1, incubation.Substrate, 0.25), true,
		},
		{
			"one of two is silent", blocks(said("b", 29, 0.5), said("c", 35, 1)),
			piece("b", 29, 0.5, incubation.Substrate, 0.4), true,
		},
		{
			"the nearest rank is silent; the placement states no accuracy, so the maker's holds",
			blocks(said("c", 30, 1), said("d", 31, 1)), piece("c", 30, 1, incubation.BoxAir, 0.5), true,
		},
		{"only the incubator speaks", blocks(said("d", 31, 1)), piece("d", 31, 1,
			incubation.IncubatorAir, 0.5), true},
		{"nobody speaks", blocks(said("x", 31, 1)), incubation.Block{}, false},
	} {
		got, ok := incubation.Piece(sources, row.blocks)
		if diff := cmp.Diff(row.want, got, closeEnough); diff != "" || ok != row.ok {
			t.Errorf("%s: %v (-want +got):\n%s", row.why, ok, diff)
		}
	}
}
