package logger

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"strconv"
	"strings"
	"time"

	"clutchd/incubation"
)

// A file is one being read.
type file struct {
	options Options
	zone    *time.Location // from the header; nil: it names none
	lines   *lines
	head    header
	rows    rows
	notes   notes
	failed  string // the first line that held no reading, and why
}

// A row is a line that holds a time and a temperature, in the file's units.
type row struct {
	stamp
	line        int32
	temperature float64 // NaN: none, but a humidity
	humidity    float64 // NaN: none
	quality     incubation.Quality
}

// rows keeps rows in blocks: growing one slice would hold them twice.
type rows struct {
	blocks [][]row
	count  int
}

const blockRows = 4096

func (rs *rows) add(r row) {
	last := len(rs.blocks) - 1
	if last < 0 || len(rs.blocks[last]) == blockRows {
		rs.blocks = append(rs.blocks, make([]row, 0, blockRows))
		last++
	}
	rs.blocks[last] = append(rs.blocks[last], r)
	rs.count++
}

func (rs *rows) all() iter.Seq[*row] {
	return func(yield func(*row) bool) {
		for _, block := range rs.blocks {
			for i := range block {
				if !yield(&block[i]) {
					return
				}
			}
		}
	}
}

func (f *file) readRows() error {
	var fields []string
	for {
		l, err := f.lines.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if l.blank() {
			continue
		}
		if l.tooLong {
			f.refuse(l.number, errors.New("the line is too long"))
			continue
		}
		fields, err = split(l.text, f.head.separator, fields)
		if err != nil {
			f.refuse(l.number, err)
			continue
		}
		r, err := f.row(fields)
		if err != nil {
			f.refuse(l.number, err)
			continue
		}
		r.line = int32(min(l.number, math.MaxInt32))
		f.rows.add(r)
	}
}

func (f *file) refuse(line int, err error) {
	text := fmt.Sprintf("line %d: %v", line, err)
	if f.failed == "" {
		f.failed = text
	}
	f.notes.refuse(text)
}

// nothing says why a file has no reading at all.
func (f *file) nothing() error {
	if f.failed == "" {
		return errors.New("read the log: there is no row below its header")
	}
	return fmt.Errorf("read the log: no line holds a reading; the first is %s", f.failed)
}

// row reads a line's fields.
func (f *file) row(fields []string) (row, error) {
	st, err := f.when(fields)
	if err != nil {
		return row{}, err
	}
	if n := len(fields); f.head.width > 0 && n > f.head.width && fields[f.head.width] != "" {
		return row{}, fmt.Errorf("it has %d fields under %d names: is a decimal comma taken "+
			"for a separator?", n, f.head.width)
	}
	r := row{stamp: st, temperature: math.NaN(), humidity: math.NaN()}
	r.quality = qualityOf(field(fields, f.head.quality))
	dry := field(fields, f.head.humidity) == ""
	// A file that says the quality of its rows may mean one without a
	// temperature; in another it is a sensor that dropped out.
	if text := field(fields, f.head.temperature); text != "" || dry || f.head.quality < 0 {
		value, ok := parseNumber(text)
		if !ok {
			return row{}, fmt.Errorf("%.30q is no temperature", text)
		}
		r.temperature = value
	}
	if text := field(fields, f.head.humidity); !dry {
		r.humidity = math.Inf(1) // not believable, unless it is a number
		if value, ok := parseNumber(strings.TrimSpace(strings.TrimSuffix(text, "%"))); ok {
			r.humidity = value
		}
	}
	return r, nil
}

// qualityOf gives the doubt that a row says its reading was in. A word of
// somebody else's is none of ours; that humidity was saturated is told by its
// value.
func qualityOf(word string) (q incubation.Quality) {
	if q.UnmarshalText([]byte(word)) != nil || !q.Doubtful() {
		return incubation.Good
	}
	return q
}

func (f *file) when(fields []string) (st stamp, err error) {
	h := f.head
	var text string
	var ok bool
	switch {
	case h.stamp >= 0:
		text = field(fields, h.stamp)
		st, ok = parseStamp(text)
	case h.date >= 0 && h.clock >= 0:
		text = field(fields, h.date) + " " + field(fields, h.clock)
		var rest string
		if st, rest, ok = parseDate(field(fields, h.date)); ok && rest == "" {
			st, ok = st.at(field(fields, h.clock))
		} else {
			ok = false
		}
	case h.date >= 0:
		text = field(fields, h.date)
		st, ok = parseStamp(text)
	default:
		text = field(fields, h.count)
		st, ok = f.counted(text)
	}
	if !ok {
		return stamp{}, fmt.Errorf("%.40q is no time", text)
	}
	return st, nil
}

// counted gives the time of a row that counts from the options' start.
func (f *file) counted(text string) (stamp, bool) {
	n, ok := parseNumber(text)
	after := n * float64(f.head.per)
	if !ok || math.Abs(after) > float64(100*365*day) {
		return stamp{}, false
	}
	at := f.options.Start.Add(time.Duration(math.Round(after)))
	year := at.UTC().Year()
	if year < firstYear || year > lastYear {
		return stamp{}, false
	}
	return stamp{nanos: at.UnixNano()}, true
}

// field gives a field, "" if the line is too short or there is no such column.
func field(fields []string, i int) string {
	if i < 0 || i >= len(fields) {
		return ""
	}
	return fields[i]
}

// parseNumber reads a number with a decimal point or comma; no infinity, no
// thousands.
func parseNumber(text string) (float64, bool) {
	if text == "" || strings.Trim(text, "0123456789+-.,eE") != "" {
		return 0, false
	}
	if strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		text = strings.Replace(text, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, false
	}
	return v, true
}
