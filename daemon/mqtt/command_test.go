package mqtt_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/daemon/monitor"
	"clutchd/daemon/mqtt"
)

func TestParseCommand(t *testing.T) {
	tests := []struct {
		sentence, payload string
		want              monitor.Change
		refused           string // in the error; "": taken
	}{
		{
			sentence: "an acknowledgement names the occurrence and who gives it",
			payload:  `{"do":"acknowledge","occurrence":"o-17","by":"Ada"}`,
			want: monitor.Change{Acknowledge: &monitor.Acknowledge{
				Alert: "a", Occurrence: "o-17", By: "Ada",
			}},
		},
		{
			sentence: "who asks may stay unsaid",
			payload:  `{"do":"acknowledge","occurrence":"o-17"}`,
			want: monitor.Change{Acknowledge: &monitor.Acknowledge{
				Alert: "a", Occurrence: "o-17", By: "MQTT",
			}},
		},
		{
			sentence: "shelving has a time",
			payload:  `{"do":"shelve","occurrence":"o-17","for":"1h30m","by":"Ada"}`,
			want: monitor.Change{Shelve: &monitor.Shelve{
				Alert: "a", Occurrence: "o-17", For: 90 * time.Minute, By: "Ada",
			}},
		},
		{
			sentence: "shelving may have an end instead, and a reason",
			payload: `{"do":"shelve","occurrence":"o-17","until":"2026-05-04T07:00:00+02:00",` +
				`"why":"new lamp"}`,
			want: monitor.Change{Shelve: &monitor.Shelve{
				Alert: "a", Occurrence: "o-17", Until: time.Date(2026, 5, 4, 5, 0, 0, 0, time.UTC),
				By: "MQTT", Why: "new lamp",
			}},
		},
		{
			sentence: "it comes off the shelf before its time",
			payload:  `{"do":"unshelve","occurrence":"o-17","by":"Ada","why":"done"}`,
			want: monitor.Change{Unshelve: &monitor.Unshelve{
				Alert: "a", Occurrence: "o-17", By: "Ada", Why: "done",
			}},
		},
		{
			sentence: "two ends are one too many", refused: "not both",
			payload: `{"do":"shelve","occurrence":"o-17","for":"1h","until":"2026-05-04T07:00:00Z"}`,
		},
		{
			sentence: "an end is a date and time", refused: "command",
			payload: `{"do":"shelve","occurrence":"o-17","until":"morning"}`,
		},
		{
			sentence: "an end in another age is a slip", refused: "year",
			payload: `{"do":"shelve","occurrence":"o-17","until":"1970-01-01T07:00:00Z"}`,
		},
		{
			sentence: "off the shelf has no end", refused: "shelve",
			payload: `{"do":"unshelve","occurrence":"o-17","until":"2026-05-04T07:00:00Z"}`,
		},
		{
			sentence: "a reason is one line", refused: "plain text",
			payload: `{"do":"acknowledge","occurrence":"o-17","why":"a\nb"}`,
		},
		{
			sentence: "without an occurrence it could hit a later alert",
			payload:  `{"do":"acknowledge"}`, refused: "occurrence",
		},
		{sentence: "there are three deeds", payload: `{"do":"silence","occurrence":"o-17"}`, refused: "do"},
		{
			sentence: "a misspelt key is told, not ignored",
			payload:  `{"do":"shelve","occurrence":"o-17","fro":"1h"}`, refused: "fro",
		},
		{
			sentence: "shelving for ever is refused",
			payload:  `{"do":"shelve","occurrence":"o-17"}`, refused: "for",
		},
		{
			sentence: "shelving backwards is refused",
			payload:  `{"do":"shelve","occurrence":"o-17","for":"-1h"}`, refused: "for",
		},
		{
			sentence: "a week is the longest",
			payload:  `{"do":"shelve","occurrence":"o-17","for":"168h1s"}`, refused: "at most",
		},
		{
			sentence: "a bare number has no unit",
			payload:  `{"do":"shelve","occurrence":"o-17","for":"60"}`, refused: "1h30m",
		},
		{
			sentence: "an acknowledgement has no time",
			payload:  `{"do":"acknowledge","occurrence":"o-17","for":"1h"}`, refused: "for",
		},
		{
			sentence: "control characters do not reach the log",
			payload:  `{"do":"acknowledge","occurrence":"o\u001b[31m"}`, refused: "plain text",
		},
		{
			sentence: "a long name is refused",
			payload:  `{"do":"acknowledge","occurrence":"o","by":"` + strings.Repeat("a", 201) + `"}`,
			refused:  "too long",
		},
		{
			sentence: "a huge payload is refused unread", payload: strings.Repeat(" ", 5000) + "{}",
			refused: "at most",
		},
		{
			sentence: "one payload is one command",
			payload:  `{"do":"acknowledge","occurrence":"o"}{}`, refused: "more follows",
		},
		{sentence: "text is no command", payload: "acknowledge", refused: "command"},
		{sentence: "nothing is no command", payload: "", refused: "command"},
		{sentence: "null is no command", payload: "null", refused: "do"},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			got, err := mqtt.ParseCommand([]byte(tt.payload))
			if tt.refused != "" {
				if err == nil || !strings.Contains(err.Error(), tt.refused) {
					t.Errorf("got error %v, want something about %q", err, tt.refused)
				}
				if got != (mqtt.Command{}) {
					t.Errorf("a refused command gave %+v", got)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, got.Change("a")); diff != "" {
				t.Errorf("change (-want +got):\n%s", diff)
			}
		})
	}
}

// FuzzParseCommand: a command that is accepted is written and read again as
// the same, and asks for exactly one thing; a refused one is the zero one.
func FuzzParseCommand(f *testing.F) {
	f.Add([]byte(`{"do":"acknowledge","occurrence":"o-17","by":"Ada"}`))
	f.Add([]byte(`{"do":"shelve","occurrence":"o-17","for":"1h30m0.5s"}`))
	f.Add([]byte(`{"do":"shelve","occurrence":"","for":"-1h"}`))
	f.Add([]byte(`{"do":"shelve","occurrence":"o","until":"2026-05-04T07:00:00+05:45","why":"x"}`))
	f.Add([]byte(`{"do":"unshelve","occurrence":"o"}`))
	f.Add([]byte(`null`))
	f.Fuzz(func(t *testing.T, payload []byte) {
		c, err := mqtt.ParseCommand(payload)
		if err != nil {
			if c != (mqtt.Command{}) {
				t.Fatalf("refused with %+v", c)
			}
			return
		}
		text, err := json.Marshal(c)
		if err != nil {
			t.Fatal(err)
		}
		again, err := mqtt.ParseCommand(text)
		if err != nil || again != c {
			t.Fatalf("%s became %+v, %v", text, again, err)
		}
		change := c.Change("a")
		asked := 0
		for _, is := range []bool{change.Acknowledge != nil, change.Shelve != nil, change.Unshelve != nil} {
			if is {
				asked++
			}
		}
		if asked != 1 {
			t.Fatalf("%s asks for %+v", text, change)
		}
		if s := change.Shelve; s != nil && s.Until.IsZero() && (s.For <= 0 || s.For > 7*24*time.Hour) {
			t.Fatalf("%s shelves for %s", text, s.For)
		}
	})
}
