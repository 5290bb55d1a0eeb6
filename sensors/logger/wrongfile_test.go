package logger_test

import (
	"errors"
	"math/rand/v2"
	"strings"
	"testing"

	"clutchd/sensors/logger"
)

// Files that a keeper in a hurry hands over in place of a log.
func TestReadWrongFiles(t *testing.T) {
	noise := make([]byte, 1<<20)
	for i, r := 0, rand.New(rand.NewPCG(1, 2)); i < len(noise); i++ {
		noise[i] = byte(r.Uint32())
	}
	for _, row := range []struct{ sentence, text, want string }{
		{
			"a spreadsheet is a packed archive", "PK\x03\x04\x14\x00\x06\x00,;\n",
			"a spreadsheet or an archive",
		},
		{"noise is not text", string(noise), "not text"},
		{
			"a decimal comma between commas would lose its fraction",
			"time,celsius\n2026-03-01T00:00:00Z,28,25\n2026-03-01T00:10:00Z,28,50\n", "decimal comma",
		},
		{
			"names of any length are told in short",
			strings.Repeat("name,", 5000) + "\n1,2\n", "no line names",
		},
		{
			"a header without a time quotes no more than a line of it",
			"celsius," + strings.Repeat("x", 5000) + "\n1,2\n", "tells date and time",
		},
	} {
		log, err := logger.Read(strings.NewReader(row.text), logger.Options{})
		wantRefused(t, row.sentence, log, err, row.want)
		if err != nil && len(err.Error()) > 400 {
			t.Errorf("%s: the error has %d characters", row.sentence, len(err.Error()))
		}
	}
}

// A row with one field too many costs itself, and is noted with its number.
func TestReadRowTooWide(t *testing.T) {
	const text = "time,celsius\n2026-03-01T00:00:00Z,28\n" +
		"2026-03-01T00:10:00Z,28,5\n2026-03-01T00:20:00Z,29,\n"
	log, err := logger.Read(strings.NewReader(text), logger.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(log.Readings) != 2 || log.Refused != 1 {
		t.Errorf("%d readings, %d refused; want 2 and 1: an empty field at the end is none",
			len(log.Readings), log.Refused)
	}
	if notes := strings.Join(log.Notes, "\n"); !strings.Contains(notes,
		"line 3: it has 3 fields under 2 names") {
		t.Errorf("no note names line 3:\n%s", notes)
	}
}

func TestReadWithoutStart(t *testing.T) {
	_, err := logger.Read(strings.NewReader("minute,celsius\n0,28\n"), logger.Options{})
	if !errors.Is(err, logger.ErrNoStart) {
		t.Errorf("minutes from an unknown start: %v, want ErrNoStart", err)
	}
}
