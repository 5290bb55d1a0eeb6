package sensors_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"

	"github.com/google/go-cmp/cmp"
)

type reading = incubation.Reading

// A fake is a sensor whose Read is a function; n counts the calls.
type fake struct {
	probe sensors.Probe
	mu    sync.Mutex
	n     int
	read  func(ctx context.Context, n int) (reading, error)
}

func (f *fake) Probe() sensors.Probe { return f.probe }

func (f *fake) Read(ctx context.Context) (reading, error) {
	f.mu.Lock()
	f.n++
	n := f.n
	f.mu.Unlock()
	if f.read == nil {
		return warm(28), nil
	}
	return f.read(ctx, n)
}

func warm(c incubation.Celsius) reading {
	return reading{Has: incubation.Temperature, Celsius: c}
}

func named(id string, interval time.Duration) sensors.Probe {
	return sensors.Probe{ID: id, Has: incubation.Temperature, Interval: interval}
}

// start runs the bank in the bubble and gives what ends it and waits.
func start(t *testing.T, b *sensors.Bank) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- b.Run(ctx) }()
	return func() {
		cancel()
		if err := <-ended; err != nil {
			t.Errorf("Run: %v", err)
		}
	}
}

// told renders outcomes as "seconds probe value-or-cause", times from t0.
func told(t0 time.Time, all []sensors.Outcome) []string {
	var lines []string
	for _, o := range all {
		what := "?"
		switch {
		case o.Fault != nil && o.Reading == reading{} && o.Fault.Probe == o.Probe:
			what = string(o.Fault.Cause)
		case o.Fault == nil && o.Reading.Probe == o.Probe && o.Reading.Time.Equal(o.Time):
			what = fmt.Sprint(o.Reading.Celsius)
		}
		lines = append(lines, fmt.Sprintf("%gs %s %s", o.Time.Sub(t0).Seconds(), o.Probe, what))
	}
	return lines
}

func wantTold(t *testing.T, why string, t0 time.Time, got []sensors.Outcome, want ...string) {
	t.Helper()
	if diff := cmp.Diff(want, told(t0, got)); diff != "" {
		t.Errorf("%s (-want +got):\n%s", why, diff)
	}
}

func sample(b *sensors.Bank) []sensors.Outcome {
	synctest.Wait()
	return b.Sample(context.Background(), time.Now())
}

func TestBankReadsEachOnItsInterval(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		t0 := time.Now()
		b := sensors.NewBank(slog.New(slog.DiscardHandler))
		b.Add("i2c-1", &fake{probe: named("slow", 30*time.Second)})
		b.Add("i2c-1", &fake{probe: named("usual", 0)})
		stop := start(t, b)
		time.Sleep(35 * time.Second)
		wantTold(t, "each on its own interval, ten seconds where it says none", t0, sample(b),
			"0s slow 28", "0s usual 28", "10s usual 28", "20s usual 28", "30s slow 28", "30s usual 28")
		if again := sample(b); len(again) != 0 {
			t.Errorf("a second Sample gave %v again", told(t0, again))
		}
		want := []sensors.Probe{named("slow", 30*time.Second), named("usual", 10*time.Second)}
		for i := range want {
			want[i].Through = "i2c-1"
		}
		if diff := cmp.Diff(want, b.Probes()); diff != "" {
			t.Errorf("Probes (-want +got):\n%s", diff)
		}
		stop()
	})
}

func TestBankStuckBus(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		t0 := time.Now()
		free := make(chan struct{})
		b := sensors.NewBank(slog.New(slog.DiscardHandler))
		hang := func(_ context.Context, n int) (reading, error) {
			if n == 2 { // at 10 s, whatever ctx says
				<-free
				return warm(31), nil
			}
			return warm(30), nil
		}
		b.Add("i2c-1", &fake{probe: named("a", 10*time.Second), read: hang})
		b.Add("i2c-1", &fake{probe: named("b", 20*time.Second)})
		b.Add("w1", &fake{probe: named("c", 17*time.Second)})
		stop := start(t, b)
		time.Sleep(5 * time.Second)
		sample(b)
		time.Sleep(40 * time.Second) // to 45 s
		wantTold(t, "timeout at the deadline, bus-stuck when due, the other bus goes on", t0, sample(b),
			"17s c 28", "20s a timeout", "20s b bus-stuck", "30s a timeout", "34s c 28",
			"40s a timeout", "40s b bus-stuck")
		close(free)
		wantTold(t, "what came late bears the time it came at", t0, sample(b), "45s a 31")
		time.Sleep(17 * time.Second) // to 62 s
		wantTold(t, "the bus goes on", t0, sample(b), "50s a 30", "51s c 28", "60s a 30", "60s b 28")
		stop()
	})
}

// slowly is a Read of four seconds that heeds its context.
func slowly(ctx context.Context, _ int) (reading, error) {
	select {
	case <-ctx.Done():
		return reading{}, ctx.Err()
	case <-time.After(4 * time.Second):
		return warm(29), nil
	}
}

func TestBankSlowIsNotStuck(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		t0 := time.Now()
		b := sensors.NewBank(slog.New(slog.DiscardHandler))
		for _, id := range []string{"a", "b", "c", "d"} {
			b.Add("w1", &fake{probe: named(id, 0), read: slowly})
		}
		stop := start(t, b)
		time.Sleep(33 * time.Second)
		wantTold(t, "a bus that cannot keep up serves all in turn", t0, sample(b),
			"4s a 29", "8s b 29", "12s c 29", "16s d 29", "20s a 29", "24s b 29", "28s c 29", "32s d 29")
		stop()
	})
}

func TestBankEagerStarvesNobody(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		t0 := time.Now()
		b := sensors.NewBank(slog.New(slog.DiscardHandler))
		b.Add("w1", &fake{probe: named("eager", time.Second), read: slowly})
		b.Add("w1", &fake{probe: named("calm", 7*time.Second), read: slowly})
		stop := start(t, b)
		time.Sleep(33 * time.Second)
		wantTold(t, "turns that were missed are not made up for", t0, sample(b),
			"4s eager 29", "8s calm 29", "12s eager 29", "16s calm 29", "20s eager 29",
			"24s calm 29", "28s eager 29", "32s calm 29")
		stop()
	})
}

func TestBankOneReaderPerBus(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var mu sync.Mutex
		inside, most, calls := 0, 0, 0
		read := func(context.Context, int) (reading, error) {
			mu.Lock()
			inside++
			calls++
			most = max(most, inside)
			mu.Unlock()
			time.Sleep(300 * time.Millisecond)
			mu.Lock()
			inside--
			mu.Unlock()
			return warm(28), nil
		}
		b := sensors.NewBank(slog.New(slog.DiscardHandler))
		for _, id := range []string{"a", "b", "c", "d", "e"} {
			b.Add("i2c-1", &fake{probe: named(id, time.Second), read: read})
		}
		stop := start(t, b)
		time.Sleep(time.Minute)
		stop()
		if most != 1 || calls < 100 {
			t.Errorf("%d calls, up to %d at once on one bus; want many, one at a time", calls, most)
		}
	})
}

func TestBankFaults(t *testing.T) {
	boom := errors.New("remote I/O error")
	tests := []struct {
		why  string
		read func(ctx context.Context, n int) (reading, error)
		want string
	}{
		{"a fault keeps its cause", func(context.Context, int) (reading, error) {
			return reading{}, &sensors.Fault{Cause: sensors.Checksum}
		}, "0s p checksum"},
		{"an error without a cause is io", func(context.Context, int) (reading, error) {
			return warm(28), boom
		}, "0s p io"},
		{"a driver that ends with its context, timed out once", func(ctx context.Context, _ int) (reading, error) {
			<-ctx.Done()
			return reading{}, &sensors.Fault{Cause: sensors.IO, Err: ctx.Err()}
		}, "10s p timeout"},
		{"a panic is a fault, not the end", func(context.Context, int) (reading, error) {
			panic("twice closed")
		}, "0s p io"},
		{"an impossible value is no reading", func(context.Context, int) (reading, error) {
			return warm(-273.15), nil
		}, "0s p out-of-range"},
	}
	for _, test := range tests {
		synctest.Test(t, func(t *testing.T) {
			t0 := time.Now()
			b := sensors.NewBank(slog.New(slog.DiscardHandler))
			b.Add("bus", &fake{probe: named("p", time.Hour), read: test.read})
			stop := start(t, b)
			time.Sleep(11 * time.Second)
			wantTold(t, test.why, t0, sample(b), test.want)
			stop()
		})
	}
}

func TestBankHotPlug(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		t0 := time.Now()
		b := sensors.NewBank(slog.New(slog.DiscardHandler))
		stop := start(t, b)
		time.Sleep(3 * time.Second)
		b.Add("w1", &fake{probe: named("a", 0)})
		time.Sleep(4 * time.Second) // to 7 s
		b.Add("w1", &fake{probe: named("b", 0)})
		b.Add("w1", &fake{probe: named("a", 0), read: func(context.Context, int) (reading, error) {
			return warm(33), nil
		}})
		time.Sleep(8 * time.Second) // to 15 s
		wantTold(t, "read from when it was added; one added again keeps its turn", t0, sample(b),
			"3s a 28", "7s b 28", "13s a 33")
		b.Add("w1-other", &fake{probe: named("a", 0)})
		time.Sleep(9 * time.Second) // to 24 s
		wantTold(t, "one that moved is read on its new bus only", t0, sample(b), "15s a 28", "17s b 28")
		stop()
	})
}

func TestBankAskedAgainAfterRead(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := &fake{probe: named("a", 0)}
		f.read = func(context.Context, int) (reading, error) {
			f.probe.Resolution = 0.5
			return warm(28), nil
		}
		b := sensors.NewBank(slog.New(slog.DiscardHandler))
		b.Add("w1", f)
		stop := start(t, b)
		time.Sleep(time.Second)
		synctest.Wait()
		if got := b.Probes(); len(got) != 1 || got[0].Resolution != 0.5 {
			t.Errorf("Probes() = %+v, want the resolution that Read learned", got)
		}
		stop()
	})
}

func TestBankPush(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		t0 := time.Now()
		b := sensors.NewBank(slog.New(slog.DiscardHandler))
		b.Announce(sensors.Probe{ID: "m", Model: "mqtt", Has: both})
		own := t0.Add(-time.Second).UTC()
		b.Push(sensors.Outcome{Probe: "m", Reading: warm(29)})
		b.Push(sensors.Outcome{Probe: "m", Time: own, Reading: warm(30)})
		wet := reading{Has: both, Celsius: 29, Humidity: 1.2}
		b.Push(sensors.Outcome{Probe: "m", Reading: wet})
		text := &sensors.Fault{Cause: sensors.Unparsable}
		b.Push(sensors.Outcome{Probe: "m", Reading: warm(31), Fault: text})
		b.Push(sensors.Outcome{Probe: "stranger", Reading: warm(20)})
		wantTold(t, "oldest first, each checked, a fault without a number", t0, sample(b),
			"-1s m 30", "0s m 29", "0s m out-of-range", "0s m unparsable", "0s stranger 20")
		want := []sensors.Probe{
			{ID: "m", Model: "mqtt", Has: both, Interval: 10 * time.Second},
			named("stranger", 10*time.Second),
		}
		if diff := cmp.Diff(want, b.Probes()); diff != "" {
			t.Errorf("Probes (-want +got):\n%s", diff)
		}
	})
}

func TestBankDropsOldest(t *testing.T) {
	var log bytes.Buffer
	b := sensors.NewBank(slog.New(slog.NewTextHandler(&log, nil)))
	t0 := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	const pushed = 5000
	for i := range pushed {
		at := t0.Add(time.Duration(i) * time.Second)
		b.Push(sensors.Outcome{Probe: "m", Time: at, Reading: warm(28)})
	}
	got := b.Sample(t.Context(), t0)
	if n := uint64(pushed - len(got)); n == 0 || n != b.Dropped() {
		t.Errorf("%d are missing, Dropped says %d", n, b.Dropped())
	}
	if last := got[len(got)-1].Time; !last.Equal(t0.Add((pushed - 1) * time.Second)) {
		t.Errorf("the newest is %v: the oldest should have gone", last)
	}
	if n := strings.Count(log.String(), "being dropped"); n != 1 {
		t.Errorf("dropping was logged %d times, want once", n)
	}
}

func TestBankLogsOnChange(t *testing.T) {
	var log bytes.Buffer
	b := sensors.NewBank(slog.New(slog.NewTextHandler(&log, nil)))
	for range 3 {
		b.Push(sensors.Outcome{Probe: "m", Fault: &sensors.Fault{Cause: sensors.Checksum}})
	}
	b.Push(sensors.Outcome{Probe: "m", Fault: &sensors.Fault{Cause: sensors.Absent}})
	for range 3 {
		b.Push(sensors.Outcome{Probe: "m", Reading: warm(28)})
	}
	counts := map[string]int{"cause=checksum": 1, "cause=absent": 1, "reads again": 1, "\n": 3}
	for text, want := range counts {
		if got := strings.Count(log.String(), text); got != want {
			t.Errorf("%q was logged %d times, want %d:\n%s", text, got, want, log.String())
		}
	}
}

func TestBankEndsWithStuckRead(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		free := make(chan struct{})
		b := sensors.NewBank(slog.New(slog.DiscardHandler))
		b.Add("stuck", &fake{probe: named("a", 0), read: func(context.Context, int) (reading, error) {
			<-free
			return warm(28), nil
		}})
		closed := false
		b.Add("slow", &fake{probe: named("b", 0), read: func(_ context.Context, n int) (reading, error) {
			time.Sleep(800 * time.Millisecond)
			if closed {
				t.Error("Run ended under a Read that was about to return")
			}
			return warm(28), nil
		}})
		stop := start(t, b)
		time.Sleep(30*time.Second + 400*time.Millisecond) // amid b's fourth Read
		began := time.Now()
		stop()
		closed = true
		if took := time.Since(began); took > time.Second {
			t.Errorf("Run took %v to end", took)
		}
		close(free)
	})
}

// A room of thousands keeps what all its probes say in a tick, and in a few
// that come late.
func TestBankKeepsWhatThousandsSay(t *testing.T) {
	b := sensors.NewBank(slog.New(slog.DiscardHandler))
	const probes, rounds = 5000, 6
	for round := range rounds {
		for i := range probes {
			b.Push(sensors.Outcome{
				Probe: fmt.Sprintf("p%d", i), Time: time.Unix(int64(round), 0).UTC(), Reading: warm(28),
			})
		}
	}
	if got := len(b.Sample(t.Context(), time.Now())); got != probes*rounds || b.Dropped() != 0 {
		t.Errorf("of %d outcomes %d came, %d were dropped", probes*rounds, got, b.Dropped())
	}
}
