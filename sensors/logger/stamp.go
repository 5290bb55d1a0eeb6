package logger

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// A stamp is a time as a file writes it, as far as one line tells.
type stamp struct {
	form form
	// nanos since 1970, UTC or by the wall; of a date of which the order of
	// day and month is open: into the day.
	nanos int64
	a, b  uint8  // the first two numbers of such a date
	c     uint16 // and the third
}

type form uint8

const (
	absolute form = iota // nanos are UTC
	wall                 // nanos are what a clock on the wall showed
	open                 // the date is a, b, c; nanos by the wall
	openUTC              // the date is a, b, c; nanos are UTC
)

const day = int64(24 * time.Hour)

// The years that a logger's clock may show.
const firstYear, lastYear = 1970, 2199

// parseStamp reads a date and time, or seconds or milliseconds since 1970.
func parseStamp(s string) (stamp, bool) {
	if st, ok := parseUnix(s); ok {
		return st, true
	}
	st, rest, ok := parseDate(s)
	if !ok || rest == "" {
		return st, ok
	}
	rest = strings.TrimLeft(strings.TrimLeft(rest, ","), " ")
	if rest[:min(1, len(rest))] == "T" || rest[:min(1, len(rest))] == "t" {
		rest = rest[1:]
	}
	return st.at(rest)
}

// at adds the time of day, with a zone perhaps, to a date.
func (st stamp) at(clock string) (stamp, bool) {
	clock, east, zoned := cutZone(clock)
	nanos, ok := parseClock(clock)
	if !ok {
		return stamp{}, false
	}
	st.nanos += nanos
	if zoned {
		st.nanos -= int64(east)
		st.form = map[form]form{wall: absolute, open: openUTC}[st.form]
	}
	return st, true
}

// parseUnix reads 9 or 10 digits as seconds, 12 or 13 as milliseconds.
func parseUnix(s string) (stamp, bool) {
	whole, _, _ := strings.Cut(s, ".")
	unit := int64(time.Second)
	switch len(whole) {
	case 9, 10:
	case 12, 13:
		unit = int64(time.Millisecond)
	default:
		return stamp{}, false
	}
	n, ok := parseNumber(s)
	if !ok || strings.Trim(whole, "0123456789") != "" {
		return stamp{}, false
	}
	if n >= 7258118400*float64(time.Second)/float64(unit) { // the year 2200
		return stamp{}, false
	}
	sec, part := math.Modf(n)
	nanos := int64(sec)*unit + int64(math.Round(part*1e6))*(unit/1e6)
	return stamp{nanos: nanos}, true
}

// parseDate reads a date at the start of s: year first, a month by name, or
// three numbers whose order is left open.
func parseDate(s string) (st stamp, rest string, ok bool) {
	x, s := digits(s)
	if len(x) == 0 || len(x) > 4 || s == "" {
		return stamp{}, "", false
	}
	separator := s[0]
	y, s := digits(s[1:])
	month := number(y)
	if y == "" {
		month, s = monthName(s)
	}
	if s == "" || s[0] != separator || !strings.ContainsRune("-/. ", rune(separator)) {
		return stamp{}, "", false
	}
	z, s := digits(s[1:])
	named := y == ""
	switch {
	case len(y) > 2 || len(z) == 0 || len(z) > 4 || len(z) == 3 || len(x) == 3 ||
		separator == ' ' && !named:
		return stamp{}, "", false
	case len(x) == 4 && len(z) <= 2 && !named:
		st.nanos, ok = midnight(number(x), month, number(z))
		st.form = wall
		return st, s, ok
	case named && len(x) <= 2 && len(z) != 1:
		st.nanos, ok = midnight(century(number(z)), month, number(x))
		st.form = wall
		return st, s, ok
	case len(x) > 2 || len(z) == 1:
		return stamp{}, "", false
	}
	st = stamp{form: open, a: uint8(number(x)), b: uint8(number(y)), c: uint16(number(z))}
	return st, s, st.possible()
}

func century(year int) int {
	if year < 100 {
		return year + 2000
	}
	return year
}

func monthName(s string) (month int, rest string) {
	n := 0
	for n < len(s) && (s[n]|0x20) >= 'a' && (s[n]|0x20) <= 'z' {
		n++
	}
	if n < 3 {
		return 0, s
	}
	for m := time.January; m <= time.December; m++ {
		full := m.String()
		if strings.EqualFold(s[:n], full[:min(n, len(full))]) && (n == 3 || n == len(full)) {
			return int(m), s[n:]
		}
	}
	return 0, s
}

// midnight gives a date's start as if UTC; ok is false for one that no
// calendar has.
func midnight(year, month, date int) (nanos int64, ok bool) {
	t := time.Date(year, time.Month(month), date, 0, 0, 0, 0, time.UTC)
	ok = year >= firstYear && year <= lastYear && t.Day() == date && int(t.Month()) == month
	if !ok {
		return 0, false
	}
	return t.UnixNano(), true
}

// digits cuts the digits off the start of s.
func digits(s string) (d, rest string) {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return s[:n], s[n:]
}

// number gives the value of a few digits, 0 for none.
func number(d string) int {
	n, err := strconv.Atoi(d)
	if err != nil {
		return 0
	}
	return n
}
