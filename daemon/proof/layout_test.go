package proof_test

import (
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors"
	"clutchd/sensors/simulated"
)

// The invented room: two cabinets with boxes, an enclosure, the room. Sizes
// are chosen, none is measured but the noise. Box 3 and the cabinets' air tell
// humidity. Names of places are those of the book.
const (
	room = "room"
	cool = "cool-cabinet" // on/off thermostat
	warm = "warm-cabinet" // proportional one
	pen  = "pen"
)

// setpoints are what the dials say.
func setpoints() map[string]float64 { return map[string]float64{cool: 28, warm: 31.5} }

// A spot is where a probe is, and how it is read.
type spot struct {
	place    string
	position incubation.Position
	bias     float64 // of the chip, K
	offset   float64 // from its ice bath: takes most of the bias back
	kind     string  // of its wire: w1, w1b (a second master), sht31, bme280, hwmon, mqtt, battery
	name     string  // serial, address or id
}

// spots lists the room's probes.
func spots() []spot {
	return []spot{
		{"box-1", incubation.Substrate, 0.21, -0.16, "w1", "28-0316a2797c01"},
		{"box-2", incubation.Substrate, -0.33, 0.28, "w1", "28-0316a2797c02"},
		{"box-3", incubation.BoxAir, 0.05, 0, "sht31", "0x45"},
		{"box-4", incubation.Substrate, 0.12, -0.17, "w1", "28-0316a2797c04"},
		{"box-4", incubation.Substrate, -0.11, 0.1, "w1", "28-0316a2797c05"},
		{"box-5", incubation.BoxAir, 0.1, 0, "bme280", "0x76"},
		{cool, incubation.IncubatorAir, -0.04, 0, "sht31", "0x44"},
		{warm, incubation.IncubatorAir, 0.06, 0, "battery", "warm-air"},
		{pen, "", 0.1, 0, "w1b", "28-0316a2797c08"},
		{room, "", 0, 0, "hwmon", "1-0046"},
		{"lay-box", "", 0, 0, "mqtt", "lay-box"},
	}
}

// model gives the room's physics from a time on.
func model(start time.Time, beat time.Duration) simulated.Spec {
	set := func(place string) []simulated.Setting {
		return []simulated.Setting{{From: start, Celsius: setpoints()[place]}}
	}
	spec := simulated.Spec{
		Interval: beat,
		Weather: simulated.Weather{
			Place: room, Mean: 21.5, Swing: 1.3, Peak: 15, Moods: 0.8,
			Air: simulated.Air{Humidity: 0.46, Usual: 22, PerKelvin: -0.02},
		},
		Cabinets: []simulated.Cabinet{
			{
				Place: cool, DialError: -0.1, Hysteresis: 0.3, Feeler: 2 * time.Minute,
				Watts: 40, Losses: 1.2, Capacity: 6480, Settings: set(cool),
				Air: simulated.Air{Humidity: 0.6, Usual: 28, PerKelvin: -0.02},
			},
			{
				Place: warm, DialError: 0.1, Watts: 60, Losses: 1.1, Capacity: 7260, Settings: set(warm),
				Air: simulated.Air{Humidity: 0.58, Usual: 32, PerKelvin: -0.02},
			},
		},
		Enclosures: []simulated.Enclosure{{
			Place: pen, DayRise: 7, NightRise: 1.5, Dawn: 8, Lag: 25 * time.Minute,
			Air: simulated.Air{Humidity: 0.4, Usual: 26, PerKelvin: -0.015},
		}},
	}
	tub := func(place, in string, shelf float64) {
		spec.Tubs = append(spec.Tubs, simulated.Tub{
			Place: place, In: in, Shelf: shelf, Lag: 35 * time.Minute,
			Air: simulated.Air{Humidity: 0.92, Usual: 30, PerKelvin: -0.01},
		})
	}
	tub("box-1", cool, 0.3)
	tub("box-2", cool, 0.9)
	tub("box-3", cool, 0.6)
	tub("box-4", warm, 0.3)
	tub("box-5", warm, 0.5)
	tub("lay-box", pen, 0)
	return spec
}

// furnish writes the room into the book, as of now.
func (h *house) furnish() {
	h.place(room, incubation.Room, "Gecko room", "")
	h.place(cool, incubation.Incubator, "Cool cabinet", room)
	h.place(warm, incubation.Incubator, "Warm cabinet", room)
	h.place(pen, incubation.Enclosure, "Enclosure", room)
	h.place("lay-box", incubation.LayBox, "Lay box", pen)
	for i, in := range []string{cool, cool, cool, warm, warm} {
		n := string(rune('1' + i))
		h.place("box-"+n, incubation.Box, "Box "+n, in)
	}
	for place, c := range setpoints() {
		h.enterAt(h.wall().Add(-400*24*time.Hour), book.KindSetpoint, book.SetpointData{Place: place, Celsius: incubation.Celsius(c)})
	}
	low, high := incubation.Celsius(16), incubation.Celsius(36)
	h.enter(book.KindLimits, book.LimitsData{Place: pen, LowCelsius: &low, HighCelsius: &high})
	for _, w := range h.wires {
		h.put(w.id, w.spot)
	}
	long := h.wall().Add(-400 * 24 * time.Hour)
	h.enterAt(long, book.KindFemale, book.FemaleData{Female: "fern", Name: "Fern"})
	h.enterAt(long, book.KindFemale, book.FemaleData{Female: "ivy", Name: "Ivy"})
}

func (h *house) place(id string, kind incubation.PlaceKind, name, in string) {
	long := h.wall().Add(-400 * 24 * time.Hour)
	h.enterAt(long, book.KindPlace, book.PlaceData{Place: id, Kind: kind, Name: name})
	if in != "" {
		h.enterAt(long, book.KindStand, book.StandData{Place: id, In: in})
	}
}

// put writes a probe into its place.
func (h *house) put(probe string, s spot) {
	d := book.ProbeData{Probe: probe, Place: s.place, Position: s.position}
	if s.offset != 0 {
		d.OffsetKelvin, d.AccuracyKelvin = s.offset, 0.15
	}
	h.enter(book.KindProbe, d)
}

// lay enters a clutch of two that was found so long ago, into two boxes.
func (h *house) lay(clutch, female string, ago time.Duration, boxes ...string) {
	found := h.wall().Add(-ago)
	var eggs []book.EggName
	for i := range boxes {
		mark := string(rune('A' + i))
		eggs = append(eggs, book.EggName{Egg: clutch + "-" + string(rune('a'+i)), Mark: mark})
	}
	h.enterAt(found, book.KindLaying, book.LayingData{
		Clutch: clutch, Female: female, From: found.Add(-12 * time.Hour), To: found, Eggs: eggs,
	})
	for i, box := range boxes {
		h.enterAt(found.Add(time.Minute), book.KindEgg, book.EggData{Egg: eggs[i].Egg, Box: box})
	}
}

// spoken says what a probe of the model is: no noise and no steps, which its
// chip adds.
func spoken(id string, s spot) simulated.Probe {
	return simulated.Probe{
		Probe: sensors.Probe{ID: id, Has: incubation.Temperature | incubation.RelativeHumidity},
		Place: s.place, Position: s.position, Bias: s.bias,
	}
}
