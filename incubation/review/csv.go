package review

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"clutchd/incubation"
)

// csvHead is the first line of the file. celsius and humidity_ratio are as
// corrected; counts says whether no nearer probe spoke.
var csvHead = [...]string{
	"clutch", "eggs", "time", "probe", "place", "position", "celsius", "humidity_ratio", "quality", "counts",
}

// WriteCSV writes every reading beside a clutch's eggs as RFC 4180: record by
// record, in each probe by probe, in each by time (RFC 3339, UTC). Stretches
// that cannot be read are left out. The error is that of w.
func WriteCSV(w io.Writer, r Review, readings Readings) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	_ = out.Write(csvHead[:]) // the writer keeps its error for the end
	for i := range r.Records {
		eggs := r.marks(i)
		for _, p := range r.Records[i].Probes {
			for reading, err := range readings(p.Probe, p.From, p.To) {
				if err != nil {
					continue
				}
				if out.Write(p.line(r.Clutch, eggs, reading)) != nil {
					return fmt.Errorf("write readings: %w", out.Error())
				}
			}
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return fmt.Errorf("write readings: %w", err)
	}
	return nil
}

// marks joins the marks of the eggs of a record.
func (r *Review) marks(record int) string {
	var marks []string
	for _, e := range r.Eggs {
		if e.Record == record {
			marks = append(marks, e.Mark)
		}
	}
	return strings.Join(marks, " ")
}

// line is one reading as the file has it.
func (p Probe) line(clutch, eggs string, r incubation.Reading) []string {
	celsius, humidity := "", ""
	at := incubation.Placement{
		Offset: p.OffsetKelvin, Gain: p.Gain,
		Humidity: incubation.Correction{Offset: p.HumidityOffset, Gain: p.HumidityGain},
	}
	r = at.Correct(r)
	if r.Has&incubation.Temperature != 0 {
		celsius = strconv.FormatFloat(float64(thousandths(r.Celsius)), 'f', -1, 64)
	}
	if r.Has&incubation.RelativeHumidity != 0 {
		humidity = strconv.FormatFloat(float64(thousandths(r.Humidity)), 'f', -1, 64)
	}
	return []string{
		harmless(clutch), harmless(eggs), r.Time.UTC().Format(time.RFC3339), harmless(p.Probe), harmless(p.Place),
		harmless(string(p.Position)), celsius, humidity, r.Quality.String(), strconv.FormatBool(p.counts(r.Time)),
	}
}

func (p Probe) counts(t time.Time) bool {
	for _, s := range p.Counted {
		if s.covers(t) {
			return true
		}
	}
	return false
}

// harmless keeps a spreadsheet from taking a text for a formula: one that
// begins like one gets an apostrophe before it.
func harmless(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0])) {
		return "'" + text
	}
	return text
}
