package logger

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"time"

	"clutchd/incubation"
)

// Write writes readings in the plainest form that Read takes, with the header
// time,celsius,humidity_ratio. Readings without a temperature are left out;
// quality is not written.
func Write(w io.Writer, readings []incubation.Reading) error {
	b := bufio.NewWriter(w)
	b.WriteString("time,celsius,humidity_ratio\n") // its error is Flush's
	for _, r := range readings {
		if r.Has&incubation.Temperature == 0 {
			continue
		}
		humidity := ""
		if r.Has&incubation.RelativeHumidity != 0 {
			humidity = decimal(float64(r.Humidity))
		}
		fmt.Fprintf(b, "%s,%s,%s\n", r.Time.UTC().Format(time.RFC3339Nano),
			decimal(float64(r.Celsius)), humidity)
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("write the log: %w", err)
	}
	return nil
}

func decimal(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
