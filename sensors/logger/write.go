package logger

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"time"

	"clutchd/incubation"
)

// Write writes readings so that Read gives them back, with the header
// time,celsius,humidity_ratio,quality.
func Write(w io.Writer, readings []incubation.Reading) error {
	b := bufio.NewWriter(w)
	b.WriteString("time,celsius,humidity_ratio,quality\n") // its error is Flush's
	for _, r := range readings {
		celsius, humidity := "", ""
		if r.Has&incubation.Temperature != 0 {
			celsius = decimal(float64(r.Celsius))
		}
		if r.Has&incubation.RelativeHumidity != 0 {
			humidity = decimal(float64(r.Humidity))
		}
		fmt.Fprintf(b, "%s,%s,%s,%s\n", r.Time.UTC().Format(time.RFC3339Nano), celsius, humidity,
			r.Quality)
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("write the log: %w", err)
	}
	return nil
}

func decimal(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
