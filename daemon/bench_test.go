package daemon_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon"
	"clutchd/daemon/config"
	"clutchd/daemon/monitor"
	"clutchd/daemon/store"
	"clutchd/daemon/web"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/species"
	"clutchd/sensors"
)

// noisy is a room of probes at 28 °C, with noise of 0.02 K on a grid of 0.01 K.
type noisy struct {
	probes []sensors.Probe
	dice   *rand.Rand
}

func newNoisy(n int) *noisy {
	r := &noisy{dice: rand.New(rand.NewPCG(1, 2))}
	for i := range n {
		r.probes = append(r.probes, sensors.Probe{
			ID: fmt.Sprintf("p%02d", i), Model: "bench",
			Has: incubation.Temperature, Interval: 10 * time.Second, Accuracy: 0.2,
		})
	}
	return r
}

func (r *noisy) Probes() []sensors.Probe { return r.probes }

func (r *noisy) Sample(_ context.Context, now time.Time) []sensors.Outcome {
	out := make([]sensors.Outcome, len(r.probes))
	for i, p := range r.probes {
		out[i] = sensors.Outcome{Probe: p.ID, Time: now, Reading: r.reading(p.ID, now)}
	}
	return out
}

func (r *noisy) reading(probe string, at time.Time) incubation.Reading {
	c := math.Round((28+0.02*r.dice.NormFloat64())*100) / 100
	return incubation.Reading{Probe: probe, Time: at, Has: incubation.Temperature, Celsius: incubation.Celsius(c)}
}

// fill stores what every probe says each 10 s from a time on.
func (r *noisy) fill(b *testing.B, kept *store.Store, from time.Time, length time.Duration) {
	b.Helper()
	const batch = 4 * time.Hour
	for done := time.Duration(0); done < length; done += batch {
		var all []incubation.Reading
		for t := time.Duration(0); t < batch; t += 10 * time.Second {
			for _, p := range r.probes {
				all = append(all, r.reading(p.ID, from.Add(done+t)))
			}
		}
		if err := kept.Append(b.Context(), all); err != nil {
			b.Fatal(err)
		}
	}
}

// mute is a poster without a far side.
type mute struct{}

func (mute) Post(...alerts.Notice)   {}
func (mute) Pending() map[string]int { return map[string]int{} }

func (mute) Confirmed() map[string]uint64 { return nil }

// A benchRoom is a monitor on a real store, in time that the benchmark makes.
type benchRoom struct {
	*testing.B
	*monitor.Monitor
	now, first time.Time
}

func newBenchRoom(b *testing.B, probes int) *benchRoom {
	kept, err := store.Open(b.Context(), b.TempDir(), store.Options{})
	if err != nil {
		b.Fatal(err)
	}
	r := &benchRoom{B: b, now: time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)}
	r.first = r.now
	r.Monitor = monitor.New(monitor.Options{
		Site: "bench", Zone: "UTC", Store: kept, Sampler: newNoisy(probes), Poster: mute{},
		Ensemble: species.Ensemble(1000), Log: slog.New(slog.DiscardHandler),
	})
	if err := r.Start(b.Context()); err != nil {
		b.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { _ = r.Monitor.Run(ctx); close(done) }()
	b.Cleanup(func() {
		stop()
		<-done
		if err := kept.Close(); err != nil {
			b.Error(err)
		}
	})
	r.tick()
	return r
}

func (r *benchRoom) tick() {
	r.now = r.now.Add(10 * time.Second)
	r.Tick(r.Context(), monitor.Instant{Wall: r.now, Trusted: true, Boot: "bench", Elapsed: r.now.Sub(r.first)})
}

func (r *benchRoom) enter(kind book.Kind, data any) {
	r.Helper()
	text, err := json.Marshal(data)
	if err != nil {
		r.Fatal(err)
	}
	if _, err := r.Do(r.Context(), monitor.Change{Entry: &book.Entry{Kind: kind, Data: text}}); err != nil {
		r.Fatalf("%s %s: %v", kind, text, err)
	}
}

// furnish puts each probe into a box, and two eggs into each of the first so
// many.
func (r *benchRoom) furnish(probes, clutches int) {
	r.Helper()
	r.enter(book.KindPlace, book.PlaceData{Place: "inc", Kind: incubation.Incubator, Name: "Incubator"})
	r.enter(book.KindSetpoint, book.SetpointData{Place: "inc", Celsius: 28})
	r.enter(book.KindFemale, book.FemaleData{Female: "fern", Name: "Fern"})
	for i := range probes {
		box := fmt.Sprintf("box-%d", i)
		r.enter(book.KindPlace, book.PlaceData{Place: box, Kind: incubation.Box, Name: box})
		r.enter(book.KindStand, book.StandData{Place: box, In: "inc"})
		r.enter(book.KindProbe, book.ProbeData{Probe: fmt.Sprintf("p%02d", i), Place: box, Position: incubation.Substrate})
		if i >= clutches {
			continue
		}
		a, z := box+"a", box+"b"
		r.enter(book.KindLaying, book.LayingData{
			Clutch: box + "-1", Female: "fern", From: r.now.Add(-12 * time.Hour),
			To: r.now, Eggs: []book.EggName{{Egg: a, Mark: "A"}, {Egg: z, Mark: "B"}},
		})
		r.enter(book.KindEgg, book.EggData{Egg: a, Box: box})
		r.enter(book.KindEgg, book.EggData{Egg: z, Box: box})
	}
}

// One tick of 50 probes with 36 live eggs, what runs beside it included: six
// hours are lived through first. Every tick estimates a clutch.
func BenchmarkTick(b *testing.B) {
	r := newBenchRoom(b, 50)
	r.furnish(50, 18)
	for range 6 * 360 {
		r.tick()
		if r.now.Unix()%60 == 0 {
			if err := r.Sync(b.Context()); err != nil {
				b.Fatal(err)
			}
		}
	}
	for _, c := range r.Snapshot().Clutches {
		if c.Eggs[0].Estimate == nil {
			b.Fatalf("clutch %s has no estimate", c.ID)
		}
	}
	began, worst := cpu(b), time.Duration(0)
	for b.Loop() {
		at := time.Now()
		r.tick()
		worst = max(worst, time.Since(at))
	}
	b.ReportMetric(float64((cpu(b)-began).Microseconds())/float64(b.N), "cpu-µs/tick")
	b.ReportMetric(float64(worst.Microseconds())/1000, "worst-ms")
}

// cpu is what this process has used of the processor.
func cpu(b *testing.B) time.Duration {
	b.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// Bytes that a day of 20 probes at 10 s hands to the disk, from the tick on.
func BenchmarkBytesADay(b *testing.B) {
	for b.Loop() {
		r := newBenchRoom(b, 20)
		r.furnish(20, 10)
		before := handed(b)
		for range 24 * 360 {
			r.tick()
			if r.now.Unix()%60 == 0 { // the commit that this tick asked for
				if err := r.Sync(b.Context()); err != nil {
					b.Fatal(err)
				}
			}
		}
		b.ReportMetric(float64(handed(b)-before)/1e6, "MB/day")
	}
}

// handed is how many bytes this process has passed to write calls.
func handed(b *testing.B) int64 {
	b.Helper()
	return number(b, "/proc/self/io", "wchar:")
}

// number reads a number behind a name in a file of the kernel's.
func number(b *testing.B, path, name string) int64 {
	b.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		b.Skipf("the kernel keeps no %s", path)
	}
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, name); ok {
			n, err := strconv.ParseInt(strings.TrimSuffix(strings.TrimSpace(rest), " kB"), 10, 64)
			if err != nil {
				b.Fatal(err)
			}
			return n
		}
	}
	b.Fatalf("no %s in %s", name, path)
	return 0
}

// A start in a folder with a year of 20 probes at 10 s, until the first tick
// is finished and the pages can be opened.
func BenchmarkStartWithAYear(b *testing.B) {
	dir := b.TempDir()
	kept, err := store.Open(b.Context(), dir, store.Options{})
	if err != nil {
		b.Fatal(err)
	}
	room := newNoisy(20)
	room.fill(b, kept, time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC), 365*24*time.Hour)
	if err := kept.Close(); err != nil {
		b.Fatal(err)
	}
	cfg := config.Default()
	cfg.StateDir, cfg.Web.Listen, cfg.Broker.Listen, cfg.Clock = dir, "127.0.0.1:0", "", config.ClockSystem
	for b.Loop() {
		ctx, stop := context.WithCancel(b.Context())
		ended := make(chan error, 1)
		ready := make(chan struct{})
		go func() {
			ended <- daemon.Run(ctx, daemon.Settings{
				Config: cfg, Log: slog.New(slog.DiscardHandler), Sampler: room,
				Ready: func(daemon.Addresses) { close(ready) },
			})
		}()
		select {
		case <-ready:
		case err := <-ended:
			b.Fatal(err)
		}
		b.StopTimer()
		stop()
		if err := <-ended; err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
	}
}

// The demo until its page is up, and what it then holds in memory, once it has
// estimated every egg.
func BenchmarkDemo(b *testing.B) {
	out := b.TempDir() + "/clutchd"
	if said, err := exec.Command("go", "build", "-o", out, "clutchd/daemon/clutchd").CombinedOutput(); err != nil {
		b.Fatalf("build: %v\n%s", err, said)
	}
	for b.Loop() {
		cmd := exec.Command(out, "demo", "-calm", "-http", "127.0.0.1:0", "-mqtt", "127.0.0.1:0", "-data", b.TempDir())
		said, err := cmd.StdoutPipe()
		if err != nil {
			b.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			b.Fatal(err)
		}
		line := make([]byte, 200)
		n, err := said.Read(line)
		if err != nil && err != io.EOF {
			b.Fatal(err)
		}
		b.StopTimer()
		addr, _, _ := strings.Cut(strings.SplitN(string(line[:n]), "http://", 2)[1], "/")
		awaitEstimates(b, newClient(addr))
		status := fmt.Sprintf("/proc/%d/status", cmd.Process.Pid)
		b.ReportMetric(float64(number(b, status, "VmRSS:"))/1024, "MiB-resident")
		b.ReportMetric(float64(number(b, status, "VmHWM:"))/1024, "MiB-peak")
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		b.StartTimer()
	}
}

func awaitEstimates(b *testing.B, pages client) {
	b.Helper()
	for late := time.Now().Add(5 * patience); time.Now().Before(late); time.Sleep(time.Second) {
		var clutches []struct {
			Eggs []struct {
				State string
				Hatch *json.RawMessage
			}
		}
		waiting := pages.get("/api/clutches", &clutches) != 200
		for _, c := range clutches {
			for _, e := range c.Eggs {
				waiting = waiting || e.State == string(incubation.Incubating) && e.Hatch == nil
			}
		}
		if !waiting {
			return
		}
	}
	b.Fatal("an egg is not estimated")
}

// 60 days of a probe at 10 s, read from the store and thinned to 800 points by
// the pages, as a chart asks for them.
func BenchmarkSixtyDaysThinned(b *testing.B) {
	kept, err := store.Open(b.Context(), b.TempDir(), store.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer kept.Close()
	room, from, length := newNoisy(1), time.Date(2026, 2, 1, 0, 0, 0, 0, time.UTC), 60*24*time.Hour
	room.fill(b, kept, from, length)
	snap := &monitor.Snapshot{
		Time: from.Add(length), Trusted: true, Tick: 1, Book: book.Fold(nil),
		Probes: []monitor.ProbeNow{{Probe: room.probes[0]}},
	}
	pages, err := web.New(web.Options{
		Listen: "127.0.0.1:8080", History: kept,
		Snapshot: func() *monitor.Snapshot { return snap },
	})
	if err != nil {
		b.Fatal(err)
	}
	ask := "http://127.0.0.1:8080/api/readings?points=800&probe=" + room.probes[0].ID +
		"&from=" + from.Format(time.RFC3339) + "&to=" + snap.Time.Format(time.RFC3339)
	for b.Loop() {
		w := httptest.NewRecorder()
		pages.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, ask, nil))
		if n := strings.Count(w.Body.String(), `"mean_celsius"`); w.Code != http.StatusOK || n != 800 {
			b.Fatalf("status %d, %d points: %.200s", w.Code, n, w.Body)
		}
	}
}
