package web

import (
	"cmp"
	"slices"
	"strconv"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

func setpointForm() form {
	return form{
		Kind: book.KindSetpoint, Title: "Thermostat was set", Verb: "Write it down",
		Hint: "This writes down what the thermostat was set to. It does not set it.",
		fields: func(v *visit) []field {
			return []field{v.placeField("Incubator or place"), {
				Name: "celsius", Label: "Set to",
				Suffix: v.say.Unit(), Mode: "decimal",
			}}
		},
		read: func(a *answers) any {
			return book.SetpointData{Place: a.id("place"), Celsius: a.degrees("celsius")}
		},
	}
}

func standForm() form {
	return form{
		Kind: book.KindStand, Title: "Box moved", Verb: "Write it down",
		fields: func(v *visit) []field {
			boxes := v.places(v.asked("place"), incubation.Box, incubation.LayBox,
				incubation.Enclosure)
			in := append(options("", nowhere, "nothing: taken out"),
				v.places(v.asked("in"), incubation.Incubator, incubation.Enclosure, incubation.Room)...)
			return []field{
				{Name: "place", Label: "Box", Type: "select", Options: boxes},
				{Name: "in", Label: "Stands in", Type: "select", Options: in},
			}
		},
		read: func(a *answers) any {
			return book.StandData{Place: a.id("place"), In: a.where("in")}
		},
	}
}

func probeForm() form {
	return form{
		Kind: book.KindProbe, Title: "Probe put in a place", Verb: "Write it down",
		fields: func(v *visit) []field {
			places := append(options("", nowhere, "nothing: taken out"), v.places(v.asked("place"))...)
			return []field{
				{Name: "probe", Label: "Probe", Type: "select", Options: v.probes()},
				{Name: "place", Label: "Sits in", Type: "select", Options: places},
				{
					Name: "position", Label: "Where exactly", Type: "select", Optional: true,
					Options: options("", "", "an enclosure or the room",
						string(incubation.Substrate), positionWord(incubation.Substrate),
						string(incubation.BoxAir), positionWord(incubation.BoxAir),
						string(incubation.IncubatorAir), positionWord(incubation.IncubatorAir)),
					Hint: "Box air and egg can differ by about " + v.teller().apart(2) +
						", so the estimate is surer beside the eggs.",
				},
				{
					Name: "offset_kelvin", Label: "Add to its value", Optional: true,
					Suffix: v.say.Unit(),
					Mode:   "text", Hint: "From an ice bath or a reference thermometer. Empty: nothing.",
				},
				{
					Name: "accuracy_kelvin", Label: "Then right to within", Optional: true,
					Suffix: v.say.Unit(),
					Mode:   "decimal", Hint: "Of that calibration. Empty: the maker's figure.",
				},
			}
		},
		read: func(a *answers) any {
			return book.ProbeData{
				Probe: a.id("probe"), Place: a.where("place"),
				Position:       incubation.Position(a.text("position")),
				OffsetKelvin:   a.kelvin("offset_kelvin"),
				AccuracyKelvin: a.kelvin("accuracy_kelvin"),
			}
		},
	}
}

func placeForm() form {
	return form{
		Kind: book.KindPlace, Title: "Place set up or renamed", Verb: "Write it down",
		fields: func(v *visit) []field {
			p := placeOf(v.snap, v.asked("place"))
			id, name, kind := "", v.asked("name"), cmp.Or(v.asked("is"), string(incubation.Incubator))
			rack, slot := v.asked("rack"), v.asked("slot")
			if p != nil {
				id, name, kind = p.ID, p.Name, string(p.Kind)
				if p.Slot > 0 {
					rack, slot = p.Rack, strconv.Itoa(p.Slot)
				}
			}
			return []field{
				{
					Name: "name", Label: "Name", Value: name,
					Hint: "As it is written on it: “Box 3”.",
				},
				{Name: "place_kind", Label: "It is", Type: "select", Options: options(kind,
					"incubator", "an incubator", "box", "an egg box", "lay-box", "a lay box",
					"enclosure", "an enclosure", "room", "the room")},
				{
					Name: "rack", Label: "Rack", Value: rack, Optional: true, Half: true,
					Hint: "Of an enclosure.",
				},
				{
					Name: "slot", Label: "Slot in it", Value: slot, Optional: true, Half: true, Mode: "numeric",
					Hint: "1, 2, 3 …: the round goes by it.",
				},
				{
					Name: "place", Label: "Id", Value: id, Optional: true,
					Hint: "Stays for ever. Empty: made from the name.",
				},
				{
					Name: "gone", Label: "Still in use", Type: "select", Optional: true,
					Options: options("", "", "yes", "yes", "no: its history stays"),
				},
			}
		},
		doubt: func(v *visit, data any) []string { return v.sameName("place", data.(book.PlaceData).Place) },
		read: func(a *answers) any {
			d := book.PlaceData{
				Place: cmp.Or(a.text("place"), idFrom(a.text("name"))),
				Kind:  incubation.PlaceKind(a.text("place_kind")), Name: a.text("name"),
				Gone: a.text("gone") == "yes",
			}
			if a.text("slot") != "" {
				d.Rack, d.Slot = a.text("rack"), a.count("slot", 1, 1000)
			} else if a.text("rack") != "" {
				a.blame("slot", "a slot is wanted with its rack: 1 if there is only one")
			}
			return d
		},
	}
}

// nowhere is the answer of someone who takes a thing out; no id holds a dot.
const nowhere = "."

// where is an id, or "" for nowhere; one of them must be chosen.
func (a *answers) where(name string) string {
	if id := a.id(name); id != nowhere {
		return id
	}
	return ""
}

func (v *visit) placeField(label string, kinds ...incubation.PlaceKind) field {
	return field{Name: "place", Label: label, Type: "select", Options: v.places(v.asked("place"),
		kinds...)}
}

// places lists those in use of the kinds; none given: of all.
func (v *visit) places(chosen string, kinds ...incubation.PlaceKind) []option {
	var out []option
	for _, p := range v.snap.Places {
		if len(kinds) == 0 || slices.Contains(kinds, p.Kind) {
			out = append(out, option{p.ID, p.Path, p.ID == chosen})
		}
	}
	return out
}

// probes lists those that wait for a place first.
func (v *visit) probes() []option {
	var waiting, placed []option
	for _, p := range v.snap.Probes {
		o := option{p.ID, p.ID, p.ID == v.asked("probe")}
		if p.Place == "" {
			waiting = append(waiting, o)
			continue
		}
		if in := placeOf(v.snap, p.Place); in != nil {
			o.Text += " · now in " + in.Path
		}
		placed = append(placed, o)
	}
	return append(waiting, placed...)
}
