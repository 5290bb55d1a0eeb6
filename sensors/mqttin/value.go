package mqttin

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// numberAt accepts a JSON number, or a string that holds nothing but one.
func numberAt(document any, pointer string) (float64, error) {
	value, err := lookup(document, pointer)
	if err != nil {
		return 0, err
	}
	var text string
	switch v := value.(type) {
	case json.Number:
		text = v.String()
	case string:
		text = v
	default:
		return 0, fmt.Errorf("%s is not a number", kindOf(value))
	}
	if !plainNumber(text) {
		return 0, fmt.Errorf("text %.40q is not a number", text)
	}
	f, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil || math.IsInf(f, 0) || math.IsNaN(f) {
		return 0, fmt.Errorf("number %.40q: %w", text, errRange)
	}
	return f, nil
}

// plainNumber reports whether the text is a decimal number, spaces around it
// allowed: no hexadecimal, underscore, NaN or infinity, which ParseFloat
// would take.
func plainNumber(text string) bool {
	text = strings.TrimSpace(text)
	if strings.Trim(text, "0123456789+-.eE") != "" {
		return false
	}
	_, err := strconv.ParseFloat(text, 64)
	return err == nil || errors.Is(err, strconv.ErrRange)
}

// timeAt accepts RFC 3339 text or seconds since 1970.
func timeAt(document any, pointer string) (time.Time, error) {
	value, err := lookup(document, pointer)
	if err != nil {
		return time.Time{}, err
	}
	if text, ok := value.(string); ok {
		if t, err := time.Parse(time.RFC3339Nano, text); err == nil {
			return inYears(t.UTC())
		}
	}
	seconds, err := numberAt(document, pointer)
	if err != nil {
		return time.Time{}, err
	}
	if seconds < 0 || seconds > 1<<33 {
		return time.Time{}, fmt.Errorf("%g s since 1970: %w", seconds, errRange)
	}
	whole, fraction := math.Modf(seconds)
	return time.Unix(int64(whole), int64(fraction*1e9)).UTC(), nil
}

// inYears refuses times that the history could not hold.
func inYears(t time.Time) (time.Time, error) {
	if t.Year() < 1970 || t.Year() > 2242 {
		return time.Time{}, fmt.Errorf("year %d: %w", t.Year(), errRange)
	}
	return t, nil
}

func kindOf(value any) string {
	switch value.(type) {
	case bool:
		return "a truth value"
	case map[string]any:
		return "an object"
	case []any:
		return "an array"
	}
	return "text"
}
