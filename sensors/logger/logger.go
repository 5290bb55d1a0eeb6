// Package logger reads a data logger's CSV into readings.
//
// It does not watch a file nor keep anything, and it invents no value: what it
// refuses or assumes stands in the log's notes, and where a file does not tell
// what it means it is refused with a sentence. Files are in °C or °F, percent
// or ratio, any zone; readings are °C, a ratio and UTC.
package logger

import (
	"io"
	"time"

	"clutchd/incubation"
)

// Options say what a file may not. The zero value is for a file in UTC that
// names its unit or whose temperatures make it plain.
type Options struct {
	Zone  *time.Location // of times without a zone; nil: what the header says, else UTC
	Unit  string         // "C" or "F"; "": what the header says, else what is plausible
	Probe string         // of the readings
	Start time.Time      // zero of a column that counts seconds, minutes, hours or days
}

// A Log is what a file held.
type Log struct {
	Readings []incubation.Reading // by time, no two at one time
	Unit     string               // "C" or "F": of the file
	Doubled  int                  // rows left out because their time was there already
	Backward int                  // times that the clock stepped back
	Refused  int                  // lines that hold no believable reading
	Gaps     []Gap                // stretches of more than five intervals
	Interval time.Duration        // the median step; 0 with fewer than two readings
	Notes    []string             // for the keeper, one sentence each
}

// A Gap is a stretch without readings: from the last before to the first
// after it.
type Gap struct{ From, To time.Time }

// Read reads a file to its end. A line that holds no reading costs itself and
// is noted with its number. The error is one sentence; with it the log is
// zero. It holds about a hundred bytes a row while it works, not the file.
func Read(r io.Reader, o Options) (Log, error) {
	if err := checkUnit(o.Unit); err != nil {
		return Log{}, err
	}
	f := &file{options: o, lines: newLines(r)}
	if err := f.readHeader(); err != nil {
		return Log{}, err
	}
	if err := f.readRows(); err != nil {
		return Log{}, err
	}
	order, err := f.dateOrder()
	if err != nil {
		return Log{}, err
	}
	log := Log{Unit: f.unit()}
	log.Readings = f.readings(&log, order)
	if len(log.Readings) == 0 {
		return Log{}, f.nothing()
	}
	log.tidy(f)
	log.Refused = f.notes.refused
	log.Notes = f.notes.all()
	return log, nil
}
