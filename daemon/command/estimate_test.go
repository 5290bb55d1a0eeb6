package command_test

import (
	"bufio"
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/command"
	"clutchd/incubation"
)

// season writes a record of so many days at 10 s, with a night missing.
func season(t testing.TB, days int) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "season.csv")
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	w := bufio.NewWriter(f)
	fmt.Fprintln(w, "time,celsius")
	began := time.Date(2026, time.March, 1, 0, 0, 0, 0, time.UTC)
	for i := range days * 8640 {
		if i > 100_000 && i < 103_000 {
			continue
		}
		at := began.Add(time.Duration(i) * 10 * time.Second)
		fmt.Fprintf(w, "%s,%.2f\n", at.Format(time.RFC3339), 30.3+0.3*math.Sin(float64(i)/90))
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return file
}

func estimate(t testing.TB, args ...string) string {
	t.Helper()
	var out bytes.Buffer
	if err := command.Estimate(command.Call{Args: args, Stdout: &out, Stderr: &out}); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// The text says what it is worth in the words that the pages use.
func TestEstimateSaysWhatItIsWorth(t *testing.T) {
	text := strings.Join(strings.Fields(estimate(t, "-position", "box-air", "-accuracy", "1", season(t, 13))), " ")
	for _, want := range []string{
		incubation.Caution, "guessed across gaps", "a probe in the air of the box, right to within 1 K",
		"is what the literature does not know",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("does not say %q:\n%s", want, text)
		}
	}
}

// What a keeper waits for: 60 days at 10 s, from the file to the last line,
// what would narrow it included. The goal is a second.
func BenchmarkEstimateOfASeason(b *testing.B) {
	file := season(b, 60)
	for b.Loop() {
		estimate(b, "-position", "box-air", "-accuracy", "0.5", file)
	}
}
