package incubation_test

import (
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
)

var update = flag.Bool("update", false, "write the golden files anew")

// The same build gives the same estimate bit for bit; exponentials and fused
// multiplications differ between architectures, and there it must be the same
// within a millionth, dates within the minute they are rounded to. The golden
// file was written on amd64.
func TestSameEstimateEverywhere(t *testing.T) {
	c := swinging(29.5).then(19, constant(31))
	track := incubation.NewTrack(leopards(), incubation.Laying{From: day(-1), To: day0})
	c.feed(t, track, 0, 6)
	c.feed(t, track, 6.5, 21)
	q := incubation.Question{Now: day(21), Holds: true}
	got := track.Estimate(q)
	name := filepath.Join("testdata", "estimate.golden.json")
	if *update {
		data, err := json.MarshalIndent(got, "", "  ")
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, append(data, '\n'), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	var want incubation.Estimate
	if err := json.Unmarshal(data, &want); err != nil {
		t.Fatal(err)
	}
	within := cmp.Options{
		cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) <= 1e-6 }),
		cmp.Comparer(func(a, b incubation.Celsius) bool { return math.Abs(float64(a-b)) <= 1e-6 }),
		cmp.Comparer(func(a, b time.Time) bool { return a.Sub(b).Abs() <= time.Minute }),
	}
	if diff := cmp.Diff(want, got, within); diff != "" {
		t.Errorf("estimate is not the golden one (-want +got):\n%s", diff)
	}
}
