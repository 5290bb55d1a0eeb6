package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// openHerd is the invented room with its herd; what goes through its door is
// in the book at once.
func openHerd(t testing.TB, change ...func(*web.Options)) *site {
	t.Helper()
	entries := herd(t)
	var s *site
	s = open(t, append([]func(*web.Options){func(o *web.Options) {
		o.Door = pass{&s}
		o.Entries = func(uint64) []book.Entry { return s.snap.Book.Entries }
	}}, change...)...)
	s.snap = today(t, entries)
	s.door.state = s.snap.Book
	return s
}

// pass is a door behind which the book goes on.
type pass struct{ s **site }

func (p pass) Do(ctx context.Context, c monitor.Change) (monitor.Done, error) {
	s := *p.s
	done, err := s.door.Do(ctx, c)
	if err != nil || done.Duplicate || c.Entry == nil {
		return done, err
	}
	done.Entry.Made = s.snap.Time
	next := *s.snap
	next.Book = s.snap.Book.With(done.Entry)
	s.snap, s.door.state = &next, next.Book
	return done, nil
}

// herd adds animals to the invented room: three females in racks, one male
// kept apart, a young one, what was seen of them and what they weigh.
func herd(t testing.TB) []book.Entry {
	t.Helper()
	out := invented(t)
	write := func(at time.Time, kind book.Kind, data any) {
		text, err := json.Marshal(data)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, book.Entry{
			Seq: uint64(len(out) + 1), At: at, Made: at, Zone: "Europe/Berlin", By: "page", Kind: kind, Data: text,
		})
	}
	for i, rack := range []string{"North rack", "North rack", "South rack", "South rack"} {
		id := fmt.Sprintf("tub-%d", i+1)
		write(days(-76), book.KindPlace, book.PlaceData{
			Place: id, Kind: incubation.Enclosure, Name: fmt.Sprintf("Tub %d", i+1), Rack: rack, Slot: i%2 + 1,
		})
	}
	for i, a := range []book.AnimalData{
		{Animal: "f-pepper", Hatched: "2023-05", Note: "Dark belly: use the lamp."},
		{Animal: "f-saffron", Hatched: "2022"},
		{Animal: "f-juniper", AgeClass: incubation.Adult},
		{Animal: "m-oak", Name: "Oak", Sex: incubation.Male, Hatched: "2022-07-11"},
		{Animal: "m-flint", Name: "Flint", Sex: incubation.Male},
		{Animal: "k0", Name: "No. 17", Dam: "f-saffron", Sire: "m-oak", Hatched: "2026-02-03"},
	} {
		write(days(-75).Add(time.Duration(i)*time.Minute), book.KindAnimal, a)
	}
	for _, h := range [][2]string{{"f-saffron", "tub-1"}, {"f-pepper", "tub-3"}, {"f-juniper", "tub-2"}, {"m-oak", "tub-4"}} {
		write(days(-74), book.KindHoused, book.HousedData{Animal: h[0], Enclosure: h[1]})
	}
	write(days(-6), book.KindQuarantine, book.QuarantineData{Animal: "m-flint", Until: noon.Truncate(24 * time.Hour).Add(40*24*time.Hour - 2*time.Hour - time.Minute), Why: "new here"})
	look := func(ago float64, animal string, stage incubation.Stage, more ...func(*book.CheckedData)) {
		d := book.CheckedData{Animal: animal, Stage: stage}
		for _, f := range more {
			f(&d)
		}
		write(days(-ago), book.KindChecked, d)
	}
	grown := func(size, sides string) func(*book.CheckedData) {
		return func(d *book.CheckedData) { d.Size, d.Sides = size, sides }
	}
	look(72, "f-pepper", incubation.Gravid)
	look(69, "f-pepper", incubation.Laid)
	look(60, "f-pepper", incubation.Quiet)
	look(45, "f-pepper", incubation.Follicular, grown(incubation.Small, incubation.OneSide))
	look(38, "f-pepper", incubation.Follicular, grown(incubation.Large, incubation.BothSide))
	look(30, "f-pepper", incubation.Unsure)
	look(18, "f-pepper", incubation.Shelling)
	look(9, "f-pepper", incubation.Gravid, func(d *book.CheckedData) { d.Signs = []incubation.Sign{incubation.Digging} })
	look(40, "f-saffron", incubation.Gravid)
	look(20, "f-saffron", incubation.Resorbed)
	look(5, "f-saffron", incubation.Follicular, grown(incubation.Small, incubation.BothSide))
	for _, p := range []struct {
		ago     float64
		male    string
		outcome incubation.Reception
	}{{45, "m-oak", incubation.Refused}, {38, "m-oak", incubation.Accepted}, {31, "m-oak", incubation.Unseen}} {
		write(days(-p.ago), book.KindPaired, book.PairedData{Female: "f-pepper", Male: p.male, Outcome: p.outcome})
	}
	for i, g := range []float64{61, 63.5, 66, 58.5, 60, 55} {
		write(days(float64(-70+13*i)), book.KindWeighed, book.WeighedData{Animal: "f-pepper", Grams: g})
	}
	write(days(-3), book.KindWeighed, book.WeighedData{Animal: "m-oak", Grams: 72})
	write(days(-3), book.KindTreated, book.TreatedData{Animal: "f-saffron", What: "calcium by mouth, 0.1 ml"})
	return out
}
