package logger

import (
	"strings"
	"time"
)

// parseClock reads a time of day, 10:05, 10:05:30.5 or 10:05 pm, as
// nanoseconds into the day.
func parseClock(s string) (nanos int64, ok bool) {
	s, late, half := cutHalf(s)
	h, s := digits(s)
	if s == "" || s[0] != ':' {
		return 0, false
	}
	m, s := digits(s[1:])
	hours, minutes, seconds := number(h), number(m), 0
	if s != "" && s[0] == ':' {
		var sec string
		sec, s = digits(s[1:])
		if len(sec) != 2 {
			return 0, false
		}
		seconds = number(sec)
		nanos, s = fraction(s)
	}
	switch {
	case s != "" || len(h) == 0 || len(h) > 2 || len(m) != 2 || minutes > 59 || seconds > 59:
		return 0, false
	case half && (hours == 0 || hours > 12) || hours > 23:
		return 0, false
	case half:
		hours %= 12
		if late {
			hours += 12
		}
	}
	return nanos + int64(hours*3600+minutes*60+seconds)*int64(time.Second), true
}

// fraction reads decimals of a second; what lies beyond the ninth is cut off.
func fraction(s string) (nanos int64, rest string) {
	if s == "" || s[0] != '.' && s[0] != ',' {
		return 0, s
	}
	d, after := digits(s[1:])
	if d == "" {
		return 0, s
	}
	for i := range 9 {
		nanos *= 10
		if i < len(d) {
			nanos += int64(d[i] - '0')
		}
	}
	return nanos, after
}

// cutHalf takes am or pm off the end.
func cutHalf(s string) (rest string, late, half bool) {
	bare := strings.ToLower(strings.ReplaceAll(s, ".", ""))
	late = strings.HasSuffix(bare, "pm")
	if !late && !strings.HasSuffix(bare, "am") {
		return s, false, false
	}
	end := strings.LastIndexAny(s, "aApP")
	return strings.TrimRight(s[:end], " "), late, true
}

// cutZone takes Z, UTC, GMT or an offset off the end of a time of day.
func cutZone(s string) (rest string, east time.Duration, zoned bool) {
	for _, name := range []string{"Z", "z", "UTC", "GMT"} {
		if cut, ok := strings.CutSuffix(s, name); ok {
			return strings.TrimRight(cut, " "), 0, true
		}
	}
	i := strings.LastIndexAny(s, "+-")
	if i < 0 {
		return s, 0, false
	}
	h, after := digits(s[i+1:])
	m := strings.TrimPrefix(after, ":")
	if len(h) == 4 && after == "" {
		h, m = h[:2], h[2:]
	}
	tail, junk := digits(m)
	if len(h) != 2 || junk != "" || len(tail) != 0 && len(tail) != 2 ||
		number(h) > 14 || number(tail) > 59 {
		return s, 0, false
	}
	east = time.Duration(number(h))*time.Hour + time.Duration(number(tail))*time.Minute
	if s[i] == '-' {
		east = -east
	}
	return strings.TrimRight(s[:i], " "), east, true
}
