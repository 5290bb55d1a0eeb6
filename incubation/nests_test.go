package incubation_test

import (
	"compress/gzip"
	"encoding/csv"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/species"
)

// A nest in the ground, logged from laying on, and what came out of it.
type nest struct {
	name          string
	laid          time.Time
	readings      []incubation.Reading
	males, female int
}

// end is when the record ends: near the hatch, not at it.
func (n nest) end() time.Time { return n.readings[len(n.readings)-1].Time }

// nests reads the green turtle nests of TSD_Cm (Florida 2019-24, CC0 1.0),
// which are not part of the project, from the folder that CLUTCHD_DATA names
// or one beside the checkout.
func nests(t *testing.T) []nest {
	t.Helper()
	folder := os.Getenv("CLUTCHD_DATA")
	if folder == "" {
		folder = filepath.Join("..", "..", "shared", "data")
	}
	outcomes := rows(t, filepath.Join(folder, "chelonia_outcomes.csv"))
	temperatures := rows(t, filepath.Join(folder, "chelonia_nests_15min.csv.gz"))
	var out []nest
	for _, row := range outcomes {
		laid, err := time.Parse("2006-01-02T15:04:05", row["laying_time"])
		if err != nil {
			t.Fatal(err)
		}
		n := nest{name: row["nest"], laid: laid, males: number(t, row["males"]), female: number(t,
			row["females"])}
		for _, r := range temperatures {
			if r["nest"] != n.name {
				continue
			}
			celsius, err := strconv.ParseFloat(r["temp_c"], 64)
			if err != nil {
				t.Fatal(err)
			}
			at := laid.Add(time.Duration(number(t, r["minute"])) * time.Minute)
			n.readings = append(n.readings, reading(at, celsius))
		}
		out = append(out, n)
	}
	return out
}

func number(t *testing.T, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// rows reads a CSV file with a header, packed or not.
func rows(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		t.Skipf("no measured nests at %s: put the TSD_Cm records there, "+
			"or name their folder in CLUTCHD_DATA", name)
	}
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var r io.Reader = f
	if filepath.Ext(name) == ".gz" {
		if r, err = gzip.NewReader(f); err != nil {
			t.Fatal(err)
		}
	}
	lines, err := csv.NewReader(r).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, cell := range line {
			row[lines[0][i]] = cell
		}
		out = append(out, row)
	}
	return out
}

// Another species, one threshold, cooler males, a record from the ground: a
// file and no code. The pivotal temperature of that file is not that of these
// nests, so what must come out right is their order, and the rest in bounds.
func TestNests(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "testdata", "profiles", "green-turtle.json"))
	if err != nil {
		t.Fatal(err)
	}
	profile, err := species.Parse(data)
	if err != nil {
		t.Fatal(err)
	}
	ensemble := incubation.Draw(profile, 0)
	all := nests(t)
	estimates := make([]incubation.Estimate, len(all))
	for i, n := range all {
		track := incubation.NewTrack(ensemble, laidAt(n.laid))
		aligner := incubation.Aligner{Accuracy: 0.4}
		for _, r := range n.readings {
			if b, ok := aligner.Add(r); ok {
				b.Position = incubation.Substrate
				add(t, track, b)
			}
		}
		e := track.Estimate(incubation.Question{Now: n.end()})
		estimates[i] = e
		t.Logf("%s: %d of %d male; %.2f (%.2f to %.2f), CTE %.2f, hatch %.1f d, record %.1f d: %s",
			n.name, n.males, n.males+n.female, e.Sex.MaleProbability, e.Sex.Low, e.Sex.High, e.CTE.Value,
			e.Hatch.Likely.Sub(n.laid).Hours()/24, n.end().Sub(n.laid).Hours()/24, e.Sex.Words)
		if off := e.Hatch.Likely.Sub(n.end()).Abs(); off > 10*24*time.Hour {
			t.Errorf("%s: hatch expected %v, the record ends %v", n.name, e.Hatch.Likely, n.end())
		}
		if e.TSP.State != incubation.TSPClosed || e.Basis.Measured < 0.98 {
			t.Errorf("%s: TSP %s, basis %+v after a whole record without gaps", n.name, e.TSP.State, e.Basis)
		}
		share := float64(n.males) / float64(n.males+n.female)
		if share == 0 && e.Sex.MaleProbability > 0.1 {
			t.Errorf("%s: only females hatched, and a male has probability %.2f", n.name,
				e.Sex.MaleProbability)
		}
		for j, other := range all[:i] {
			was := float64(other.males) / float64(other.males+other.female)
			more := e.Sex.MaleProbability > estimates[j].Sex.MaleProbability
			if share > was+0.15 && !more || share < was-0.15 && more {
				t.Errorf("%s has %.2f males and %s %.2f; their estimates are the other way round",
					n.name, share, other.name, was)
			}
		}
	}
}
