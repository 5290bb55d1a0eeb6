package alerts

import "time"

// A Payload is an alert as the world outside is told of it: the JSON that
// daemon/mqtt/schema/alert.json describes. Numbers are never NaN or infinite
// and times never those of a clock that was never set: such a value is left
// out. What the store keeps is the State itself.
type Payload struct {
	Alert          string     `json:"alert"`
	Occurrence     string     `json:"occurrence"`
	Rule           string     `json:"rule"`
	Subject        Subject    `json:"subject"`
	Eggs           []string   `json:"eggs"`
	State          string     `json:"state"` // "normal", "active" or "cleared"
	Severity       Severity   `json:"severity"`
	Value          *float64   `json:"value,omitempty"`
	Limit          *float64   `json:"limit,omitempty"`
	Unit           string     `json:"unit,omitempty"` // of value and limit
	Since          *time.Time `json:"since,omitempty"`
	Text           string     `json:"text"`
	Acknowledged   *time.Time `json:"acknowledged,omitempty"`
	AcknowledgedBy string     `json:"acknowledged_by,omitempty"`
	ShelvedUntil   *time.Time `json:"shelved_until,omitempty"`
}

// A NoticePayload is a notice as every destination gets it, at least once and
// in order: notice.json there. A listener drops what has an id that it has
// seen.
type NoticePayload struct {
	ID     uint64     `json:"id"`
	Reason Reason     `json:"reason"`
	Time   *time.Time `json:"time,omitempty"`
	Payload
}

// Payload gives the alert as others are told of it: while the off-delay runs
// it still counts as active, while an on-delay runs not yet.
func (s State) Payload() Payload {
	p := Payload{
		Alert: s.Alert, Occurrence: s.Occurrence, Rule: s.Rule, Subject: s.Subject,
		Eggs: s.Eggs, State: string(s.Phase), Severity: s.Severity,
		Value: number(s.Value), Limit: number(s.Limit), Unit: s.Unit,
		Since: Moment(s.Since), Text: s.Text,
		Acknowledged: Moment(s.Acknowledged), AcknowledgedBy: s.AcknowledgedBy,
		ShelvedUntil: Moment(s.ShelvedUntil),
	}
	switch {
	case s.Told():
		p.State = string(Active)
	case s.Phase == InOnDelay:
		p.State = string(Normal)
	}
	if p.Eggs == nil {
		p.Eggs = []string{}
	}
	return p
}

// Payload gives the notice as every destination gets it.
func (n Notice) Payload() NoticePayload {
	return NoticePayload{
		ID: n.ID, Reason: n.Reason, Time: Moment(n.Time), Payload: n.State.Payload(),
	}
}

// believable is the year 2000 in Unix seconds: a clock that was never set says
// 1970.
const believable = 946684800

// Moment gives a time in UTC, or nil for none: nobody is told the time of a
// clock that was never set.
func Moment(t time.Time) *time.Time {
	if t.Unix() < believable {
		return nil
	}
	t = t.UTC()
	return &t
}
