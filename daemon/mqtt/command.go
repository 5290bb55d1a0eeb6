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

	"clutchd/alerts"
	"clutchd/daemon/monitor"
)

// The deeds of a Command.
const (
	Acknowledge = "acknowledge"
	Shelve      = "shelve"
	Unshelve    = "unshelve"
)

// A Command is the payload of clutchd/<site>/command/alert/<alert>. It names
// an occurrence, so that one that comes late or twice does no harm; a shelving
// until a time also ends when it was meant to, however late it comes.
type Command struct {
	Do         string    `json:"do"`
	Occurrence string    `json:"occurrence"`
	For        Period    `json:"for,omitzero"`   // of shelving: how long, or
	Until      time.Time `json:"until,omitzero"` // of shelving: until when
	By         string    `json:"by,omitempty"`   // who asks; "": not told
	Why        string    `json:"why,omitempty"`  // for the book
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
	maxWord    = 200     // bytes of a name or a reason
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
	c.Until = c.Until.UTC()
	if err := c.check(); err != nil {
		return Command{}, fmt.Errorf("command: %w", err)
	}
	return c, nil
}

func (c Command) check() error {
	switch {
	case c.Do != Acknowledge && c.Do != Shelve && c.Do != Unshelve:
		return fmt.Errorf("do %.40q: need %q, %q or %q", c.Do, Acknowledge, Shelve, Unshelve)
	case c.Occurrence == "":
		return errors.New("occurrence is missing: copy it from the alert")
	case !word(c.Occurrence), !word(c.By), !word(c.Why):
		return errors.New("occurrence, by or why is too long or not plain text")
	case c.Do != Shelve && (c.For != 0 || !c.Until.IsZero()):
		return errors.New("for and until belong to shelve")
	case c.Do == Shelve:
		return c.checkShelf()
	}
	return nil
}

// checkShelf looks at how long to shelve. Whether a time to shelve until is
// near enough the room's clock says.
func (c Command) checkShelf() error {
	switch y := c.Until.Year(); {
	case c.For != 0 && !c.Until.IsZero():
		return errors.New("for or until, not both")
	case c.Until.IsZero() && (c.For <= 0 || time.Duration(c.For) > alerts.MaxShelf):
		return fmt.Errorf("for %s: need more than nothing and at most %s",
			time.Duration(c.For), alerts.MaxShelf)
	case !c.Until.IsZero() && (y < 2024 || y > 2200):
		return fmt.Errorf("until is in the year %d", y)
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
	switch c.Do {
	case Shelve:
		return monitor.Change{Shelve: &monitor.Shelve{
			Alert: alert, Occurrence: c.Occurrence, For: time.Duration(c.For), Until: c.Until,
			By: by, Why: c.Why,
		}}
	case Unshelve:
		return monitor.Change{Unshelve: &monitor.Unshelve{
			Alert: alert, Occurrence: c.Occurrence, By: by, Why: c.Why,
		}}
	}
	return monitor.Change{Acknowledge: &monitor.Acknowledge{
		Alert: alert, Occurrence: c.Occurrence, By: by, Why: c.Why,
	}}
}
