package alerts_test

import (
	"encoding/json"
	"errors"
	"testing"
	"time"

	"clutchd/alerts"
)

func TestReportComesBack(t *testing.T) {
	tests := []struct {
		sentence string
		report   alerts.Report
		text     string
		arrived  bool
	}{
		{
			"every hop passed",
			alerts.Report{Destination: "mqtt:house", Hops: []alerts.Hop{{Name: "connect"}, {Name: "publish"}}},
			`{"destination":"mqtt:house","hops":[{"name":"connect","passed":true},{"name":"publish","passed":true}]}`,
			true,
		},
		{
			"one did not",
			alerts.Report{Destination: "webhook:phone", Hops: []alerts.Hop{{Name: "connect", Err: errors.New("nobody listens")}}},
			`{"destination":"webhook:phone","hops":[{"name":"connect","passed":false,"why":"nobody listens"}]}`,
			false,
		},
		{
			"nothing was tried",
			alerts.Report{Destination: "mqtt:house"},
			`{"destination":"mqtt:house","hops":null}`, false,
		},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			text, err := json.Marshal(tt.report)
			if err != nil || string(text) != tt.text {
				t.Fatalf("written %s, %v, want %s", text, err, tt.text)
			}
			var back alerts.Report
			if err := json.Unmarshal(text, &back); err != nil {
				t.Fatal(err)
			}
			again, err := json.Marshal(back)
			if err != nil || string(again) != tt.text {
				t.Errorf("read and written again %s, %v, want %s", again, err, tt.text)
			}
			if tt.report.Arrived() != tt.arrived || back.Arrived() != tt.arrived {
				t.Errorf("arrived: %v, then %v, want %v", tt.report.Arrived(), back.Arrived(), tt.arrived)
			}
		})
	}
}

// A test message raises nothing: it comes from no rule, and nobody who keeps
// ids, states or occurrences can take it for one of theirs.
func TestTestMessage(t *testing.T) {
	zone := time.FixedZone("there", 2*3600)
	n := alerts.TestMessage("cellar", time.Date(2026, 5, 4, 12, 0, 0, 1, zone))
	if _, known := alerts.RuleFor(n.Rule); known || n.Told() || n.ID != 0 || n.Reason != alerts.ReasonTest {
		t.Errorf("%+v may be taken for an alert", n)
	}
	if want := "Test message from clutchd at cellar, 4 May 2026, 12:00."; n.Text != want {
		t.Errorf("it says %q, want %q", n.Text, want)
	}
	later := alerts.TestMessage("cellar", time.Date(2026, 5, 4, 12, 0, 0, 2, zone))
	if later.Occurrence == n.Occurrence {
		t.Errorf("two messages have the occurrence %s", n.Occurrence)
	}
	if alerts.Tells(alerts.ReasonTest) {
		t.Error("a change of state can have the reason of a test")
	}
}
