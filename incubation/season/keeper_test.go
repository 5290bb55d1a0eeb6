package season_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/season"
)

// A keeper writes a book for a test. Days are written "2026-03-12"; things
// happen at noon UTC.
type keeper struct {
	t       *testing.T
	entries []book.Entry
}

// keeps begins a book with two females in a rack, a male, an incubator with a
// box, and a lay box in the first enclosure.
func keeps(t *testing.T) *keeper {
	k := &keeper{t: t}
	k.room()
	k.animal("saffron", incubation.Female, "2023-05-01", "rack-1")
	k.animal("pumice", incubation.Female, "2022", "rack-2")
	k.animal("flint", incubation.Male, "2022-06", "rack-3")
	return k
}

func (k *keeper) room() {
	k.add(begin, book.KindPlace, book.PlaceData{Place: "cabinet", Kind: incubation.Incubator, Name: "Cabinet"})
	k.add(begin, book.KindPlace, book.PlaceData{Place: "box-1", Kind: incubation.Box, Name: "Box 1"})
	k.add(begin, book.KindPlace, book.PlaceData{Place: "box-2", Kind: incubation.Box, Name: "Box 2"})
	k.add(begin, book.KindStand, book.StandData{Place: "box-1", In: "cabinet"})
	k.add(begin, book.KindStand, book.StandData{Place: "box-2", In: "cabinet"})
	for i, id := range []string{"rack-1", "rack-2", "rack-3", "rack-4"} {
		k.add(begin, book.KindPlace, book.PlaceData{
			Place: id, Kind: incubation.Enclosure, Name: fmt.Sprintf("Slot %d", i+1), Rack: "A", Slot: i + 1,
		})
	}
	k.add(begin, book.KindPlace, book.PlaceData{Place: "lay-1", Kind: incubation.LayBox, Name: "Lay box 1"})
	k.add(begin, book.KindStand, book.StandData{Place: "lay-1", In: "rack-1"})
}

const begin = "2023-01-01"

// add writes an entry at noon of a day, or at a time of it: "2026-03-12 08:00".
func (k *keeper) add(day string, kind book.Kind, data any) {
	k.t.Helper()
	raw, err := json.Marshal(data)
	if err != nil {
		k.t.Fatal(err)
	}
	at := on(day)
	k.entries = append(k.entries, book.Entry{
		Seq: uint64(len(k.entries) + 1), At: at, Made: at, Zone: "UTC", Kind: kind, Data: raw,
	})
}

func on(day string) time.Time {
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02"} {
		if t, err := time.Parse(layout, day); err == nil {
			if layout == "2006-01-02" {
				t = t.Add(12 * time.Hour)
			}
			return t
		}
	}
	panic(day)
}

func (k *keeper) animal(id, sex, hatched, enclosure string) {
	k.t.Helper()
	k.add(begin, book.KindAnimal, book.AnimalData{Animal: id, Name: name(id), Sex: sex, Hatched: hatched})
	if enclosure != "" {
		k.add(begin, book.KindHoused, book.HousedData{Animal: id, Enclosure: enclosure})
	}
}

func name(id string) string { return string(id[0]-'a'+'A') + id[1:] }

// seen is what a check shows: "follicular large both", "gravid", "quiet".
func (k *keeper) check(day, female string, stage incubation.Stage, size string, signs ...incubation.Sign) {
	k.t.Helper()
	d := book.CheckedData{Animal: female, Stage: stage, Size: size, Signs: signs}
	if stage == incubation.Follicular {
		d.Sides = incubation.BothSide
	}
	k.add(day, book.KindChecked, d)
}

func (k *keeper) pair(day, female, male string, how incubation.Reception) {
	k.t.Helper()
	k.add(day, book.KindPaired, book.PairedData{Female: female, Male: male, Outcome: how})
}

// lays writes a clutch of two, seen being laid at noon, and sets it in box 1.
func (k *keeper) lays(day, female, clutch string) {
	k.t.Helper()
	k.add(day, book.KindLaying, book.LayingData{
		Clutch: clutch, Female: female, From: on(day), To: on(day),
		Eggs: []book.EggName{{Egg: clutch + "-a", Mark: "A"}, {Egg: clutch + "-b", Mark: "B"}},
	})
	for _, e := range []string{"-a", "-b"} {
		k.add(day, book.KindEgg, book.EggData{Egg: clutch + e, Box: "box-1"})
	}
}

// state folds what was written; every entry must count.
func (k *keeper) state() *book.State {
	k.t.Helper()
	s := book.Fold(k.entries)
	for _, p := range s.Problems {
		k.t.Errorf("the test's book: %s", p)
	}
	return s
}

func (k *keeper) look(day string, o ...season.Options) *season.Herd {
	k.t.Helper()
	return season.Look(k.state(), on(day), append(o, season.Options{})[0])
}

// due gives the items of a kind, "" for all, about an animal, "" for any.
func due(h *season.Herd, kind season.Kind, animal string) []season.Item {
	return slices.DeleteFunc(h.Due(), func(i season.Item) bool {
		return kind != "" && i.Kind != kind || animal != "" && !slices.Contains(i.Animals, animal)
	})
}
