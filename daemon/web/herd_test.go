package web_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A kept is a door that folds what comes through it, so that the next page
// shows it, as the monitor's does.
type kept struct {
	mu      sync.Mutex
	snap    *monitor.Snapshot
	entries []book.Entry
}

func (k *kept) Do(_ context.Context, c monitor.Change) (monitor.Done, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if c.Entry == nil {
		return monitor.Done{}, errors.New("this door takes entries")
	}
	e := *c.Entry
	for _, old := range k.entries {
		if e.Request != "" && old.Request == e.Request {
			return monitor.Done{Entry: old, Duplicate: true}, nil
		}
	}
	if e.At.IsZero() {
		e.At = k.snap.Time
	}
	e.Made = k.snap.Time
	if err := book.Check(k.snap.Book, e); err != nil {
		p, ok := errors.AsType[*book.Problem](err)
		if !ok {
			return monitor.Done{}, err
		}
		return monitor.Done{}, &monitor.Refusal{Field: p.Field, Text: p.Text}
	}
	k.write(e.At, e)
	return monitor.Done{Entry: k.entries[len(k.entries)-1]}, nil
}

// write puts an entry into the book, unchecked.
func (k *kept) write(at time.Time, e book.Entry) {
	e.Seq, e.At = uint64(len(k.entries)+1), at
	k.entries = append(k.entries, e)
	next := *k.snap
	next.Book = book.Fold(k.entries)
	k.snap = &next
}

func (k *kept) now() *monitor.Snapshot {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.snap
}

func (k *kept) list(since uint64) []book.Entry {
	k.mu.Lock()
	defer k.mu.Unlock()
	return slices.DeleteFunc(slices.Clone(k.entries), func(e book.Entry) bool { return e.Seq <= since })
}

// newEntry is one of the keeper's, at a time.
func newEntry(t testing.TB, at time.Time, kind book.Kind, data any) book.Entry {
	t.Helper()
	text, err := json.Marshal(data)
	if err != nil {
		t.Fatal(err)
	}
	return book.Entry{At: at, Made: at, Zone: "Europe/Berlin", By: "page", Kind: kind, Data: text}
}

// withBook opens a site on the entries, folding what comes through its door.
func withBook(t testing.TB, entries []book.Entry, change ...func(*web.Options)) (*site, *kept) {
	t.Helper()
	k := &kept{snap: &monitor.Snapshot{
		Site: "Back room", Time: noon, Trusted: true, Started: days(-20), Tick: 4711, Outbox: map[string]int{},
	}}
	for i := range entries {
		entries[i].Seq = uint64(i + 1)
	}
	k.entries = entries
	k.snap.Book = book.Fold(entries)
	if p := k.snap.Book.Problems; len(p) > 0 {
		t.Fatalf("the invented herd does not fold, %d problems: %q", len(p), p[0])
	}
	for _, id := range []incubation.PlaceKind{incubation.Incubator, incubation.Box, incubation.LayBox, incubation.Enclosure} {
		for _, p := range k.snap.Book.Places {
			if p.Kind == id {
				k.snap.Places = append(k.snap.Places, monitor.PlaceNow{
					Place: *p, In: incubation.At(p.Stays, noon), Path: k.snap.Book.Path(p.ID, noon),
				})
			}
		}
	}
	s := open(t, append(change, func(o *web.Options) {
		o.Snapshot, o.Door, o.Entries, o.History, o.Planner, o.Doubts = k.now, k, k.list, nil, nil, nil
	})...)
	return s, k
}

// females writes down n females in two racks, each looked at on some day of
// the last weeks, every seventh in no rack.
func females(t testing.TB, n int) []book.Entry {
	t.Helper()
	var out []book.Entry
	write := func(at time.Time, kind book.Kind, data any) { out = append(out, newEntry(t, at, kind, data)) }
	stages := []book.CheckedData{
		{Stage: incubation.Quiet},
		{Stage: incubation.Follicular, Size: incubation.Small, Sides: incubation.OneSide},
		{Stage: incubation.Follicular, Size: incubation.Large, Sides: incubation.BothSide},
		{Stage: incubation.Gravid},
		{Stage: incubation.Laid},
	}
	for i := range n {
		id := fmt.Sprintf("f-%d", i+1)
		write(days(-200), book.KindAnimal, book.AnimalData{
			Animal: id, Name: fmt.Sprintf("Gecko %d", i+1), Sex: incubation.Female, Hatched: "2023-05",
		})
		if i%7 != 6 {
			home := fmt.Sprintf("home-%d", i+1)
			d := book.PlaceData{Place: home, Kind: incubation.Enclosure, Name: fmt.Sprintf("Tub %d", i+1), Rack: "A", Slot: i/2 + 1}
			if i%2 == 1 {
				d.Rack = "B"
			}
			write(days(-199), book.KindPlace, d)
			write(days(-198), book.KindHoused, book.HousedData{Animal: id, Enclosure: home})
		}
		c := stages[i%len(stages)]
		c.Animal = id
		write(days(-2-float64(i%9)), book.KindChecked, c)
	}
	return out
}
