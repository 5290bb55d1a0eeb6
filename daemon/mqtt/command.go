package mqtt

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"clutchd/daemon/monitor"
)

// The deeds of a Command.
const (
	Acknowledge = "acknowledge"
	Shelve      = "shelve"
)

// A Command is the payload of clutchd/<site>/command/alert/<alert>. It names
// an occurrence, so that one that comes late or twice does no harm.
type Command struct {
	Do         string `json:"do"`
	Occurrence string `json:"occurrence"`
	For        Period `json:"for,omitzero"` // of shelving, only
	By         string `json:"by,omitempty"` // who asks; "": not told
}

// A Period is a duration, written as in "1h30m".
type Period time.Duration

// MarshalText writes the period.
func (p Period) MarshalText() ([]byte, error) { return []byte(time.Duration(p).String()), nil }

// UnmarshalText accepts a number with h, m or s, and such joined.
func (p *Period) UnmarshalText(text []byte) error {
	d, err := time.ParseDuration(string(text))
	if err != nil {
		return fmt.Errorf("time %.20q: need a form like 1h30m", text)
	}
	*p = Period(d)
	return nil
}

const (
	maxCommand = 4 << 10 // bytes
	maxWord    = 200     // bytes of a name
	// longestShelf is the longest that an alert may be shelved for.
	longestShelf = 7 * 24 * time.Hour
)

// ParseCommand reads a command; what it refuses gives the zero Command.
func ParseCommand(payload []byte) (Command, error) {
	if len(payload) > maxCommand {
		return Command{}, fmt.Errorf("command of %d bytes: at most %d", len(payload), maxCommand)
	}
	decoder := json.NewDecoder(bytes.NewReader(payload))
	decoder.DisallowUnknownFields()
	var c Command
	if err := decoder.Decode(&c); err != nil {
		return Command{}, fmt.Errorf("command: %w", err)
	}
	if _, err := decoder.Token(); !errors.Is(err, io.EOF) {
		return Command{}, errors.New("command: more follows after the JSON object")
	}
	if err := c.check(); err != nil {
		return Command{}, fmt.Errorf("command: %w", err)
	}
	return c, nil
}

func (c Command) check() error {
	switch {
	case c.Do != Acknowledge && c.Do != Shelve:
		return fmt.Errorf("do %.40q: need %q or %q", c.Do, Acknowledge, Shelve)
	case c.Occurrence == "":
		return errors.New("occurrence is missing: copy it from the alert")
	case !word(c.Occurrence), !word(c.By):
		return errors.New("occurrence or by is too long or not plain text")
	case c.Do == Acknowledge && c.For != 0:
		return errors.New("for belongs to shelve")
	case c.Do == Shelve && (c.For <= 0 || time.Duration(c.For) > longestShelf):
		return fmt.Errorf("for %s: need more than nothing and at most %s",
			time.Duration(c.For), longestShelf)
	}
	return nil
}

// word accepts text that may stand in a log line and on a page. U+FFFD is
// what broken text has become by now.
func word(s string) bool {
	return len(s) <= maxWord && !strings.ContainsFunc(s, func(r rune) bool {
		return r < ' ' || r == 0x7f || r == utf8.RuneError
	})
}

// Change gives what the monitor's door is asked to do.
func (c Command) Change(alert string) monitor.Change {
	by := c.By
	if by == "" {
		by = "MQTT"
	}
	if c.Do == Shelve {
		return monitor.Change{Shelve: &monitor.Shelve{
			Alert: alert, Occurrence: c.Occurrence, For: time.Duration(c.For), By: by,
		}}
	}
	return monitor.Change{Acknowledge: &monitor.Acknowledge{
		Alert: alert, Occurrence: c.Occurrence, By: by,
	}}
}
