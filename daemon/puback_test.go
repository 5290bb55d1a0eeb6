package daemon_test

import (
	"context"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/broker"
	"clutchd/daemon/monitor"
	"clutchd/daemon/mqtt"
	"clutchd/daemon/store"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/species"
	"clutchd/sensors"
)

// BenchmarkTickToPuback is the time from the beginning of a tick that raises
// an alert, among 50 probes, to the broker's PUBACK of its notice, on loopback.
// A reading waits for its tick besides, ten seconds at most, and a condition
// for its on-delay.
func BenchmarkTickToPuback(b *testing.B) {
	b.Run("mosquitto", func(b *testing.B) {
		h := newHub(b)
		tickToPuback(b, "mqtt://127.0.0.1:"+h.port)
	})
	b.Run("built-in", func(b *testing.B) {
		own, err := broker.New("127.0.0.1:0")
		if err != nil {
			b.Fatal(err)
		}
		ctx, stop := context.WithCancel(b.Context())
		ended := make(chan error, 1)
		go func() { ended <- own.Run(ctx) }()
		b.Cleanup(func() { stop(); <-ended })
		tickToPuback(b, "mqtt://"+own.Addr().String())
	})
}

// feverish is a room of probes that become deadly hot one after the other, so
// far apart that each is told for itself.
type feverish struct {
	*noisy
	first time.Time
	began time.Time // of the newest tick, on the real clock
}

const feverEvery = 20 * time.Minute

func (r *feverish) Sample(ctx context.Context, now time.Time) []sensors.Outcome {
	r.began = time.Now()
	out := r.noisy.Sample(ctx, now)
	for i := range out {
		if now.Sub(r.first) > time.Duration(i+1)*feverEvery {
			out[i].Reading.Celsius = 39
		}
	}
	return out
}

// timed notes when a notice was confirmed.
type timed struct {
	*mqtt.Client
	mu   sync.Mutex
	at   map[uint64]time.Time
	news chan struct{}
}

func (p *timed) Publish(ctx context.Context, n alerts.Notice) error {
	err := p.Client.Publish(ctx, n)
	if err == nil {
		p.mu.Lock()
		p.at[n.ID] = time.Now()
		p.mu.Unlock()
		p.news <- struct{}{}
	}
	return err
}

// counted notes what is posted.
type counted struct {
	*alerts.Outbox
	posted []alerts.Notice
}

func (c *counted) Post(n ...alerts.Notice) {
	c.posted = append(c.posted, n...)
	c.Outbox.Post(n...)
}

func tickToPuback(b *testing.B, url string) {
	const probes = 50
	kept, err := store.Open(b.Context(), b.TempDir(), store.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer kept.Close()
	log := slog.New(slog.DiscardHandler)
	client, err := mqtt.New(mqtt.Broker{Name: "hub", URL: url}, mqtt.Options{Site: "bench", Log: log})
	if err != nil {
		b.Fatal(err)
	}
	out := &timed{Client: client, at: map[uint64]time.Time{}, news: make(chan struct{}, 1000)}
	poster := &counted{Outbox: alerts.NewOutbox(nil, nil, kept, log)}
	now := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	room := &feverish{noisy: newNoisy(probes), first: now}
	m := monitor.New(monitor.Options{
		Site: "bench", Zone: "UTC", Store: kept, Sampler: room, Poster: poster,
		Ensemble: species.Ensemble(100), Log: log,
	})
	if err := m.Start(b.Context()); err != nil {
		b.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	var all sync.WaitGroup
	defer func() { stop(); all.Wait() }()
	all.Go(func() { _ = m.Run(ctx) })
	all.Go(func() { _ = client.Run(ctx) })
	all.Go(func() { _ = poster.Run(ctx, out) })
	first := now
	tick := func() {
		now = now.Add(10 * time.Second)
		m.Tick(ctx, monitor.Instant{Wall: now, Trusted: true, Boot: "bench", Elapsed: now.Sub(first)})
		client.State(ctx, m.Snapshot())
	}
	tick()
	r := &benchRoom{B: b, Monitor: m, now: now, first: first}
	for i := range probes {
		box := fmt.Sprintf("box-%d", i)
		r.enter(book.KindPlace, book.PlaceData{Place: box, Kind: incubation.Box, Name: box})
		r.enter(book.KindProbe, book.ProbeData{Probe: fmt.Sprintf("p%02d", i), Place: box, Position: incubation.Substrate})
	}
	var took []float64
	heard := 0
	for b.Loop() {
		for before := len(took); len(took) == before && len(took) < probes; {
			from := len(poster.posted)
			tick()
			for ; heard < len(poster.posted); heard++ {
				<-out.news
			}
			for _, n := range poster.posted[from:] {
				if n.Reason == alerts.ReasonRaised && n.Rule == "acute-heat" {
					out.mu.Lock()
					took = append(took, 1000*out.at[n.ID].Sub(room.began).Seconds())
					out.mu.Unlock()
				}
			}
		}
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2], "median-ms")
	b.ReportMetric(took[len(took)*99/100], "p99-ms")
	b.ReportMetric(float64(len(took)), "alerts")
}
