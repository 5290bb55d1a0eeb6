package command

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"clutchd/incubation"
)

const exportUsage = "export [-config FILE] [-data DIR] FOLDER"

// Export writes the book as JSON and each probe's readings as CSV into a new
// folder.
func Export(ctx context.Context, c Call) error {
	var at where
	args, err := c.flags(exportUsage, at.define)
	if err != nil {
		return err
	}
	if len(args) != 1 {
		return &WrongCall{What: fmt.Sprintf("export takes one folder, not %d", len(args)), Hint: "usage: clutchd " + exportUsage}
	}
	out := args[0]
	if err := os.Mkdir(out, 0o700); err != nil {
		return hinted(fmt.Errorf("make the folder: %w", err), "give a folder that does not exist yet")
	}
	r, err := at.open(ctx)
	if err != nil {
		return err
	}
	defer r.close()
	if err := exportBook(ctx, r, filepath.Join(out, "book.json")); err != nil {
		return err
	}
	probes, err := r.probes(ctx)
	if err != nil {
		return err
	}
	total := 0
	for _, probe := range probes {
		n, left, err := exportReadings(ctx, r, probe, filepath.Join(out, "readings-"+probe+".csv"))
		if err != nil {
			return err
		}
		total += n
		if left > 0 {
			fmt.Fprintf(c.Stderr, "probe %s: %d damaged stretches left out\n", probe, left)
		}
	}
	fmt.Fprintf(c.Stdout, "%s: the book, and %d readings of %d probes\n", out, total, len(probes))
	return nil
}

func exportBook(ctx context.Context, r room, path string) error {
	entries, err := r.entries(ctx)
	if err != nil {
		return err
	}
	return writeFile(path, func(w *bufio.Writer) error {
		e := json.NewEncoder(w)
		e.SetIndent("", "  ")
		return e.Encode(entries)
	})
}

// exportReadings writes a probe's raw readings: import reads them back.
func exportReadings(ctx context.Context, r room, probe, path string) (n, left int, err error) {
	err = writeFile(path, func(w *bufio.Writer) error {
		fmt.Fprintln(w, "time,celsius,humidity_ratio,quality")
		for reading, err := range r.readings(ctx, probe) {
			if err != nil {
				left++
				continue
			}
			celsius, humidity := "", ""
			if reading.Has&incubation.Temperature != 0 {
				celsius = strconv.FormatFloat(float64(reading.Celsius), 'f', -1, 64)
			}
			if reading.Has&incubation.RelativeHumidity != 0 {
				humidity = strconv.FormatFloat(float64(reading.Humidity), 'f', -1, 64)
			}
			n++
			fmt.Fprintf(w, "%s,%s,%s,%s\n", reading.Time.Format(time.RFC3339), celsius, humidity, reading.Quality)
		}
		return nil
	})
	return n, left, err
}

func writeFile(path string, write func(*bufio.Writer) error) error {
	f, err := os.Create(path)
	if err != nil {
		return fmt.Errorf("export: %w", err)
	}
	w := bufio.NewWriter(f)
	err = write(w)
	if err == nil {
		err = w.Flush()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return fmt.Errorf("export %s: %w", path, err)
	}
	return nil
}
