package review_test

import (
	"encoding/csv"
	"errors"
	"strconv"
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/review"
)

// What is read back from the file is what the probes said, corrected: every
// reading, once for eggs that lay together, with what counted.
func TestCSVRoundTrip(t *testing.T) {
	d := begun(t)
	d.write(on(30), book.KindEgg, book.EggData{Egg: "c-1-b", Box: "box-2"})
	box := steady(31).but(10, 25, 33).silent(20, 120).frozen(40, 30, 27)
	air := steady(30.25)
	traces := map[string]trace{"in-box": box, "in-air": air}
	r := of(t, d, 48, traces)
	var file strings.Builder
	if err := review.WriteCSV(&file, r, minutely(traces)); err != nil {
		t.Fatal(err)
	}
	if lines := strings.Count(file.String(), "\r\n"); lines != strings.Count(file.String(), "\n") {
		t.Error("lines do not end as RFC 4180 has it")
	}
	rows, err := csv.NewReader(strings.NewReader(file.String())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]bool{}
	for _, egg := range []struct {
		mark  string
		until float64 // in the first box
	}{{"A", 48}, {"B", 30}} {
		for at := on(1); at.Before(on(48)); at = at.Add(time.Minute) {
			if c, q, ok := box(at); ok && at.Before(on(egg.until)) {
				want[key(egg.mark, at, "in-box", c, q)] = true
			}
			c, q, _ := air(at)
			want[key(egg.mark, at, "in-air", c, q)] = true
		}
	}
	counted := 0
	for _, row := range rows[1:] {
		at, err := time.Parse(time.RFC3339, row[2])
		if err != nil {
			t.Fatal(err)
		}
		c, err := strconv.ParseFloat(row[6], 64)
		if err != nil {
			t.Fatal(err)
		}
		var q incubation.Quality
		if err := q.UnmarshalText([]byte(row[8])); err != nil {
			t.Fatal(err)
		}
		k := key(row[1], at, row[3], incubation.Celsius(c), q)
		if !want[k] {
			t.Fatalf("nobody read %q", row)
		}
		delete(want, k)
		if row[9] == "true" {
			counted++
		}
	}
	if len(want) != 0 {
		t.Errorf("%d readings are missing in the file", len(want))
	}
	if n := r.Records[0].Readings + r.Records[1].Readings; counted < n-4 || counted > n+4 {
		t.Errorf("%d rows count, of the records' %d readings", counted, n)
	}
}

func key(egg string, at time.Time, probe string, c incubation.Celsius, q incubation.Quality) string {
	return egg + " " + at.UTC().Format(time.RFC3339) + " " + probe + " " +
		strconv.FormatFloat(float64(c), 'f', 3, 64) + " " + q.String()
}

// A name that a spreadsheet would calculate is made a text; a temperature below
// zero stays a number.
func TestCSVIsNoFormula(t *testing.T) {
	r := review.Review{
		Clutch: "=1+2", Eggs: []review.Egg{{Mark: "+A", Record: 0}, {Mark: "B,\"b\"", Record: 0}},
		Records: []review.Record{{Probes: []review.Probe{{Probe: "@p", Place: "-x", Position: "\tnear", From: on(0), To: on(1.0 / 60)}}}},
	}
	var file strings.Builder
	readings := minutely(map[string]trace{"@p": steady(-3.5)})
	if err := review.WriteCSV(&file, r, readings); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(file.String())).ReadAll()
	if err != nil || len(rows) != 2 {
		t.Fatalf("%v, %d rows", err, len(rows))
	}
	got := strings.Join(rows[1], "|")
	if want := "'=1+2|'+A B,\"b\"|2026-03-02T00:00:00Z|'@p|'-x|'\tnear|-3.5||good|false"; got != want {
		t.Errorf("the row is %q, want %q", got, want)
	}
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("the disk is full") }

func TestCSVTellsOfAFullDisk(t *testing.T) {
	traces := map[string]trace{"in-box": steady(31)}
	r := of(t, begun(t), 60, traces)
	if err := review.WriteCSV(broken{}, r, minutely(traces)); err == nil || !strings.Contains(err.Error(), "the disk is full") {
		t.Errorf("a file that could not be written gives %v", err)
	}
}
