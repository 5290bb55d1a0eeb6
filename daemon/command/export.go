package command

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"clutchd/daemon"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

const exportUsage = "export [-config FILE] [-data DIR] FOLDER"

// aboutExport goes beside what is exported, to whoever opens it without the
// program.
const aboutExport = `book.json: the book's entries, in order. A sex in it is what somebody saw.
readings-PROBE.csv: a probe's readings as it gave them, UTC, in Celsius,
    without the offset that the book adds; humidity as a ratio.
photos: pictures of animals, named as the book's entries name them.

No estimate is in these files. Whoever makes one from them should know:
` + incubation.Caution + "\n"

// Export writes the book as JSON, each probe's readings as CSV and the
// pictures into a new folder, and what they are.
func Export(ctx context.Context, c Call) error {
	var at where
	out, err := c.one(exportUsage, at.define)
	if err != nil {
		return err
	}
	r, err := at.openExisting(ctx)
	if err != nil {
		return err
	}
	defer r.close()
	if err := makeNew(out); err != nil {
		return err
	}
	if err := exportBook(ctx, r, filepath.Join(out, "book.json")); err != nil {
		return err
	}
	if err := writeFile(filepath.Join(out, "README.txt"), func(w *bufio.Writer) error {
		_, err := w.WriteString(aboutExport)
		return err
	}); err != nil {
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
	fmt.Fprintf(c.Stdout, "%s: the book, and %s of %s\n", out, counted(total, "reading"),
		counted(len(probes), "probe"))
	folder, err := at.folder()
	if err != nil {
		return err
	}
	if n, err := exportPhotos(folder, out); n > 0 || err != nil {
		fmt.Fprintf(c.Stdout, "%s: %s\n", filepath.Join(out, daemon.PhotosFolder), counted(n, "picture"))
		return err
	}
	return nil
}

// makeNew makes a folder that must not be there yet.
func makeNew(folder string) error {
	err := os.Mkdir(folder, 0o700)
	switch {
	case errors.Is(err, fs.ErrExist):
		return hint(fmt.Errorf("make the folder: %w", err), "name a folder that does not exist yet")
	case errors.Is(err, fs.ErrNotExist):
		return hint(fmt.Errorf("make the folder: %w", err), "make "+filepath.Dir(folder)+" first")
	case err != nil:
		return fmt.Errorf("make the folder: %w", err)
	}
	return nil
}

func exportBook(ctx context.Context, r room, path string) error {
	entries, err := r.entries(ctx)
	if err != nil {
		return err
	}
	if entries == nil {
		entries = []book.Entry{} // JSON's [], not null
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
		for reading, err := range r.readings(ctx, probe, always) {
			if ctx.Err() != nil {
				return ctx.Err()
			}
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
			fmt.Fprintf(w, "%s,%s,%s,%s\n", reading.Time.Format(time.RFC3339), celsius, humidity,
				reading.Quality)
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
