package monitor_test

import (
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// connect has the book put a contact into a place.
func (r *room) connect(id string, kind incubation.ContactKind, place string) {
	r.Helper()
	r.enter(book.KindContact, book.ContactData{Contact: id, Kind: kind, Place: place})
}

// tells has a contact say a word, and lets the monitor hear it.
func (r *room) tells(id string, kind incubation.ContactKind, word ...string) {
	r.Helper()
	if err := r.panel.says(id, kind, word...); err != nil {
		r.Fatal(err)
	}
	r.live(20 * time.Second)
}

func TestMains(t *testing.T) {
	const mains = incubation.Mains
	for _, row := range []struct {
		name       string
		lived      func(*room)
		known, off bool
		inc        monitor.Supply // of the incubator; its Since is not compared
	}{
		{"without a contact nothing is known", func(*room) {}, false, false, monitor.Supply{}},
		{
			"a contact that is in no place tells of the room", func(r *room) { r.tells("ups", mains, "off") },
			true, true,
			monitor.Supply{Known: true, Off: true},
		},
		{
			"one of the room tells of all in it", func(r *room) {
				r.connect("ups", mains, "den")
				r.tells("ups", mains, "present")
			}, true, false, monitor.Supply{Known: true},
		},
		{
			"one of an incubator tells of that alone", func(r *room) {
				r.tells("ups", mains, "present")
				r.connect("socket", mains, "inc")
				r.tells("socket", mains, "off")
			}, true, false, monitor.Supply{Known: true, Off: true},
		},
		{
			"one that says off is enough", func(r *room) {
				r.tells("ups", mains, "present")
				r.tells("relay", mains, "off")
			}, true, true, monitor.Supply{Known: true, Off: true},
		},
		{
			"a fault is never mains that are there", func(r *room) {
				r.tells("ups", mains, "present")
				r.tells("ups", mains, "fault", "absent")
			}, false, false, monitor.Supply{},
		},
		{
			"a fault is not their return either", func(r *room) {
				r.tells("ups", mains, "off")
				r.tells("ups", mains, "fault", "absent")
			}, false, true, monitor.Supply{Off: true},
		},
		{
			"silence for a minute is no knowledge", func(r *room) {
				r.tells("ups", mains, "off")
				r.tells("ups", mains, "silent")
				r.live(time.Minute)
			}, false, true, monitor.Supply{Off: true},
		},
		{
			"one in the book that is not found is missing", func(r *room) {
				r.connect("ups", mains, "den")
				r.live(20 * time.Second)
			}, false, false, monitor.Supply{},
		},
		{
			"one taken out of its place and gone is none", func(r *room) {
				r.connect("ups", mains, "den")
				r.enter(book.KindContact, book.ContactData{Contact: "ups"})
				r.live(20 * time.Second)
			}, false, false, monitor.Supply{},
		},
	} {
		t.Run(row.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := newRoom(t, newMemory(), "p")
				r.live(time.Minute)
				r.incubator(30)
				r.enter(book.KindPlace, book.PlaceData{Place: "den", Kind: incubation.Room, Name: "Back room"})
				row.lived(r)
				got, inc := r.Snapshot().Mains, r.place("inc").Mains
				inc.Since = time.Time{}
				if got.Known != row.known || got.Off != row.off || inc != row.inc || got.Off == got.Since.IsZero() {
					t.Errorf("room %+v, incubator %+v", got, inc)
				}
			})
		})
	}
}

func TestMainsOffSince(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.tells("ups", incubation.Mains, "present")
		cut := time.Now()
		r.tells("ups", incubation.Mains, "off")
		r.live(time.Hour)
		r.tells("ups", incubation.Mains, "fault", "io")
		r.tells("ups", incubation.Mains, "off")
		if got := r.Snapshot().Mains.Since; got.Sub(cut).Abs() > 10*time.Second {
			t.Errorf("off since %v, not %v: a fault between made it anew", got, cut)
		}
		r.wall += 3 * time.Hour
		r.live(time.Minute)
		if got, want := r.Snapshot().Mains.Since, cut.Add(3*time.Hour); got.Sub(want).Abs() > 10*time.Second {
			t.Errorf("off since %v after the clock was set ahead, not %v", got, want)
		}
	})
}

func TestOpenedDoor(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.live(time.Minute)
		r.incubator(30)
		r.connect("d", incubation.Door, "inc")
		r.tells("d", incubation.Door, "shut")
		if p := r.place("box"); !p.Opened.IsZero() {
			t.Errorf("opened %v though it was found shut", p.Opened)
		}
		opened := time.Now()
		r.tells("d", incubation.Door, "open")
		r.live(4 * time.Minute)
		r.tells("d", incubation.Door, "shut")
		shut := time.Now()
		for _, place := range []string{"inc", "box"} {
			p := r.place(place)
			if p.Opened.Sub(opened).Abs() > 10*time.Second {
				t.Errorf("%s opened %v, not %v", place, p.Opened, opened)
			}
		}
		r.live(28 * time.Minute)
		if r.place("inc").Opened.IsZero() {
			t.Error("the opening is forgotten within half an hour")
		}
		r.live(3 * time.Minute)
		if p := r.place("inc"); !p.Opened.IsZero() {
			t.Errorf("the opening still counts %v after it was shut", time.Since(shut))
		}
	})
}
