package book

import (
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"clutchd/incubation"
)

// A Problem says why an entry does not make sense, in one sentence for the
// keeper.
type Problem struct {
	Field string // the field of the entry or of its data that is to blame
	Text  string
}

// Error gives the sentence.
func (p *Problem) Error() string { return p.Text }

func problem(field, format string, args ...any) *Problem {
	return &Problem{Field: field, Text: fmt.Sprintf(format, args...)}
}

// first gives the first problem there is.
func first(problems ...*Problem) *Problem {
	for _, p := range problems {
		if p != nil {
			return p
		}
	}
	return nil
}

// Lengths that an entry's words may have: room enough for any real name,
// bounds enough for any screen or topic. Judgement.
const (
	maxID    = 40
	maxName  = 80
	maxMark  = 8
	maxCause = 200
	maxText  = 2000
	maxData  = 16 << 10
)

// CheckID gives what is wrong with an id, nil if nothing is: one to forty
// lower-case letters, digits and dashes, fit for a topic level, a file name or
// part of an address. field is what the sentence calls it.
func CheckID(field, id string) *Problem {
	if id == "" {
		return problem(field, "%s is empty", field)
	}
	if len(id) > maxID {
		return problem(field, "%s is longer than %d characters", field, maxID)
	}
	for i := range len(id) {
		if c := id[i]; c != '-' && (c < '0' || c > '9') && (c < 'a' || c > 'z') {
			return problem(field,
				"%s %q may hold only lower-case letters, digits and dashes", field, id)
		}
	}
	return nil
}

// checkWords accepts one line of printable text that is not blank.
func checkWords(field, text string, limit int) *Problem {
	if strings.TrimSpace(text) == "" {
		return problem(field, "%s is empty", field)
	}
	return checkText(field, text, limit)
}

// checkText accepts text that may be empty; line breaks only in long text.
func checkText(field, text string, limit int) *Problem {
	if utf8.RuneCountInString(text) > limit {
		return problem(field, "%s is longer than %d characters", field, limit)
	}
	for _, r := range text {
		if unicode.IsControl(r) && (limit < maxText || r != '\n' && r != '\r' && r != '\t') {
			return problem(field, "%s holds a character that cannot be shown", field)
		}
	}
	return nil
}

// oneOf accepts one of a few words.
func oneOf(field, word string, words ...string) *Problem {
	if slices.Contains(words, word) {
		return nil
	}
	words = slices.DeleteFunc(slices.Clone(words), func(w string) bool { return w == "" })
	last := len(words) - 1
	return problem(field, "%s is %s or %s, not %.40q", field, strings.Join(words[:last], ", "), words[last], word)
}

// Temperatures that a keeper may write down: outside them it is a slip of the
// finger or the wrong unit. Judgement.
const minCelsius, maxCelsius = 0, 50

func checkCelsius(field string, c incubation.Celsius) *Problem {
	if c >= minCelsius && c <= maxCelsius {
		return nil
	}
	return problem(field, "%g °C is outside %d to %d °C", float64(c), minCelsius, maxCelsius)
}

func checkRange(field string, v, low, high float64) *Problem {
	if v >= low && v <= high {
		return nil
	}
	return problem(field, "%s %g is outside %g to %g", field, v, low, high)
}

// Years in which an entry may happen: what JSON can write, and no clock that
// started at its epoch.
const minYear, maxYear = 1990, 2200

func checkTime(field string, t time.Time) *Problem {
	if t.IsZero() {
		return problem(field, "%s is missing", field)
	}
	if y := t.UTC().Year(); y < minYear || y > maxYear {
		return problem(field, "%s is in the year %d", field, y)
	}
	return nil
}
