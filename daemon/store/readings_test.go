package store_test

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/store"
	"clutchd/incubation"
)

// Temperatures come back on their grid.
func TestTemperatureGrid(t *testing.T) {
	s := open(t, folder(t))
	defer shut(t, s)
	type row struct {
		why      string
		celsius  float64
		within   float64 // K
		humidity float64
	}
	rows := []row{
		{"a hundredth comes back as it was", 28.06, 0, 0.8512},
		{"a negative one too", -12.34, 0, 0},
		{"the coldest a sensor says", -55, 0, 1},
		{"anything finer comes back within half a hundredth", 28.0749, 0.005, 0.85125},
		{"a sensor's raw third of a hundredth", -45 + 175*27000.0/65535, 0.005, 0.999949},
	}
	for k := range 32 { // DS18B20 data sheet, table 1: the 12-bit code is in sixteenths
		rows = append(rows, row{"a sixteenth comes back as it was", 20 + float64(k)/16, 0, 0.5})
	}
	var all []incubation.Reading
	for i, r := range rows {
		one := warm("p", noon.Add(time.Duration(i)*time.Second), r.celsius)
		one.Has |= incubation.RelativeHumidity
		one.Humidity = incubation.Humidity(r.humidity)
		all = append(all, one)
	}
	put(t, s, all)
	got, errs := collect(t, s, "p", noon, noon.Add(time.Hour))
	if len(got) != len(rows) || errs != nil {
		t.Fatalf("%d readings, %v", len(got), errs)
	}
	for i, r := range rows {
		if d := math.Abs(float64(got[i].Celsius) - r.celsius); d > r.within+1e-12 {
			t.Errorf("%s: %v came back as %v", r.why, r.celsius, got[i].Celsius)
		}
		if d := math.Abs(float64(got[i].Humidity) - r.humidity); d > 0.00005+1e-12 {
			t.Errorf("%s: humidity %v came back as %v", r.why, r.humidity, got[i].Humidity)
		}
	}
}

// Times are cut to the second, never moved ahead.
func TestTimesAreCut(t *testing.T) {
	s := open(t, folder(t))
	defer shut(t, s)
	put(t, s, []incubation.Reading{warm("p", noon.Add(999*time.Millisecond), 28)})
	for _, c := range []struct {
		why      string
		from, to time.Duration
		found    bool
	}{
		{"its second is inside", 0, time.Second, true},
		{"the end is outside", -time.Second, 0, false},
		{"the beginning is inside", 0, time.Nanosecond, true},
		{"a beginning inside its second is behind it", time.Nanosecond, time.Hour, false},
		{"an empty range holds nothing", 0, 0, false},
		{"a range turned round holds nothing", time.Second, -time.Second, false},
	} {
		got, errs := collect(t, s, "p", noon.Add(c.from), noon.Add(c.to))
		if (len(got) == 1) != c.found || errs != nil {
			t.Errorf("%s: got %v, %v", c.why, got, errs)
		}
	}
	if at, err := s.Newest(t.Context()); err != nil || !at.Equal(noon) {
		t.Errorf("newest %v, %v, want %v", at, err, noon)
	}
}

// What can never be stored is left out and logged; the rest is stored.
func TestUnstorableReadingsAreLeftOut(t *testing.T) {
	var log strings.Builder
	opt := store.Options{Log: slog.New(slog.NewTextHandler(&log, nil))}
	s, err := store.Open(t.Context(), folder(t), opt)
	if err != nil {
		t.Fatal(err)
	}
	defer shut(t, s)
	bad := []incubation.Reading{
		warm("p", noon, math.NaN()),
		warm("p", noon, math.Inf(1)),
		warm("p", noon, -274),
		warm("", noon, 28),
		warm(strings.Repeat("p", 201), noon, 28),
		warm("p", time.Time{}, 28),
		warm("p", time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC), 28),
		{Probe: "p", Time: noon},
		{Probe: "p", Time: noon, Has: 4},
		{Probe: "p", Time: noon, Has: incubation.Temperature, Quality: 64},
		{
			Probe: "p", Time: noon, Has: incubation.RelativeHumidity,
			Humidity: incubation.Humidity(math.NaN()),
		},
	}
	put(t, s, append(bad, warm("p", noon.Add(time.Second), 28)))
	if got, errs := collect(t, s, "p", time.Time{}, noon.AddDate(1, 0, 0)); len(got) != 1 || errs != nil {
		t.Errorf("stored %v, %v, want the last only", got, errs)
	}
	if n := strings.Count(log.String(), "cannot be stored"); n != len(bad) {
		t.Errorf("%d of %d were logged", n, len(bad))
	}
}

// A logger's record that is read in late lands between what is packed
// already, and its values win.
func TestLateImportMerges(t *testing.T) {
	dir := folder(t)
	s := open(t, dir)
	put(t, s, every("p", noon, time.Minute, 24*60))
	late := every("p", noon.Add(30*time.Second), time.Minute, 120)
	late = append(late, warm("p", noon, 35))
	put(t, s, late)
	put(t, s, every("q", noon.Add(25*time.Hour), time.Minute, 1))
	for range 2 {
		got, errs := collect(t, s, "p", noon, noon.Add(24*time.Hour))
		if len(got) != 24*60+120 || errs != nil {
			t.Fatalf("%d readings, %v", len(got), errs)
		}
		byTime := func(a, b incubation.Reading) int { return a.Time.Compare(b.Time) }
		if !slices.IsSortedFunc(got, byTime) {
			t.Error("the range is not in order")
		}
		if got[0].Celsius != 35 || !alike(got[1], late[0]) {
			t.Errorf("the late values are not there: %v", got[:2])
		}
		shut(t, s)
		s = open(t, dir)
	}
	shut(t, s)
}

// A range goes over a year's end, into years that lie apart, and past a year
// that cannot be read.
func TestRangeOverYears(t *testing.T) {
	dir := folder(t)
	s := open(t, dir)
	for _, year := range []int{2019, 2020, 2021, 2022, 2025} { // more than are kept open
		put(t, s, every("p", time.Date(year, 12, 31, 23, 0, 0, 0, time.UTC), time.Minute, 120))
	}
	from, to := time.Time{}, time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)
	if got, errs := collect(t, s, "p", from, to); len(got) != 5*120 || errs != nil {
		t.Fatalf("%d readings, %v", len(got), errs)
	}
	put(t, s, []incubation.Reading{warm("a", noon, 28)})
	probes, err := s.Probes(t.Context())
	if want := []string{"a", "p"}; err != nil || !slices.Equal(probes, want) {
		t.Errorf("probes %q, %v, want %q", probes, err, want)
	}
	shut(t, s)
	if err := os.WriteFile(filepath.Join(dir, "history-2020.db"), []byte("garbage"), 0o600); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir)
	defer shut(t, s)
	got, errs := collect(t, s, "p", from, to)
	if len(got) != 4*120 || errs != nil { // 60 before and 60 after the missing year's own
		t.Errorf("with a lost year: %d readings, %v", len(got), errs)
	}
	if len(s.Damage()) != 1 {
		t.Errorf("told %q", s.Damage())
	}
}

// A damaged block is an error in its place; the range goes on behind it.
func TestRangeGoesOnBehindADamagedBlock(t *testing.T) {
	dir := folder(t)
	s := open(t, dir)
	defer func() { shut(t, s) }()
	put(t, s, every("p", noon, time.Minute, 24*60))
	if err := s.BreakBlock("p", noon.Add(4*time.Hour)); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		var before, behind int
		var broken []error
		for _, err := range s.Range(t.Context(), "p", noon, noon.Add(48*time.Hour)) {
			switch {
			case err != nil:
				broken = append(broken, err)
			case broken == nil:
				before++
			default:
				behind++
			}
		}
		if before != 240 || behind != 24*60-480 || len(broken) != 1 {
			t.Fatalf("%d before, %d behind, %v", before, behind, broken)
		}
		if told := s.Damage(); len(told) != 1 || !strings.Contains(told[0], "2026-06-01 16:00Z") {
			t.Errorf("told %q", told)
		}
		shut(t, s)
		s = open(t, dir)
	}
	put(t, s, []incubation.Reading{warm("p", noon.Add(5*time.Hour), 28)})
	got, errs := collect(t, s, "p", noon, noon.Add(48*time.Hour))
	if len(got) != 24*60-240+1 || errs != nil {
		t.Errorf("a late reading into the damaged window: %d readings, %v", len(got), errs)
	}
}

// The caller of a range may write, read and take as long as they like.
func TestRangeHoldsNothing(t *testing.T) {
	s := open(t, folder(t))
	defer shut(t, s)
	put(t, s, every("p", noon, time.Minute, 24*60))
	n := 0
	for r, err := range s.Range(t.Context(), "p", noon, noon.Add(24*time.Hour)) {
		if err != nil {
			t.Fatal(err)
		}
		if n++; n%100 == 0 {
			put(t, s, []incubation.Reading{warm("q", r.Time, 20)})
		}
	}
	if n != 24*60 {
		t.Errorf("%d readings", n)
	}
	for range s.Range(t.Context(), "p", noon, noon.Add(24*time.Hour)) {
		break
	}
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var last error
	for _, last = range s.Range(ctx, "p", noon, noon.Add(24*time.Hour)) {
		cancel()
	}
	if !errors.Is(last, context.Canceled) {
		t.Errorf("a cancelled range ended with %v", last)
	}
}

// An ended context is an error of every call, and nothing is written.
func TestEndedContext(t *testing.T) {
	s := open(t, folder(t))
	defer shut(t, s)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, reserve := s.Reserve(ctx, 1)
	_, entries := s.Entries(ctx)
	_, states := s.States(ctx)
	_, _, outbox := s.Outbox(ctx)
	_, newest := s.Newest(ctx)
	for name, err := range map[string]error{
		"append":  s.Append(ctx, every("p", noon, time.Minute, 3)),
		"reserve": reserve, "entries": entries,
		"commit": s.CommitBook(ctx, nil, alerts.Changes{}), "deliver": s.Delivered(ctx, "d", 1, nil),
		"stage": s.Stage(ctx, nil), "states": states, "outbox": outbox, "newest": newest,
	} {
		if !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if got, _ := collect(t, s, "p", noon, noon.Add(time.Hour)); len(got) != 0 {
		t.Errorf("%d readings were written", len(got))
	}
}

// Every method at once, from several goroutines.
func TestTogether(t *testing.T) {
	s := open(t, folder(t))
	defer shut(t, s)
	var wg sync.WaitGroup
	for g := range 3 {
		probe := fmt.Sprintf("p%d", g)
		wg.Go(func() {
			for i := range 30 {
				year := time.Duration(i%3) * 400 * 24 * time.Hour
				all := every(probe, noon.Add(year), time.Minute, 500)
				if err := s.Append(t.Context(), all); err != nil {
					t.Error(err)
				}
			}
		})
		wg.Go(func() {
			for i := range 30 {
				if err := commitStep(t.Context(), s, g*1000+i); err != nil {
					t.Error(err)
				}
				if err := stageStep(t.Context(), s, i); err != nil {
					t.Error(err)
				}
			}
		})
		wg.Go(func() {
			for range 30 {
				for _, err := range s.Range(t.Context(), probe, noon, noon.AddDate(4, 0, 0)) {
					if err != nil {
						t.Error(err)
					}
				}
				if _, err := s.Entries(t.Context()); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	for g := range 3 {
		got, errs := collect(t, s, fmt.Sprintf("p%d", g), noon, noon.AddDate(4, 0, 0))
		if len(got) != 1500 || errs != nil {
			t.Errorf("%d readings, %v", len(got), errs)
		}
	}
}
