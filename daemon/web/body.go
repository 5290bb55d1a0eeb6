package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"unicode/utf8"

	"clutchd/incubation/book"
)

// readJSON reads one JSON object and nothing behind it; a name that is not
// known is an error, so that a slip of the pen is not silently dropped. v is
// the zero value after an error.
func readJSON[T any](body io.Reader, v *T) error {
	text, err := io.ReadAll(body)
	if err != nil {
		if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
			return err
		}
		return refused{http.StatusBadRequest, problem{Text: "the request did not arrive whole"}}
	}
	d := json.NewDecoder(strings.NewReader(string(text)))
	d.DisallowUnknownFields()
	err = d.Decode(v)
	if err == nil && d.More() {
		err = errors.New("something follows the object")
	}
	if err == nil {
		_, err = d.Token()
		if errors.Is(err, io.EOF) {
			return nil
		}
		err = errors.New("something follows the object")
	}
	*v = *new(T)
	return refused{
		http.StatusBadRequest,
		problem{Text: "the request is not the JSON that is wanted: " + jsonSays(err)},
	}
}

// jsonSays tells what is wrong with a JSON text without the program's own
// names for what it wanted.
func jsonSays(err error) string {
	if kind, ok := errors.AsType[*json.UnmarshalTypeError](err); ok {
		if kind.Field == "" {
			return "it is of the kind " + kind.Value
		}
		return kind.Field + " is of the kind " + kind.Value
	}
	switch {
	case errors.Is(err, io.EOF):
		return "it is empty"
	case errors.Is(err, io.ErrUnexpectedEOF):
		return "it ends in the middle"
	}
	return strings.TrimPrefix(err.Error(), "json: ")
}

// readEntry reads an entry as a program sends it: the book gives the number
// and the time it was made.
func readEntry(body io.Reader) (book.Entry, error) {
	var e book.Entry
	if err := readJSON(body, &e); err != nil {
		return book.Entry{}, err
	}
	for _, p := range []struct {
		bad         bool
		field, text string
	}{
		{e.Seq != 0, "seq", "seq is given by the book"},
		{!e.Made.IsZero(), "made", "made is given by the book"},
		{e.Kind == "", "kind", "kind is missing"},
		{len(e.Data) == 0, "data", "data is missing"},
		{len(e.Request) > 64, "request", "request is longer than 64 bytes"},
		{len(e.By) > 80, "by", "by is longer than 80 bytes"},
		{len(e.Zone) > 60, "zone", "zone is longer than 60 bytes"},
		{!utf8.ValidString(string(e.Data)), "data", "data is not UTF-8"},
		{e.At.Year() > 2200, "at", fmt.Sprintf("at is in the year %d", e.At.Year())},
	} {
		if p.bad {
			return book.Entry{}, wrong(p.field, p.text)
		}
	}
	e.At = e.At.UTC()
	return e, nil
}
