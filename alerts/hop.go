package alerts

import (
	"context"
	"encoding/json"
	"errors"
	"strconv"
	"time"
)

// A Hop is one step of a message on its way and what became of it. Err is nil
// if it passed, else its text is a sentence for a person.
type Hop struct {
	Name string
	Err  error
}

// hopJSON is a hop as programs are told of it; Why is empty if it passed.
type hopJSON struct {
	Name   string `json:"name"`
	Passed bool   `json:"passed"`
	Why    string `json:"why,omitempty"`
}

// MarshalJSON writes {"name","passed","why"}.
func (h Hop) MarshalJSON() ([]byte, error) {
	j := hopJSON{Name: h.Name, Passed: h.Err == nil}
	if h.Err != nil {
		j.Why = h.Err.Error()
	}
	return json.Marshal(j)
}

// UnmarshalJSON reads what MarshalJSON writes.
func (h *Hop) UnmarshalJSON(text []byte) error {
	var j hopJSON
	if err := json.Unmarshal(text, &j); err != nil {
		return err
	}
	*h = Hop{Name: j.Name}
	if !j.Passed {
		h.Err = errors.New(j.Why)
	}
	return nil
}

// A Report is what became of a test message to one destination: its hops, up
// to the first that failed.
type Report struct {
	Destination string `json:"destination"`
	Hops        []Hop  `json:"hops"`
}

// Arrived reports whether the message passed every hop.
func (r Report) Arrived() bool {
	for _, h := range r.Hops {
		if h.Err != nil {
			return false
		}
	}
	return len(r.Hops) > 0
}

// A Tester is a publisher that can send one notice at once, beside whatever
// waits, and reports each hop up to the first that failed.
type Tester interface {
	Publisher
	Trial(ctx context.Context, n Notice) []Hop
}

// ReasonTest is that of a test message: nothing has changed.
const ReasonTest Reason = "test"

// TestMessage is a notice about nothing, for people to see that notices reach
// them. It is told by no rule and belongs to no state. Its id is 0: it stands
// outside the order of the others, and is never a double.
func TestMessage(site string, now time.Time) Notice {
	subject := Subject{Kind: SystemSubject, ID: "clutchd", Name: "clutchd"}
	return Notice{Reason: ReasonTest, Time: now.Round(0).UTC(), State: State{
		Alert: AlertID("message", subject), Occurrence: "test-" + strconv.FormatInt(now.UnixNano(), 36),
		Rule: "message", Subject: subject, Phase: Normal, Severity: Info,
		Text: "Test message from clutchd at " + site + ", " + now.Format("2 January 2006, 15:04") + ".",
	}}
}
