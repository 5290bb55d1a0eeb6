package monitor_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"log/slog"
	"math"
	"testing"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/species"
)

// A bigRoom is what the product is meant to bear at most: 200 females, 100
// live eggs, 40 probes and a book of some 5,000 entries.
type bigRoom struct {
	entries []book.Entry
	probes  []string
	now     time.Time
}

func (b *bigRoom) write(at time.Time, kind book.Kind, data any) {
	text, err := json.Marshal(data)
	if err != nil {
		panic(err) // the book's own types hold nothing that JSON cannot
	}
	b.entries = append(b.entries, book.Entry{
		Seq: uint64(len(b.entries) + 1), At: at.UTC(), Made: at.UTC(), Kind: kind, Data: text,
	})
}

// newBigRoom writes the book: 4 incubators of 9 boxes, a probe in each, and
// clutches of two over the last 200 days; those of the last 50 days live.
func newBigRoom(now time.Time) *bigRoom {
	b := &bigRoom{now: now.UTC().Truncate(time.Second)}
	start := b.now.AddDate(0, 0, -201)
	var boxes []string
	for i := range 4 {
		inc := fmt.Sprintf("inc-%d", i)
		b.write(start, book.KindPlace, book.PlaceData{Place: inc, Kind: incubation.Incubator, Name: inc})
		b.write(start, book.KindSetpoint, book.SetpointData{Place: inc, Celsius: 28})
		b.probe(start, inc)
		for j := range 9 {
			box := fmt.Sprintf("box-%d-%d", i, j)
			b.write(start, book.KindPlace, book.PlaceData{Place: box, Kind: incubation.Box, Name: box})
			b.write(start, book.KindStand, book.StandData{Place: box, In: inc})
			b.probe(start, box)
			boxes = append(boxes, box)
		}
	}
	for i := range 200 {
		id := fmt.Sprintf("female-%d", i)
		b.write(start, book.KindFemale, book.FemaleData{Female: id, Name: id})
	}
	for i := range 400 {
		b.clutch(i, boxes)
	}
	for i := 0; len(b.entries) < 5000; i++ {
		b.write(b.now.Add(-time.Duration(i)*time.Minute), book.KindNote, book.NoteData{Text: "looked"})
	}
	return b
}

func (b *bigRoom) probe(at time.Time, place string) {
	id := "p-" + place
	b.probes = append(b.probes, id)
	b.write(at, book.KindProbe, book.ProbeData{Probe: id, Place: place})
}

// clutch writes one of 400, two a day; the last 50 live.
func (b *bigRoom) clutch(i int, boxes []string) {
	const all, live = 400, 50
	laid := b.now.Add(-time.Duration(all-i) * 12 * time.Hour)
	id := fmt.Sprintf("clutch-%d", i)
	d := book.LayingData{Clutch: id, Female: fmt.Sprintf("female-%d", i%200), From: laid.Add(-12 * time.Hour), To: laid}
	for _, mark := range []string{"a", "b"} {
		d.Eggs = append(d.Eggs, book.EggName{Egg: id + mark, Mark: mark})
	}
	b.write(laid, book.KindLaying, d)
	for _, e := range d.Eggs {
		b.write(laid, book.KindEgg, book.EggData{Egg: e.Egg, Box: boxes[i%len(boxes)]})
		b.write(laid.Add(10*time.Hour), book.KindCandle, book.CandleData{Egg: e.Egg, Seen: "alive"})
		if i < all-live {
			b.write(laid.Add(11*time.Hour), book.KindHatch, book.HatchData{Egg: e.Egg})
		}
	}
}

// store fills one with the book and a reading of every probe every ten
// minutes of the last 60 days.
func (b *bigRoom) store() *memory {
	s := newMemory()
	s.entries = b.entries
	s.next = uint64(len(b.entries) + 1)
	for _, p := range b.probes {
		for at := b.now.AddDate(0, 0, -60); at.Before(b.now); at = at.Add(10 * time.Minute) {
			s.put(incubation.Reading{Probe: p, Time: at, Has: incubation.Temperature, Celsius: 28})
		}
	}
	return s
}

// watched is a monitor over the big room after its first tick.
type watched struct {
	*monitor.Monitor
	hand *hand
	now  time.Time
}

func (b *bigRoom) watch(tb testing.TB, s *memory) *watched {
	w := &watched{hand: newHand(b.probes...), now: b.now}
	w.Monitor = monitor.New(monitor.Options{
		Site: "test", Zone: "UTC", Store: s, Sampler: w.hand, Poster: &post{},
		Ensemble: species.Ensemble(1000),
		Log:      slog.New(slog.NewTextHandler(io.Discard, nil)),
	})
	for _, p := range b.probes {
		w.hand.celsius(p, 28)
	}
	if err := w.Start(tb.Context()); err != nil {
		tb.Fatal(err)
	}
	w.tick(tb)
	return w
}

func (w *watched) tick(tb testing.TB) {
	w.now = w.now.Add(10 * time.Second)
	w.Tick(tb.Context(), monitor.Instant{Wall: w.now, Trusted: true, Boot: "b", Elapsed: w.now.Sub(time.Unix(0, 0))})
}

// BenchmarkStart loads a full book and makes the first tick.
func BenchmarkStart(b *testing.B) {
	room := newBigRoom(time.Now())
	s := room.store()
	for b.Loop() {
		room.watch(b, s)
	}
}

// BenchmarkReplay brings every egg of the full room up to date.
func BenchmarkReplay(b *testing.B) {
	room := newBigRoom(time.Now())
	s := room.store()
	for b.Loop() {
		w := room.watch(b, s)
		go func() { _ = w.Run(b.Context()) }()
		w.estimated(b)
	}
}

// estimated ticks until every live egg has an estimate.
func (w *watched) estimated(tb testing.TB) {
	for {
		w.tick(tb)
		missing := false
		for _, c := range w.Snapshot().Clutches {
			for _, e := range c.Eggs {
				missing = missing || e.Box != "" && e.Estimate == nil
			}
		}
		if !missing {
			return
		}
	}
}

// BenchmarkTick ticks in the full room, every egg's estimate made.
func BenchmarkTick(b *testing.B) {
	room := newBigRoom(time.Now())
	w := room.watch(b, room.store())
	go func() { _ = w.Run(b.Context()) }()
	w.estimated(b)
	for b.Loop() {
		w.tick(b)
	}
}

// BenchmarkDo enters a note, and one that moves a probe, into the full book.
func BenchmarkDo(b *testing.B) {
	room := newBigRoom(time.Now())
	w := room.watch(b, room.store())
	go func() { _ = w.Run(b.Context()) }()
	w.estimated(b)
	for name, e := range map[string]book.Entry{
		"note":  {Kind: book.KindNote, Data: []byte(`{"text":"looked"}`)},
		"probe": {Kind: book.KindProbe, Data: []byte(`{"probe":"p-new","place":"box-0-0"}`)},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := w.Do(b.Context(), monitor.Change{Entry: &e}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A loggedRoom is a store whose probes spoke every ten seconds for ever.
type loggedRoom struct{ *memory }

func (s loggedRoom) Range(_ context.Context, probe string, from, to time.Time) iter.Seq2[incubation.Reading, error] {
	return func(yield func(incubation.Reading, error) bool) {
		for at := from.Truncate(10 * time.Second); at.Before(to); at = at.Add(10 * time.Second) {
			swing := 2 * math.Sin(float64(at.Unix())/20_000)
			r := incubation.Reading{
				Probe: probe, Time: at, Celsius: incubation.Celsius(28 + swing), Humidity: 0.9,
				Has: incubation.Temperature | incubation.RelativeHumidity,
			}
			if !at.Before(from) && !yield(r, nil) {
				return
			}
		}
	}
}

// BenchmarkPreviewMonth lives through 30 days of a box of the big room, whose
// cabinet has a probe too, at ten seconds, with two sets of limits; for
// off-setpoint six rules are judged in both places.
func BenchmarkPreviewMonth(b *testing.B) {
	big := newBigRoom(time.Now())
	store := loggedRoom{newMemory()}
	store.entries = big.entries
	m := monitor.New(monitor.Options{
		Site: "bench", Zone: "UTC", Store: store, Sampler: newHand(big.probes...), Poster: &post{},
		Ensemble: species.Ensemble(members), Log: slog.New(slog.NewTextHandler(io.Discard, nil)),
	})
	if err := m.Start(b.Context()); err != nil {
		b.Fatal(err)
	}
	m.Tick(b.Context(), monitor.Instant{Wall: big.now, Trusted: true, Boot: "boot"})
	for _, rule := range []string{"too-warm", "off-setpoint"} {
		b.Run(rule, func(b *testing.B) {
			for b.Loop() {
				p, err := m.Preview(b.Context(), monitor.PreviewQuestion{
					Rule: rule, Subject: "box-0-0", Limits: make([]book.LimitsData, 2),
				})
				if err != nil || !p.Whole || p.Known < 29*24*time.Hour {
					b.Fatal(p.Whole, p.Known, err)
				}
			}
		})
	}
}
