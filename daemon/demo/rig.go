package demo

import (
	"math"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors"
	"clutchd/sensors/simulated"
)

// The invented room: every size is chosen, none is measured. Two cabinets, one
// for females and one for males; each shelf is a little warmer than the one
// below it, and no dial tells quite the truth.

// StuckIncubator is the cabinet whose thermostat sticks when the story goes
// live.
const StuckIncubator = cool

const (
	roomID = "room"
	cool   = "window-cabinet"
	warm   = "corner-cabinet"

	coolSetpoint  = 28.0
	firstSetpoint = 31.2 // of the warm cabinet, for the first weeks
	warmSetpoint  = 31.9
	// turnedUp is how many days ago the warm cabinet got its present setpoint.
	turnedUp = 88
)

// A tub is an egg box, with the probe that lies in it.
type tub struct {
	place, name, in string
	shelf           float64 // K, as simulated.Tub.Shelf
	probe           model   // zero: none lies in it
	bias            float64
}

// A model is a make of sensor as far as readings show it.
type model struct {
	name       string
	has        incubation.Quantity
	position   incubation.Position
	accuracy   float64
	resolution float64
	noise      float64
}

var (
	wire = model{"ds18b20", incubation.Temperature, incubation.Substrate, 0.5, 0.0625, 0.03}
	air  = model{
		"sht31", incubation.Temperature | incubation.RelativeHumidity,
		incubation.BoxAir, 0.2, 0.01, 0.02,
	}
)

var tubs = []tub{
	{"box-1", "Box 1", cool, 0.3, wire, 0.21},
	{"box-2", "Box 2", cool, 0.5, air, -0.08},
	{"box-3", "Box 3", cool, 0.7, wire, -0.33},
	{"box-4", "Box 4", cool, 0.9, wire, 0.12},
	{"box-5", "Box 5", cool, 1.2, model{}, 0},
	{"box-6", "Box 6", warm, 0.4, wire, 0.27},
	{"box-7", "Box 7", warm, 0.7, air, 0.05},
	{"box-8", "Box 8", warm, 0.72, wire, -0.16},
}

var pens = []string{"1", "2", "3", "4"}

// celsius is what a box usually is at, n days ago: the cabinet's true
// temperature and the shelf's offset in a room of usual warmth.
func (b tub) celsius(ago float64) float64 {
	c := coolSetpoint + coolDial
	if b.in == warm {
		c = warmSetpoint + warmDial
		if ago > turnedUp {
			c = firstSetpoint + warmDial
		}
	}
	return c + b.shelf*(c-usualRoom)/8
}

const (
	coolDial  = -0.3
	warmDial  = -0.2
	usualRoom = 22.3
)

// rig gives what the room is made of, for the model.
func (s *story) rig() simulated.Spec {
	_, offset := s.now.In(s.zone).Zone()
	local := func(hour float64) float64 { return hour - float64(offset)/3600 }
	spec := simulated.Spec{
		Interval: 10 * time.Second,
		Coarse:   10 * time.Minute,
		Weather: simulated.Weather{
			Place: roomID, Mean: 21.5, Swing: 1.3, Peak: local(16),
			Drift: 0.016, From: s.start, Moods: 0.6,
			Air: simulated.Air{Humidity: 0.46, Usual: 22, PerKelvin: -0.02},
		},
		Cabinets: []simulated.Cabinet{
			{
				Place: cool, DialError: coolDial, Hysteresis: 0.4, Watts: 40, Losses: 1.2,
				Capacity: 6480, Settings: []simulated.Setting{{From: s.start, Celsius: coolSetpoint}},
				Air: simulated.Air{Humidity: 0.6, Usual: 28, PerKelvin: -0.02},
			},
			{
				Place: warm, DialError: warmDial, Watts: 60, Losses: 1.1, Capacity: 7260,
				Settings: []simulated.Setting{
					{From: s.start, Celsius: firstSetpoint},
					{From: s.turned(), Celsius: warmSetpoint},
				},
				Air: simulated.Air{Humidity: 0.58, Usual: 32, PerKelvin: -0.02},
			},
		},
		Faults: s.mishaps(),
	}
	spec.Contacts = []simulated.Contact{
		{Contact: sensors.Contact{ID: mainsContact, Kind: incubation.Mains}, Place: roomID},
		{ // somebody looks in every evening; at the cabinet whose thermostat does not stick
			Contact: sensors.Contact{ID: doorContact, Kind: incubation.Door}, Place: warm,
			Hour: math.Mod(local(19)+24, 24), For: 2 * time.Minute,
		},
	}
	s.enclosures(&spec, local(8))
	for _, b := range tubs {
		spec.Tubs = append(spec.Tubs, simulated.Tub{
			Place: b.place, In: b.in, Shelf: b.shelf,
			Lag: 35 * time.Minute, Air: simulated.Air{Humidity: 0.92, Usual: 30, PerKelvin: -0.01},
		})
		if b.probe.name != "" {
			spec.Probes = append(spec.Probes, b.probe.in(b.place, b.bias))
		}
	}
	window, corner, middle := air.in(cool, 0.06), air.in(warm, -0.04), air.in(roomID, 0)
	window.Position, corner.Position, middle.Position =
		incubation.IncubatorAir, incubation.IncubatorAir, ""
	// Found by the daemon, and still waiting to be given a place.
	spare := wire.in(roomID, -0.1)
	spare.ID, spare.Position = spareProbe, ""
	spec.Probes = append(spec.Probes, window, corner, middle, spare)
	return spec
}

// The room's contacts. Its mains go with the breaker: see mishaps.
const (
	mainsContact = "mains"
	doorContact  = "corner-door"
)

// spareProbe is in the room, and in no place of the book.
const spareProbe = "probe-spare"

func (s *story) enclosures(spec *simulated.Spec, dawn float64) {
	for i, n := range pens {
		spec.Enclosures = append(spec.Enclosures, simulated.Enclosure{
			Place:   "enclosure-" + n,
			DayRise: 6.2 + 0.3*float64(i), NightRise: 1.5, Dawn: dawn, Lag: 25 * time.Minute,
			Air: simulated.Air{Humidity: 0.4, Usual: 26, PerKelvin: -0.015},
		})
		spec.Tubs = append(spec.Tubs, simulated.Tub{
			Place: "lay-box-" + n, In: "enclosure-" + n,
			Lag: 40 * time.Minute, Air: simulated.Air{Humidity: 0.88, Usual: 26, PerKelvin: -0.01},
		})
		p := wire.in("enclosure-"+n, 0.1)
		p.Position = ""
		spec.Probes = append(spec.Probes, p)
	}
}

// in gives a probe of the model in a place, named for it.
func (m model) in(place string, bias float64) simulated.Probe {
	return simulated.Probe{
		Probe: sensors.Probe{
			ID: "probe-" + place, Model: m.name, Has: m.has,
			Accuracy: m.accuracy, Resolution: m.resolution,
		},
		Place: place, Position: m.position, Bias: bias, Noise: m.noise,
	}
}

// turned is when the warm cabinet got its present setpoint.
func (s *story) turned() time.Time { return s.look(turnedUp, evening) }

// mishaps gives what went wrong in the season, and is in its record: a breaker
// that tripped one night, and a probe that was unplugged for most of a day.
func (s *story) mishaps() []simulated.Fault {
	trip, pulled := s.look(41, 2*time.Hour), s.look(19, evening)
	return []simulated.Fault{
		{Kind: simulated.Tripped, From: trip, To: trip.Add(100 * time.Minute)},
		{Kind: simulated.Dead, Subject: "probe-box-6", From: pulled, To: pulled.Add(15 * time.Hour)},
	}
}

// furnish writes the room into the book: places, what stands where, probes
// with what their ice bath told, setpoints, limits.
func (s *story) furnish() {
	t := s.start
	s.place(book.PlaceData{Place: roomID, Kind: incubation.Room, Name: "Gecko room"}, "")
	s.place(book.PlaceData{Place: cool, Kind: incubation.Incubator, Name: "Window cabinet"}, roomID)
	s.place(book.PlaceData{Place: warm, Kind: incubation.Incubator, Name: "Corner cabinet"}, roomID)
	for _, b := range tubs {
		s.place(book.PlaceData{Place: b.place, Kind: incubation.Box, Name: b.name}, b.in)
	}
	for _, n := range pens {
		pen, box := "enclosure-"+n, "lay-box-"+n
		s.place(book.PlaceData{
			Place: pen, Kind: incubation.Enclosure, Name: "Enclosure " + n,
			Rack: slots[n].rack, Slot: slots[n].slot,
		}, roomID)
		s.place(book.PlaceData{Place: box, Kind: incubation.LayBox, Name: "Lay box " + n}, pen)
	}
	s.write(t, book.KindSetpoint, book.SetpointData{Place: cool, Celsius: coolSetpoint})
	s.write(t, book.KindSetpoint, book.SetpointData{Place: warm, Celsius: firstSetpoint})
	s.write(s.turned(), book.KindSetpoint, book.SetpointData{Place: warm, Celsius: warmSetpoint})
	for _, n := range pens {
		low, high := incubation.Celsius(18), incubation.Celsius(36)
		s.write(t, book.KindLimits,
			book.LimitsData{Place: "enclosure-" + n, LowCelsius: &low, HighCelsius: &high})
	}
	s.probes(t)
	for _, c := range s.spec.Contacts {
		s.write(t, book.KindContact, book.ContactData{Contact: c.ID, Kind: c.Kind, Place: c.Place})
	}
}

// place sets a place up at the story's start, standing in another.
func (s *story) place(d book.PlaceData, in string) {
	s.write(s.start, book.KindPlace, d)
	if in != "" {
		s.write(s.start, book.KindStand, book.StandData{Place: d.Place, In: in})
	}
}

// probes puts the probes into their places. Those that lie beside eggs were in
// an ice bath: their offset takes the bias back but for a twentieth kelvin.
func (s *story) probes(t time.Time) {
	for _, p := range s.spec.Probes {
		if p.ID == spareProbe {
			continue
		}
		d := book.ProbeData{Probe: p.ID, Place: p.Place, Position: p.Position}
		if p.Position == incubation.Substrate {
			d.OffsetKelvin, d.AccuracyKelvin = -p.Bias+0.05, 0.15
		}
		s.write(t, book.KindProbe, d)
	}
	s.write(t, book.KindNote, book.NoteData{Text: "All wired probes an hour in crushed ice; " +
		"their offsets are in the book."})
}
