package proof_test

import (
	"encoding/csv"
	"errors"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"
)

// A noise is what a sensor in air says besides a slow curve: a deviation that
// fades from one value to the next.
type noise struct {
	sd    float64 // K
	keeps float64 // correlation with the value five seconds later
}

// Measured here (TestNoiseIsMeasured) on the four motes of Suthaharan et al.
// 2010 (labelled wireless sensor network data, single hop; ODC-By 1.0 and CC BY
// 4.0), 5 s apart, label 0: what is left after the running median of 31 values
// is taken away. One pair stood indoors, the other outdoors.
func indoors() noise  { return noise{sd: 0.0094, keeps: 0.48} }
func outdoors() noise { return noise{sd: 0.0213, keeps: 0.82} }

// A hum is a noise going on.
type hum struct {
	noise
	dice *rand.Rand
	now  float64
}

// next gives the deviation, so long after the one before.
func (h *hum) next(after time.Duration) float64 {
	keep := math.Pow(h.keeps, after.Seconds()/5)
	h.now = h.now*keep + h.sd*math.Sqrt(1-keep*keep)*h.dice.NormFloat64()
	return h.now
}

// measured gives the columns of a file of measured data that lies beside the
// checkout, or skips the test where it is absent.
func measured(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(dataFile(name))
	if errors.Is(err, fs.ErrNotExist) {
		t.Skipf("%s is not beside this checkout: CLUTCHD_DATA may name its folder", name)
	}
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

func dataFile(name string) string {
	folder := os.Getenv("CLUTCHD_DATA")
	if folder == "" {
		folder = "../../../shared/data"
	}
	return filepath.Join(folder, name)
}

// TestNoiseIsMeasured holds the noise that the room hums with against the
// record it comes from.
func TestNoiseIsMeasured(t *testing.T) {
	byMote := map[string][]float64{}
	for _, row := range measured(t, "motes_5s.csv") {
		c, err := strconv.ParseFloat(row[4], 64)
		if err != nil {
			t.Fatal(err)
		}
		if row[5] != "0" {
			c = math.NaN()
		}
		byMote[row[2]+row[1]] = append(byMote[row[2]+row[1]], c)
	}
	for _, row := range []struct {
		what  string
		motes []string
		want  noise
	}{
		{"indoors (the source's column says 1)", []string{"13", "14"}, indoors()},
		{"outdoors", []string{"01", "02"}, outdoors()},
	} {
		var sum, next, n float64
		for _, m := range row.motes {
			left := residuals(byMote[m], 31)
			for i, v := range left {
				if math.IsNaN(v) {
					continue
				}
				sum, n = sum+v*v, n+1
				if i+1 < len(left) && !math.IsNaN(left[i+1]) {
					next += v * left[i+1]
				}
			}
		}
		sd, keeps := math.Sqrt(sum/n), next/sum
		t.Logf("%s: %.0f values, sd %.4f K, correlation with the next %.2f", row.what, n, sd, keeps)
		if math.Abs(sd-row.want.sd) > 0.0005 || math.Abs(keeps-row.want.keeps) > 0.03 {
			t.Errorf("%s: sd %.4f and correlation %.2f, the room hums with %+v", row.what, sd, keeps, row.want)
		}
	}
}

// residuals takes the running median away; NaN where a value of its window is.
func residuals(x []float64, window int) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		out[i] = math.NaN()
		lo, hi := i-window/2, i+window/2+1
		if lo < 0 || hi > len(x) || slices.ContainsFunc(x[lo:hi], math.IsNaN) {
			continue
		}
		w := slices.Sorted(slices.Values(x[lo:hi]))
		out[i] = x[i] - w[window/2]
	}
	return out
}
