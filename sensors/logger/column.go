package logger

import (
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// A column is what a header's name means.
type column struct {
	index int
	name  string
	kind  string // "stamp", "date", "clock", "count", "temperature", "humidity", "quality", ""
	unit  string
	per   time.Duration
	rank  int // of temperatures: how plainly the name says so
}

func classify(name string) column {
	words := wordsOf(name)
	has := func(any ...string) bool {
		return slices.ContainsFunc(any, func(w string) bool { return slices.Contains(words, w) })
	}
	c := column{name: name}
	if has("dew", "dewpoint", "alarm", "setpoint", "target", "battery", "vpd", "bulb", "index",
		"max", "min", "maximum", "minimum", "average", "stdev") && !has("time", "elapsed") {
		return c
	}
	if c.readTime(words, has); c.kind != "" {
		return c
	}
	switch {
	case len(words) == 1 && has("quality"):
		c.kind = "quality"
	case has("humidity", "rh", "%rh", "hum", "%", "rh%"):
		c.kind = "humidity"
		switch {
		case has("ratio"):
			c.unit = "ratio"
		case has("%", "%rh", "rh%", "percent"):
			c.unit = "percent"
		}
	case has("c", "°c", "degc", "celsius"):
		c.kind, c.unit, c.rank = "temperature", "C", 3
	case has("f", "°f", "degf", "fahrenheit"):
		c.kind, c.unit, c.rank = "temperature", "F", 2
	case has("temperature", "temp"):
		c.kind, c.rank = "temperature", 1
	case has("value", "t"):
		c.kind = "temperature"
	}
	return c
}

func (c *column) readTime(words []string, has func(...string) bool) {
	per := perOf(has)
	first := len(words) > 0 && slices.Contains([]string{
		"second", "seconds", "minute", "minutes",
		"hour", "hours", "days",
	}, words[0])
	switch {
	case has("timestamp", "datetime", "epoch", "unix") || has("date") && has("time"):
		c.kind = "stamp"
	case has("date"):
		c.kind = "date"
	case per > 0 && (first || has("elapsed", "time")):
		c.kind, c.per = "count", per
	case has("time"):
		c.kind = "clock"
	}
}

func perOf(has func(...string) bool) time.Duration {
	switch {
	case has("second", "seconds", "sec", "s"):
		return time.Second
	case has("minute", "minutes", "min"):
		return time.Minute
	case has("hour", "hours", "h"):
		return time.Hour
	case has("days"):
		return 24 * time.Hour
	}
	return 0
}

// wordsOf cuts a name into lower-case words; degree and percent signs belong
// to them. Other writings of the degree sign, Latin-1's lone byte among them,
// become one.
func wordsOf(name string) []string {
	if !utf8.ValidString(name) {
		name = strings.ReplaceAll(name, "\xb0", "°")
	}
	name = strings.NewReplacer("º", "°", "° ", "°", "℃", "°c", "℉", "°f").Replace(name)
	return strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return !unicode.IsLetter(r) && r != '°' && r != '%'
	})
}
