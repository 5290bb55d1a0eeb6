package web_test

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// many is a herd of so many females over three seasons: each is looked at
// every week, weighed every two, paired and laying six times a season.
func many(t testing.TB, females int) []book.Entry {
	t.Helper()
	out := invented(t)
	write := func(at time.Time, kind book.Kind, data any) {
		text, err := json.Marshal(data)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, book.Entry{
			Seq: uint64(len(out) + 1), At: at, Made: at, Zone: "Europe/Berlin", Kind: kind, Data: text,
		})
	}
	write(days(-1100), book.KindAnimal, book.AnimalData{Animal: "m-1", Name: "Oak", Sex: incubation.Male})
	stages := []book.CheckedData{
		{Stage: incubation.Quiet},
		{Stage: incubation.Follicular, Size: incubation.Small, Sides: incubation.BothSide},
		{Stage: incubation.Follicular, Size: incubation.Large, Sides: incubation.BothSide},
		{Stage: incubation.Gravid},
	}
	for i := range females {
		id, tub := fmt.Sprintf("f-%d", i+1), fmt.Sprintf("enc-%d", i+1)
		name := fmt.Sprintf("Female %d", i+1)
		if i%37 == 5 {
			name = "Wilhelmine-Charlotte of the lower shelf, daughter of Ottilie"
		}
		write(days(-1100), book.KindPlace, book.PlaceData{
			Place: tub, Kind: incubation.Enclosure, Name: fmt.Sprintf("Tub %d", i+1), Rack: fmt.Sprintf("Rack %d", i/20+1), Slot: i%20 + 1,
		})
		write(days(-1100), book.KindAnimal, book.AnimalData{Animal: id, Name: name, Sex: incubation.Female, Hatched: "2021"})
		write(days(-1099), book.KindHoused, book.HousedData{Animal: id, Enclosure: tub})
		for week := range 3 * 52 {
			at := days(-1095 + 7*float64(week)).Add(time.Duration(i) * time.Minute)
			d := stages[(week+i)%len(stages)]
			d.Animal = id
			write(at, book.KindChecked, d)
			if week%2 == 0 {
				write(at, book.KindWeighed, book.WeighedData{Animal: id, Grams: 55 + float64((week*7+i)%9)})
			}
			if week%52 < 26 && week%4 == 0 {
				write(at, book.KindPaired, book.PairedData{Female: id, Male: "m-1", Outcome: incubation.Accepted})
			}
			if week%52 < 26 && week%4 == 2 {
				c := fmt.Sprintf("%s-%d", id, week)
				write(at, book.KindLaying, book.LayingData{
					Clutch: c, Female: id, From: at.Add(-time.Hour), To: at,
					Eggs: []book.EggName{{Egg: c + "-a", Mark: "A"}, {Egg: c + "-b", Mark: "B"}},
				})
				for _, egg := range []string{"-a", "-b"} {
					write(at.Add(55*24*time.Hour), book.KindHatch, book.HatchData{Egg: c + egg})
				}
			}
		}
	}
	return out
}
