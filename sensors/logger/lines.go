package logger

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"
)

// longest is how long a line may be; nothing that a logger writes comes near.
const longest = 64 << 10

// lines gives a file line by line, and knows the number of the present one.
type lines struct {
	r      *bufio.Reader
	number int
	again  []line // to be given once more, before the reader is asked
}

// A line is a line of the file without its end.
type line struct {
	number  int
	text    string
	tooLong bool // text is empty
}

func newLines(r io.Reader) *lines {
	return &lines{r: bufio.NewReaderSize(r, longest)}
}

// next gives the next line, or io.EOF behind the last.
func (l *lines) next() (line, error) {
	if len(l.again) > 0 {
		first := l.again[0]
		l.again = l.again[1:]
		return first, nil
	}
	raw, err := l.r.ReadSlice('\n')
	l.number++
	one := line{number: l.number}
	for errors.Is(err, bufio.ErrBufferFull) {
		one.tooLong = true
		_, err = l.r.ReadSlice('\n')
	}
	if err != nil && (!errors.Is(err, io.EOF) || len(raw) == 0) {
		if !errors.Is(err, io.EOF) {
			err = fmt.Errorf("read line %d of the log: %w", l.number, err)
		}
		return line{}, err
	}
	if !one.tooLong {
		one.text = strings.TrimRight(string(raw), "\r\n")
	}
	return one, nil
}

// blank reports whether a line holds nothing to read: spaces, bare separators
// or a comment.
func (l line) blank() bool {
	rest := strings.Trim(l.text, " \t,;")
	return !l.tooLong && (rest == "" || rest[0] == '#')
}

// split cuts a line into fields, appended to into[:0]. A field in quotes may
// hold separators and doubled quotes, but no line end: a quote left open
// costs one line, not the rest of the file.
func split(text string, separator byte, into []string) ([]string, error) {
	into = into[:0]
	for {
		field, rest, more := strings.Cut(text, string(separator))
		if bare := strings.TrimLeft(text, " "); strings.HasPrefix(bare, `"`) {
			var ok bool
			if field, rest, more, ok = quoted(bare[1:], separator); !ok {
				return into, errors.New("a quote is not closed")
			}
		}
		into = append(into, strings.TrimSpace(field))
		if !more {
			return into, nil
		}
		text = rest
	}
}

// quoted reads a field from behind its opening quote.
func quoted(text string, separator byte) (field, rest string, more, ok bool) {
	var b strings.Builder
	for {
		part, after, closed := strings.Cut(text, `"`)
		b.WriteString(part)
		if !closed {
			return "", "", false, false
		}
		if !strings.HasPrefix(after, `"`) {
			_, rest, more = strings.Cut(after, string(separator))
			return b.String(), rest, more, true
		}
		b.WriteByte('"')
		text = after[1:]
	}
}
