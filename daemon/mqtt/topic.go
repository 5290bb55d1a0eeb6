package mqtt

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// root is the first level of every topic of ours.
const root = "clutchd"

// A site's topics, all below clutchd/<site>/.
type site string

func (s site) status() string           { return s.below("status") }
func (s site) notice() string           { return s.below("notice") }
func (s site) reading(id string) string { return s.below("reading", id) }
func (s site) contact(id string) string { return s.below("contact", id) }
func (s site) alert(id string) string   { return s.below("alert", id) }
func (s site) clutch(id string) string  { return s.below("clutch", id) }
func (s site) command(id string) string { return s.below("command", "alert", id) }

func (s site) below(levels ...string) string {
	return strings.Join(append([]string{root, string(s)}, levels...), "/")
}

// commandAlert gives the alert that a command topic names.
func (s site) commandAlert(topic string) (string, bool) {
	id, ok := strings.CutPrefix(topic, s.command(""))
	return id, ok && checkLevel(id) == nil
}

// checkLevel refuses what cannot be one level of a topic: a broker closes the
// connection on some of it, and the rest would land under another topic.
func checkLevel(level string) error {
	switch {
	case level == "":
		return fmt.Errorf("empty")
	case len(level) > 200:
		return fmt.Errorf("%d bytes: at most 200", len(level))
	case strings.ContainsAny(level, "/+#"):
		return fmt.Errorf("%q: contains /, + or #", level)
	case !utf8.ValidString(level) || strings.ContainsFunc(level, unicode.IsControl):
		return fmt.Errorf("%q: not plain text", level)
	}
	return nil
}
