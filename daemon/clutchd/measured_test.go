package main

import (
	"bytes"
	"compress/gzip"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"
)

// measured reads a CSV file of the measured data that lies beside the
// checkout, or skips the test where it is absent.
func measured(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(measuredPath(name))
	if errors.Is(err, fs.ErrNotExist) {
		t.Skip("the measured data is not beside this checkout")
	}
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var r io.Reader = f
	if strings.HasSuffix(name, ".gz") {
		if r, err = gzip.NewReader(f); err != nil {
			t.Fatal(err)
		}
	}
	rows, err := csv.NewReader(r).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

func measuredPath(name string) string { return filepath.Join("../../../shared/data", name) }

// A tally is what a log holds, counted without the program.
type tally struct {
	rows, doubled, backward int
	celsius                 map[int64]float64 // by second: of the first row that bears it
}

// count goes through rows of time and °F.
func count(t *testing.T, rows [][]string) tally {
	t.Helper()
	c := tally{rows: len(rows), celsius: map[int64]float64{}}
	var before time.Time
	for _, row := range rows {
		at, err := time.Parse(time.DateTime, row[0])
		if err != nil {
			t.Fatal(err)
		}
		v, err := strconv.ParseFloat(row[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		if at.Before(before) {
			c.backward++
		}
		before = at
		if _, there := c.celsius[at.Unix()]; there {
			c.doubled++
			continue
		}
		c.celsius[at.Unix()] = (v - 32) / 1.8
	}
	return c
}

// A machine's sensor, in °F without saying so, whose clock steps back: what
// import tells of it is what counting by hand finds, and what export gives
// back is what was in it, to the hundredth of a degree that the store keeps.
func TestImportMachine(t *testing.T) {
	t.Parallel()
	rows := measured(t, "machine_5min.csv")
	want := count(t, rows)
	home := t.TempDir()
	file, err := filepath.Abs(measuredPath("machine_5min.csv"))
	if err != nil {
		t.Fatal(err)
	}
	told := call(t, home, "import", "-data", "d", "-probe", "machine", file)
	n := len(want.celsius)
	for _, part := range []string{
		fmt.Sprintf("machine: %d readings, ", n), "one every 5m", fmt.Sprintf("; %d of them new", n),
		"are taken as °F", "no zone: they are taken as UTC",
		fmt.Sprintf("%d rows bear a time that was there already", want.doubled),
	} {
		if !strings.Contains(told, part) {
			t.Errorf("import does not tell %q:\n%s", part, told)
		}
	}
	if steps := strings.Count(told, "the clock steps back"); steps != want.backward {
		t.Errorf("import tells of %d steps back, the file has %d:\n%s", steps, want.backward, told)
	}
	if again := call(t, home, "import", "-data", "d", "-probe", "machine",
		file); !strings.Contains(again, "; 0 of them new") ||
		strings.Contains(again, "replaced") {
		t.Errorf("the second import is not for nothing:\n%s", again)
	}
	call(t, home, "export", "-data", "d", "out")
	sameReadings(t, filepath.Join(home, "out", "readings-machine.csv"), want.celsius)
}

func sameReadings(t *testing.T, file string, want map[int64]float64) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows)-1 != len(want) {
		t.Errorf("export gives %d readings, want %d", len(rows)-1, len(want))
	}
	worst := 0.0
	for _, row := range rows[1:] {
		at, err := time.Parse(time.RFC3339, row[0])
		if err != nil {
			t.Fatal(err)
		}
		got, err := strconv.ParseFloat(row[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		v, there := want[at.Unix()]
		if !there {
			t.Fatalf("export gives %s, which is not in the file", row[0])
		}
		worst = max(worst, math.Abs(got-v))
	}
	t.Logf("the worst reading is off by %.4f K", worst)
	if worst > 0.0051 {
		t.Errorf("a reading is off by %g K, the store keeps 0.01 K", worst)
	}
}

// The same file through estimate: no egg, but a record that a keeper's broken
// logger could make. It must be told as it is.
func TestEstimateMachine(t *testing.T) {
	t.Parallel()
	rows := measured(t, "machine_5min.csv")
	want := count(t, rows)
	hot := 0.0 // degree-minutes: one reading stands for five minutes
	for _, celsius := range want.celsius {
		hot += 5 * max(celsius-35, 0)
	}
	said := call(t, t.TempDir(), "estimate", absolute(t, measuredPath("machine_5min.csv")))
	for _, part := range []string{
		fmt.Sprintf("%d readings, ", len(want.celsius)),
		fmt.Sprintf("%d rows bear a time", want.doubled),
	} {
		if !strings.Contains(said, part) {
			t.Errorf("estimate does not tell %q:\n%s", part, said)
		}
	}
	told := regexp.MustCompile(`too warm +.* above 35\.0 °C in all, .*; (\d+) degree-minutes`).FindStringSubmatch(said)
	if told == nil {
		t.Fatalf("estimate does not tell the heat:\n%s", said)
	}
	if got, _ := strconv.ParseFloat(told[1], 64); math.Abs(got-hot) > 0.02*hot {
		t.Errorf("estimate tells %g degree-minutes above 35 °C, counted %.0f", got, hot)
	}
	if regexp.MustCompile(`0001-01-01|NaN|Inf`).MatchString(said) {
		t.Errorf("estimate prints what is no value:\n%s", said)
	}
}

func absolute(t *testing.T, path string) string {
	t.Helper()
	full, err := filepath.Abs(path)
	if err != nil {
		t.Fatal(err)
	}
	return full
}

// A nest is one clutch in the ground and what came of it.
type nest struct {
	name          string
	laid          string
	days          float64 // length of the record; not the day of hatching
	males, female int
	record        bytes.Buffer
}

func (n *nest) share() float64 { return float64(n.males) / float64(n.males+n.female) }

// nests cuts the green turtles' file (TSD_Cm, Florida 2019-24, CC0 1.0) into a
// record for each, minutes from laying as they stand in it.
func nests(t *testing.T) []*nest {
	t.Helper()
	var all []*nest
	byName := map[string]*nest{}
	for _, row := range measured(t, "chelonia_outcomes.csv") {
		n := &nest{name: row[0], laid: row[1]}
		n.days, _ = strconv.ParseFloat(row[5], 64)
		n.males, _ = strconv.Atoi(row[9])
		n.female, _ = strconv.Atoi(row[10])
		if n.days == 0 || n.males+n.female == 0 {
			t.Fatalf("the outcome of %q cannot be read", row)
		}
		n.record.WriteString("minute,celsius\n")
		all, byName[n.name] = append(all, n), n
	}
	for _, row := range measured(t, "chelonia_nests_15min.csv.gz") {
		if n := byName[row[0]]; n != nil {
			fmt.Fprintf(&n.record, "%s,%s\n", row[1], row[2])
		}
	}
	return all
}

// Another species from a file alone, through the program. What is compared:
// that each whole record closes the TSP and is measured throughout; that the
// likely hatch lies within ten days of the record's end, which is when the
// loggers were dug up and no hatch date; and that of two nests whose males
// differ by more than 15 points, the one with more has the higher estimate.
// Not compared is the share itself: the profile's pivotal temperature comes
// from other beaches, and ten hatchlings were sexed to a nest.
func TestEstimateNests(t *testing.T) {
	t.Parallel()
	type outcome struct {
		*nest
		chance float64
	}
	var seen []outcome
	for _, n := range nests(t) {
		e := estimateOf(t, n.record.Bytes(), "-profile", "../../testdata/profiles/green-turtle.json",
			"-laid", n.laid)
		laid, err := time.Parse("2006-01-02T15:04:05", n.laid)
		if err != nil {
			t.Fatal(err)
		}
		hatch := e.Hatch.Likely.Sub(laid).Hours() / 24
		t.Logf("%s: %d of %d male, estimate %.2f (%.2f to %.2f); record %.1f d, hatch after %.1f d; %s",
			n.name, n.males, n.males+n.female, e.Sex.MaleProbability, e.Sex.Low, e.Sex.High,
			n.days, hatch, e.Sex.Words)
		if e.TSP.State != "closed" || e.Basis.Measured < 0.98 || e.CTE == nil {
			t.Errorf("%s: TSP %s, %.2f measured, CTE %v after a whole record", n.name, e.TSP.State,
				e.Basis.Measured, e.CTE)
		}
		if math.Abs(hatch-n.days) > 10 {
			t.Errorf("%s: hatch expected after %.1f days, the record has %.1f", n.name, hatch, n.days)
		}
		seen = append(seen, outcome{n, e.Sex.MaleProbability})
	}
	if len(seen) != 6 {
		t.Errorf("%d nests, want six", len(seen))
	}
	for _, a := range seen {
		for _, b := range seen {
			if a.share() > b.share()+0.15 && a.chance <= b.chance {
				t.Errorf("%s has %.2f males and %s %.2f; their estimates are %.2f and %.2f",
					a.name, a.share(), b.name, b.share(), a.chance, b.chance)
			}
		}
	}
}
