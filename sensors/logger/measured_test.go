package logger_test

import (
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"clutchd/sensors/logger"
)

// measured opens a file of the measured data that lies beside the checkout,
// or skips the test where it is absent.
func measured(t *testing.T, name string) io.Reader {
	t.Helper()
	f, err := os.Open(filepath.Join("../../../shared/data", name))
	if errors.Is(err, fs.ErrNotExist) {
		t.Skip("the measured data is not beside this checkout")
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

// A machine's sensor, 22,695 rows in °F without saying so; its source states
// one step back of 55 minutes and 12 doubled timestamps.
func TestReadMachine(t *testing.T) {
	log, err := logger.Read(measured(t, "machine_5min.csv"), logger.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(log.Readings) != 22695-12 || log.Doubled != 12 || log.Backward != 1 || log.Refused != 0 {
		t.Errorf("%d readings, doubled %d, backward %d, refused %d; want 22683, 12, 1, 0",
			len(log.Readings), log.Doubled, log.Backward, log.Refused)
	}
	if log.Unit != "F" || log.Interval != 5*time.Minute {
		t.Errorf("unit %q every %v, want F every 5m", log.Unit, log.Interval)
	}
	notes := strings.Join(log.Notes, "\n")
	for _, want := range []string{"taken as °F", "steps back 55m0s", "12 rows bear a time"} {
		if !strings.Contains(notes, want) {
			t.Errorf("no note says %q:\n%s", want, notes)
		}
	}
	// The first row is 73.96732207 °F.
	if got := float64(log.Readings[0].Celsius); got < 23.3151 || got > 23.3152 {
		t.Errorf("the first reading is %v °C, want 23.31518", got)
	}
}

func TestReadMotes(t *testing.T) {
	log, err := logger.Read(measured(t, "motes_5s.csv"), logger.Options{})
	wantRefused(t, "rows without a time", log, err, "tells date and time")
}

// Turtle nests logged by the minute from laying: cut apart, each is a log.
func TestReadNests(t *testing.T) {
	z, err := gzip.NewReader(measured(t, "chelonia_nests_15min.csv.gz"))
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	header, rest, _ := strings.Cut(string(text), "\n")
	nests := map[string]*strings.Builder{}
	rows := map[string]int{}
	for l := range strings.Lines(rest) {
		nest, _, _ := strings.Cut(l, ",")
		if nests[nest] == nil {
			nests[nest] = &strings.Builder{}
			fmt.Fprintln(nests[nest], header)
		}
		nests[nest].WriteString(l)
		rows[nest]++
	}
	if len(nests) != 6 {
		t.Fatalf("%d nests, want six", len(nests))
	}
	start := time.Date(2024, 6, 1, 5, 0, 0, 0, time.UTC)
	for nest, file := range nests {
		log, err := logger.Read(strings.NewReader(file.String()), logger.Options{Start: start})
		if err != nil {
			t.Errorf("%s: %v", nest, err)
			continue
		}
		if log.Unit != "C" || log.Interval != 15*time.Minute || !log.Readings[0].Time.Equal(start) {
			t.Errorf("%s: °%s every %v from %v", nest, log.Unit, log.Interval, log.Readings[0].Time)
		}
		got := len(log.Readings) + log.Doubled
		if got != rows[nest] || log.Doubled > 1 || log.Refused > 0 {
			t.Errorf("%s: %d of %d rows, doubled %d, refused %d; want all, at most the last doubled",
				nest, got, rows[nest], log.Doubled, log.Refused)
		}
	}
	log, err := logger.Read(strings.NewReader(string(text)), logger.Options{})
	wantRefused(t, "minutes from an unknown start", log, err, "counts from a start")
	log, err = logger.Read(strings.NewReader(string(text)), logger.Options{Start: start})
	if err != nil || !strings.Contains(strings.Join(log.Notes, "\n"), "several loggers") {
		t.Errorf("six nests in one file: %v, notes %q; want the question", err, log.Notes)
	}
}
