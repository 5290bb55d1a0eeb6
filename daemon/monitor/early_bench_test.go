package monitor_test

import (
	"fmt"
	"io"
	"log/slog"
	"testing"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/species"
)

// BenchmarkCourses ticks a room of 200 incubators, each with a probe: at rest,
// and all of them falling out of their usual swing at once. What the tick costs
// without places of that kind is the first row.
func BenchmarkCourses(b *testing.B) {
	for _, tt := range [...]struct {
		name string
		kind incubation.PlaceKind
		fall float64 // K a tick
	}{
		{"enclosures, of which none is kept", incubation.Enclosure, 0},
		{"at rest", incubation.Incubator, 0},
		{"all falling", incubation.Incubator, 0.012},
	} {
		b.Run(tt.name, func(b *testing.B) {
			r := &bigRoom{now: time.Now().UTC().Truncate(time.Second)}
			for i := range 200 {
				id := fmt.Sprintf("place-%d", i)
				start := r.now.AddDate(0, 0, -2)
				r.write(start, book.KindPlace, book.PlaceData{Place: id, Kind: tt.kind, Name: id})
				r.write(start, book.KindSetpoint, book.SetpointData{Place: id, Celsius: 31})
				r.probe(start, id)
			}
			s := newMemory()
			s.entries, s.next = r.entries, uint64(len(r.entries)+1)
			w := &watched{hand: newHand(r.probes...), now: r.now}
			w.Monitor = monitor.New(monitor.Options{
				Site: "test", Zone: "UTC", Store: s, Sampler: w.hand, Poster: &post{},
				Ensemble: species.Ensemble(members), Log: slog.New(slog.NewTextHandler(io.Discard, nil)),
			})
			if err := w.Start(b.Context()); err != nil {
				b.Fatal(err)
			}
			n := 0
			tick := func() {
				n++
				for i, p := range r.probes {
					c := 31 + 0.02*float64((n*7+i*13)%5)
					if tt.fall > 0 {
						c -= 1.3 + tt.fall*float64(n)
					}
					w.hand.celsius(p, incubation.Celsius(max(c, 24)))
				}
				w.tick(b)
			}
			for n < 120 {
				tick()
			}
			for b.Loop() {
				if n > 350 {
					n = 120
				}
				tick()
			}
		})
	}
}
