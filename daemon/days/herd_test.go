package days_test

import (
	"fmt"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

const day = 24 * time.Hour

// names are of twenty invented females, in the order of their rack.
var names = [20]string{
	"Pepper", "Saffron", "Juniper", "Nutmeg", "Clove", "Sorrel", "Tansy", "Bramble", "Hazel", "Fern",
	"Maple", "Olive", "Pebble", "Quince", "Rowan", "Sable", "Thistle", "Umber", "Violet", "Willow",
}

// breeder is a small room in its season: two cabinets, three boxes, twenty
// females in a rack, three clutches that lie.
func breeder() story {
	return story{
		world: newWorld(map[string]float64{
			"w1-28-00a1": 31.6, "w1-28-00a2": 31.4, "w1-28-00a3": 31.5, "w1-28-00b1": 28.1, "w1-28-00b2": 27.9,
		}),
		tell: func(write teller) {
			places(write)
			herd(write)
			clutch(write, "k1", "pepper", 30, "box-3", "box-3")
			clutch(write, "k2", "saffron", 12, "box-1", "box-1")
			clutch(write, "k3", "juniper", 5, "box-1", "box-3")
		},
	}
}

// stable is the same room before its first clutch: a day about animals needs no
// estimates, which cost more than all else.
func stable() story {
	s := breeder()
	s.tell = func(write teller) {
		places(write)
		herd(write)
	}
	return s
}

func places(write teller) {
	for _, p := range []book.PlaceData{
		{Place: "oak", Kind: incubation.Incubator, Name: "Oak cabinet"},
		{Place: "tin", Kind: incubation.Incubator, Name: "Tin cabinet"},
		{Place: "box-1", Kind: incubation.Box, Name: "Box 1"},
		{Place: "box-2", Kind: incubation.Box, Name: "Box 2"},
		{Place: "box-3", Kind: incubation.Box, Name: "Box 3"},
	} {
		write(90*day, book.KindPlace, p)
	}
	for _, p := range [][2]string{{"box-1", "oak"}, {"box-2", "oak"}, {"box-3", "tin"}} {
		write(89*day, book.KindStand, book.StandData{Place: p[0], In: p[1]})
	}
	write(89*day, book.KindSetpoint, book.SetpointData{Place: "oak", Celsius: 31.5})
	write(89*day, book.KindSetpoint, book.SetpointData{Place: "tin", Celsius: 28})
	for _, p := range []book.ProbeData{
		{Probe: "w1-28-00a1", Place: "oak", Position: incubation.IncubatorAir},
		{Probe: "w1-28-00a2", Place: "box-1", Position: incubation.Substrate},
		{Probe: "w1-28-00a3", Place: "box-2", Position: incubation.Substrate},
		{Probe: "w1-28-00b1", Place: "tin", Position: incubation.IncubatorAir},
		{Probe: "w1-28-00b2", Place: "box-3", Position: incubation.Substrate},
	} {
		write(88*day, book.KindProbe, p)
	}
}

func herd(write teller) {
	for i, name := range names {
		id, pen := strings.ToLower(name), fmt.Sprintf("pen-%d", i+1)
		write(87*day, book.KindPlace, book.PlaceData{
			Place: pen, Kind: incubation.Enclosure, Name: fmt.Sprintf("Enclosure %d", i+1), Rack: "Left", Slot: i + 1,
		})
		write(86*day, book.KindAnimal, book.AnimalData{Animal: id, Name: name, Sex: incubation.Female, Hatched: "2023-05"})
		write(85*day, book.KindHoused, book.HousedData{Animal: id, Enclosure: pen})
	}
	write(86*day, book.KindAnimal, book.AnimalData{Animal: "basil", Name: "Basil", Sex: incubation.Male, Hatched: "2022"})
}

func clutch(write teller, id, female string, daysAgo float64, boxes ...string) {
	ago := time.Duration(daysAgo * float64(day))
	found := time.Now().Add(-ago - time.Minute) // before it was written down
	d := book.LayingData{Clutch: id, Female: female, From: found.Add(-12 * time.Hour), To: found}
	for i := range boxes {
		mark := string(rune('A' + i))
		d.Eggs = append(d.Eggs, book.EggName{Egg: id + "-" + strings.ToLower(mark), Mark: mark})
	}
	write(ago, book.KindLaying, d)
	for i, b := range boxes {
		write(ago-time.Hour, book.KindEgg, book.EggData{Egg: d.Eggs[i].Egg, Box: b})
	}
}
