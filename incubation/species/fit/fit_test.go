package fit_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"clutchd/incubation/species"
	"clutchd/incubation/species/fit"
)

var update = flag.Bool("update", false, "write the fitted members anew")

// fitted is the fit that is committed, made anew; a shorter one in short mode.
var fitted = sync.OnceValues(func() (fit.Result, error) {
	var o fit.Options
	if testing.Short() {
		o.Burn, o.Keep = 2500, 200
	}
	return fit.Run(fit.Leopard(), o)
})

func whole(t *testing.T) fit.Result {
	t.Helper()
	r, err := fitted()
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The published values give the committed members: bit for bit on a machine
// that reckons like the one they were made on, within Monte Carlo error
// elsewhere.
func TestFit(t *testing.T) {
	f := whole(t).File()
	text, err := fit.Print(f)
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join("..", "leopard-gecko.members.json")
	if *update {
		if err := os.WriteFile(name, text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	committed, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	want, _, err := species.ParseFit(committed)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("accepted %.3f, worst R-hat %.4f, least effective %.0f", f.Made.Accepted, f.Made.RHat,
		f.Made.Effective)
	if f.Made.Hash != want.Made.Hash {
		t.Error("the published values have changed since the members were made: run with -update, " +
			"and put the new quantiles in the profile")
	}
	if f.Made.RHat > 1.05 || !testing.Short() && (f.Made.RHat > 1.01 || f.Made.Effective < 400) {
		t.Errorf("the chains do not agree: worst R-hat %.4f, least effective %.0f", f.Made.RHat,
			f.Made.Effective)
	}
	if !testing.Short() && f.Made.Arithmetic == want.Made.Arithmetic {
		if !bytes.Equal(text, committed) {
			t.Error("the fit is not the committed one: run with -update, and put the new quantiles in the profile")
		}
		return
	}
	for _, off := range apart(want, f) {
		t.Error(off)
	}
}

// apart tells where two fits differ by more than four standard errors of as
// many draws as both are worth.
func apart(a, b species.Fit) []string {
	var out []string
	draws := 1 / (1/a.Made.Effective + 1/b.Made.Effective)
	for i, p := range a.Quantiles {
		q := b.Quantiles[i]
		se := 4 * p.SD / math.Sqrt(draws)
		if math.Abs(p.Median-q.Median) > 1.25*se || math.Abs(p.Low-q.Low) > 2.11*se ||
			math.Abs(p.High-q.High) > 2.11*se {
			out = append(out, fmt.Sprintf("%s is %.4g (%.4g to %.4g), was %.4g (%.4g to %.4g)",
				q.Name, q.Median, q.Low, q.High, p.Median, p.Low, p.High))
		}
	}
	return out
}

// Another seed gives the same within Monte Carlo error; other published values
// do not, which shows that the comparison sees a difference.
func TestMonteCarloError(t *testing.T) {
	if testing.Short() || raced {
		t.Skip("two more fits")
	}
	committed, _ := species.LeopardFit()
	o := fit.Options{Seed: 99, Burn: 1200, Keep: 150, Thin: 25}
	r, err := fit.Run(fit.Leopard(), o)
	if err != nil {
		t.Fatal(err)
	}
	for _, off := range apart(committed, r.File()) {
		t.Errorf("another seed: %s", off)
	}
	d := fit.Leopard()
	for i := range d.Durations {
		d.Durations[i].Days *= 1.1
	}
	r, err = fit.Run(d, o)
	if err != nil {
		t.Fatal(err)
	}
	if off := apart(committed, r.File()); len(off) == 0 {
		t.Error("durations ten in a hundred longer, and the fit is said to be the same")
	}
}
