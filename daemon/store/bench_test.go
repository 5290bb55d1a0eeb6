package store_test

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/store"
	"clutchd/incubation"
)

// fill stores a room's readings, a minute at a time or an hour.
func fill(b *testing.B, s *store.Store, r *room, from time.Time, length, at time.Duration) int {
	b.Helper()
	stored := 0
	for done := time.Duration(0); done < length; done += at {
		all := r.readings(from.Add(done), at)
		put(b, s, all)
		stored += len(all)
	}
	return stored
}

// Bytes that a stored sample takes: 20 probes, one sample in 10 s each, noise
// of 0.02 K on a grid of 0.01 K, 60 days.
func BenchmarkBytesPerSample(b *testing.B) {
	for b.Loop() {
		dir := folder(b)
		s := open(b, dir)
		n := fill(b, s, newRoom(20, 10*time.Second), noon, 60*24*time.Hour, 4*time.Hour)
		payload, err := s.PayloadBytes()
		if err != nil {
			b.Fatal(err)
		}
		shut(b, s)
		info, err := os.Stat(filepath.Join(dir, "history-2026.db"))
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(payload)/float64(n), "payload-B/sample")
		b.ReportMetric(float64(info.Size())/float64(n), "file-B/sample")
	}
}

// Bytes handed to the disk in a day of 20 probes at 10 s, committed once a
// minute: what the kernel counts as written by this process.
func BenchmarkBytesWrittenADay(b *testing.B) {
	for b.Loop() {
		dir := b.TempDir() // on a disk
		s := open(b, dir)
		r := newRoom(20, 10*time.Second)
		fill(b, s, r, noon.Add(-8*time.Hour), 8*time.Hour, time.Minute)
		before := written(b)
		fill(b, s, r, noon, 24*time.Hour, time.Minute)
		b.ReportMetric(float64(written(b)-before)/1e6, "MB/day")
		shut(b, s)
	}
}

// written reads how many bytes this process has passed to write calls.
func written(b *testing.B) int64 {
	b.Helper()
	text, err := os.ReadFile("/proc/self/io")
	if err != nil {
		b.Skip("the kernel keeps no /proc/self/io")
	}
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "wchar: "); ok {
			n, err := strconv.ParseInt(strings.TrimSpace(rest), 10, 64)
			if err != nil {
				b.Fatal(err)
			}
			return n
		}
	}
	b.Fatal("no wchar in /proc/self/io")
	return 0
}

// Opening a folder that holds a year of 20 probes at 10 s.
func BenchmarkOpenAYear(b *testing.B) {
	dir := folder(b)
	s := open(b, dir)
	from := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	fill(b, s, newRoom(20, 10*time.Second), from, 365*24*time.Hour, 4*time.Hour)
	shut(b, s)
	for b.Loop() {
		s := open(b, dir)
		if at, err := s.Newest(b.Context()); err != nil || at.Year() != 2026 {
			b.Fatalf("newest %v, %v", at, err)
		}
		shut(b, s)
	}
}

// One minute of 20 probes at 10 s.
func BenchmarkAppendMinute(b *testing.B) {
	s := open(b, folder(b))
	defer shut(b, s)
	r, at := newRoom(20, 10*time.Second), noon
	var all []incubation.Reading
	for b.Loop() {
		b.StopTimer()
		all = r.readings(at, time.Minute)
		at = at.Add(time.Minute)
		b.StartTimer()
		put(b, s, all)
	}
}
