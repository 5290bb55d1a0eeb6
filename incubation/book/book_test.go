package book_test

import (
	"encoding/json"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// day gives noon of the n-th day of the tests' season.
func day(n float64) time.Time {
	return time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC).Add(
		time.Duration(n * 24 * float64(time.Hour)))
}

// at makes an entry about day n; its sequence is given by number.
func at(n float64, kind book.Kind, data any) book.Entry {
	raw, err := json.Marshal(data)
	if err != nil {
		panic(err)
	}
	return book.Entry{At: day(n), Made: day(n), Zone: "Europe/Berlin", Kind: kind, Data: raw}
}

// number gives the entries sequences in the order they stand in.
func number(entries ...book.Entry) []book.Entry {
	for i := range entries {
		entries[i].Seq = uint64(i + 1)
	}
	return entries
}

// room is an incubator with two boxes, an enclosure with its lay box, and a
// female: entries 1 to 9.
func room() []book.Entry {
	return number(
		at(0, book.KindPlace, book.PlaceData{Place: "room", Kind: incubation.Room, Name: "Room"}),
		at(0, book.KindPlace, book.PlaceData{Place: "warm", Kind: incubation.Incubator, Name: "Warm"}),
		at(0, book.KindPlace, book.PlaceData{Place: "box-1", Kind: incubation.Box, Name: "Box 1"}),
		at(0, book.KindPlace, book.PlaceData{Place: "box-2", Kind: incubation.Box, Name: "Box 2"}),
		at(0, book.KindPlace, book.PlaceData{Place: "pen", Kind: incubation.Enclosure, Name: "Pen"}),
		at(0, book.KindPlace, book.PlaceData{Place: "lay", Kind: incubation.LayBox, Name: "Lay box"}),
		at(0, book.KindStand, book.StandData{Place: "box-1", In: "warm"}),
		at(0, book.KindStand, book.StandData{Place: "lay", In: "pen"}),
		at(0, book.KindFemale, book.FemaleData{Female: "f-1", Name: "Saffron"}),
	)
}

// corrects has an entry stand for an earlier one.
func corrects(seq uint64, e book.Entry) book.Entry {
	e.Replaces = seq
	return e
}

// laid is the room with a clutch of two, found on day 2 and set in box 1 on
// day 3: entries 10 to 12.
func laid(more ...book.Entry) []book.Entry {
	return number(append(append(room(),
		at(2, book.KindLaying, book.LayingData{
			Clutch: "c-1", Female: "f-1", From: day(1),
			To: day(2), Place: "lay",
			Eggs: []book.EggName{{Egg: "c-1-a", Mark: "A"}, {Egg: "c-1-b", Mark: "B"}},
		}),
		at(3, book.KindEgg, book.EggData{Egg: "c-1-a", Box: "box-1"}),
		at(3, book.KindEgg, book.EggData{Egg: "c-1-b", Box: "box-1"})), more...)...)
}

// folded folds entries that are all expected to count.
func folded(t *testing.T, entries []book.Entry) *book.State {
	t.Helper()
	s := book.Fold(entries)
	for _, p := range s.Problems {
		t.Errorf("unexpected: %s", p)
	}
	return s
}
