package logger

import (
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// preamble is how many lines are searched for the header.
const preamble = 100

// A header says which column is what; -1: there is none.
type header struct {
	separator                          byte
	width                              int // columns; 0: unknown
	stamp, date, clock, count          int
	temperature, humidity, quality     int
	per                                time.Duration // what one of count is
	unit                               string        // of temperature: "C", "F", "" unknown
	ratio                              string        // of humidity: "ratio", "percent", "" unknown
	countName, stampName, humidityNote string
}

// readHeader finds the header among the first lines, or sees that the file
// begins with a row.
func (f *file) readHeader() error {
	var seen []line
	var near error
	for len(seen) < preamble {
		l, err := f.lines.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if l.number == 1 {
			if l.text, err = plain(l.text); err != nil {
				return err
			}
		}
		for _, separator := range []byte{'\t', ';', ','} {
			h, err := f.columns(l.text, separator)
			if err == nil {
				f.accept(h, l.number)
				return nil
			}
			if near == nil && !errors.Is(err, errNoHeader) {
				near = fmt.Errorf("read line %d as the log's header: %w", l.number, err)
			}
		}
		seen = append(seen, l)
	}
	f.lines.again = seen
	if f.bare(seen) {
		return nil
	}
	if near == nil {
		near = errors.New("find the log's columns: no line names a time and a temperature, " +
			"as \"time,celsius\" would")
	}
	return near
}

func quote(names []string) string { return fmt.Sprintf("%q", names) }

// plain takes a byte order mark off, and refuses what is not text in bytes.
func plain(text string) (string, error) {
	if strings.HasPrefix(text, "PK\x03\x04") {
		return "", errors.New("read the log: it is a spreadsheet or an archive; save it as CSV")
	}
	if strings.ContainsFunc(text, func(r rune) bool { return r < ' ' && r != '\t' }) &&
		!strings.HasPrefix(text, "\xff\xfe") && !strings.HasPrefix(text, "\xfe\xff") {
		return "", errors.New("read the log: it is not text")
	}
	if strings.HasPrefix(text, "\xff\xfe") || strings.HasPrefix(text, "\xfe\xff") {
		return "", errors.New("read the log: it is UTF-16; save it as CSV in UTF-8")
	}
	return strings.TrimPrefix(text, "\ufeff"), nil
}

func (f *file) accept(h header, number int) {
	f.head = h
	if number > 1 {
		f.notes.add("the header is line %d; what stands before it was left out", number)
	}
	if h.humidityNote != "" {
		f.notes.add("%s", h.humidityNote)
	}
	if h.count < 0 && f.options.Zone == nil {
		f.zone = headerZone(h.stampName)
		if f.zone != nil {
			f.notes.add("times are taken as %v, as the header says", f.zone)
		}
	}
}

var offset = regexp.MustCompile(`(?i)\b(?:utc|gmt) ?([+-])([0-9]{1,2})(?::?([0-9]{2}))?`)

// headerZone gives the zone that a header like "Date Time, GMT+01:00" names.
func headerZone(name string) *time.Location {
	m := offset.FindStringSubmatch(name)
	if m == nil {
		return nil
	}
	hours, _ := strconv.Atoi(m[2])
	minutes, _ := strconv.Atoi(m[3]) // "" is 0
	seconds := hours*3600 + minutes*60
	if hours > 14 || minutes > 59 {
		return nil
	}
	if m[1] == "-" {
		seconds = -seconds
	}
	return time.FixedZone(m[0], seconds)
}

// ErrNoStart: the file counts from a start that the options do not tell.
var ErrNoStart = errors.New("counts from a start that the file does not tell")

var errNoHeader = errors.New("no header")

// columns reads a line as a header. Its error is errNoHeader unless the line
// names some of what is needed.
func (f *file) columns(text string, separator byte) (header, error) {
	names, err := split(text, separator, nil)
	if err != nil || len(names) < 2 {
		return header{}, errNoHeader
	}
	h := header{
		separator: separator, width: len(names), stamp: -1, date: -1, clock: -1,
		count: -1, temperature: -1, humidity: -1, quality: -1,
	}
	var temperatures, humidities []column
	for i, name := range names {
		c := classify(name)
		c.index = i
		switch c.kind {
		case "stamp", "date", "clock", "count":
			h.time(c)
		case "temperature":
			temperatures = append(temperatures, c)
		case "humidity":
			humidities = append(humidities, c)
		case "quality":
			h.quality = i
		}
	}
	if h.clock >= 0 && h.stamp < 0 && h.date < 0 && h.count < 0 {
		h.stamp, h.clock = h.clock, -1 // a "time" without a date beside it holds both
	}
	timed := h.stamp >= 0 || h.date >= 0 || h.count >= 0
	if !timed && len(temperatures) == 0 {
		return header{}, errNoHeader
	}
	if !timed {
		return header{}, fmt.Errorf("no column of %.200s tells date and time: a log needs one, "+
			"as \"time\" in \"time,celsius\"", quote(names))
	}
	if err := h.pickTemperature(temperatures, f.options.Unit, names); err != nil {
		return header{}, err
	}
	h.pickHumidity(humidities)
	if h.count >= 0 && f.options.Start.IsZero() {
		return header{}, fmt.Errorf("%.60q %w", h.countName, ErrNoStart)
	}
	return h, nil
}

// time takes a column as one that tells the time; the first of a kind counts,
// and what tells the date goes before what counts from a start.
func (h *header) time(c column) {
	at := map[string]*int{"stamp": &h.stamp, "date": &h.date, "clock": &h.clock, "count": &h.count}
	if slot := at[c.kind]; *slot < 0 {
		*slot = c.index
		h.stampName += " " + c.name
		if c.kind == "count" {
			h.per, h.countName = c.per, c.name
		}
	}
	if h.stamp >= 0 || h.date >= 0 {
		h.count = -1
	}
}

func (h *header) pickTemperature(all []column, unit string, names []string) error {
	rank := func(c column) int {
		if unit != "" && c.unit == unit {
			return c.rank + 10
		}
		return c.rank
	}
	slices.SortStableFunc(all, func(a, b column) int { return rank(b) - rank(a) })
	switch {
	case len(all) == 0:
		return fmt.Errorf("no column of %.200s is a temperature", quote(names))
	case len(all) > 1 && rank(all[0]) == rank(all[1]):
		return fmt.Errorf("%q and %q are both temperatures: leave one in the file",
			all[0].name, all[1].name)
	case unit != "" && all[0].unit != "" && all[0].unit != unit:
		return fmt.Errorf("%q is in °%s, not in °%s", all[0].name, all[0].unit, unit)
	}
	h.temperature, h.unit = all[0].index, all[0].unit
	return nil
}

func (h *header) pickHumidity(all []column) {
	switch len(all) {
	case 0:
	case 1:
		h.humidity, h.ratio = all[0].index, all[0].unit
	default:
		h.humidityNote = fmt.Sprintf("%q and %q are both humidities: neither was read",
			all[0].name, all[1].name)
	}
}

// bare reports whether the file has no header but begins with a row: a time
// and a temperature, or a date, a time of day and a temperature.
func (f *file) bare(seen []line) bool {
	i := slices.IndexFunc(seen, func(l line) bool { return !l.blank() })
	if i < 0 {
		return false
	}
	for _, separator := range []byte{'\t', ';', ','} {
		fields, err := split(seen[i].text, separator, nil)
		if err != nil || len(fields) < 2 {
			continue
		}
		h := header{
			separator: separator, stamp: 0, date: -1, clock: -1, count: -1,
			temperature: 1, humidity: -1, quality: -1,
		}
		if _, isClock := parseClock(fields[1]); isClock && len(fields) > 2 {
			h.stamp, h.date, h.clock, h.temperature = -1, 0, 1, 2
		}
		f.head = h
		if _, err := f.row(fields); err == nil {
			f.notes.add("the file has no header: column %d is taken as the temperature",
				h.temperature+1)
			return true
		}
	}
	f.head = header{}
	return false
}
