package monitor

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"clutchd/alerts"
	"clutchd/incubation/book"
)

// A deed is what a person does about one alert: how its state changes by it,
// and what the book says of it.
type deed struct {
	alert, by string
	change    func(alerts.State, time.Time) (alerts.State, alerts.Reason, error)
	kind      book.Kind
	data      func(alerts.State) any
}

// Lengths that the book grants; what is longer is cut, for an acknowledgement
// is never refused over its wording.
const (
	longestBy  = 80
	longestWhy = 200
)

func (a Acknowledge) deed() deed {
	return deed{
		alert: a.Alert, by: a.By, kind: book.KindAcknowledged,
		change: func(s alerts.State, now time.Time) (alerts.State, alerts.Reason, error) {
			return alerts.Acknowledge(s, a.Occurrence, cut(a.By, longestBy), now)
		},
		data: ofAlert(a.Why),
	}
}

func (v Shelve) deed() deed {
	return deed{
		alert: v.Alert, by: v.By, kind: book.KindShelved,
		change: func(s alerts.State, now time.Time) (alerts.State, alerts.Reason, error) {
			long := v.For
			if !v.Until.IsZero() {
				long = v.Until.Sub(now)
			}
			return alerts.Shelve(s, alerts.Shelving{
				Occurrence: v.Occurrence, For: long, By: cut(v.By, longestBy), Why: cut(v.Why, longestWhy),
			}, now)
		},
		data: func(s alerts.State) any {
			return book.ShelvedData{AlertData: ofAlert(v.Why)(s).(book.AlertData), Until: s.ShelvedUntil}
		},
	}
}

func (u Unshelve) deed() deed {
	return deed{
		alert: u.Alert, by: u.By, kind: book.KindUnshelved,
		change: func(s alerts.State, _ time.Time) (alerts.State, alerts.Reason, error) {
			return alerts.Unshelve(s, u.Occurrence)
		},
		data: ofAlert(u.Why),
	}
}

// ofAlert gives what the book says of a deed: which alert, which occurrence.
func ofAlert(why string) func(alerts.State) any {
	return func(s alerts.State) any {
		return book.AlertData{Alert: s.Alert, Occurrence: s.Occurrence, Why: cut(why, longestWhy)}
	}
}

// perform makes a deed true at once, in memory: who gets up at night must not
// wait for a card that hangs or is full. The state, its notice and the entry
// that says who did it go to the disk together as soon as that takes them; a
// power cut before that loses all three. Done twice it changes nothing.
func (m *Monitor) perform(d deed) (Done, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	s, ok := m.states[d.alert]
	if !ok {
		return Done{}, &Refusal{Field: "alert", Text: fmt.Sprintf("there is no alert %q now", d.alert)}
	}
	after, reason, err := d.change(s, m.clock.now)
	if err != nil {
		return Done{}, refuse(err)
	}
	if reason == alerts.ReasonStill {
		return Done{Duplicate: true}, nil
	}
	entry, err := m.entryOf(d, after)
	if err != nil {
		m.opt.Log.Error("deed not in the book", "alert", d.alert, "kind", string(d.kind), "error", err)
		m.settleAlert(after, reason)
		m.republish()
		return Done{}, nil
	}
	if !m.clock.trusted {
		m.undated = append(m.undated, entry)
		m.settleAlert(after, reason)
	} else {
		m.settleAlert(after, reason, entry)
		m.insert(entry)
	}
	m.republish()
	return Done{Entry: entry}, nil
}

// entryOf writes down what was done about an alert. Caller holds mu.
func (m *Monitor) entryOf(d deed, s alerts.State) (book.Entry, error) {
	data, err := json.Marshal(d.data(s))
	if err != nil {
		return book.Entry{}, err
	}
	e := book.Entry{
		Made: m.clock.now.UTC().Truncate(time.Second), Zone: m.opt.Zone, By: cut(d.by, longestBy),
		Kind: d.kind, Data: data,
	}
	e.At = e.Made
	if m.clock.trusted { // else it is checked by none: it has no date yet
		if err := book.Check(m.book, e); err != nil {
			return e, err
		}
	}
	e.Seq = m.takeID()
	return e, nil
}

// date gives what was done while the clock was not set its true time, and
// hands it to the disk. Caller holds mu.
func (m *Monitor) date(shift time.Duration) {
	for i := range m.undated {
		e := &m.undated[i]
		e.Made = e.Made.Add(shift).Truncate(time.Second)
		if e.Kind == book.KindShelved { // its end was told by the wrong clock too
			var d book.ShelvedData
			if json.Unmarshal(e.Data, &d) == nil {
				d.Until = d.Until.Add(shift)
				e.Data, _ = json.Marshal(d)
			}
		}
		e.At = e.Made
	}
	dated := m.undated
	m.undated = nil
	m.insert(dated...)
	m.commit.told(dated, alerts.Changes{})
}

// insert takes entries into the book, in the order of their sequence: one that
// waited for the disk may come after younger ones. Caller holds mu.
func (m *Monitor) insert(entries ...book.Entry) {
	if len(entries) == 0 {
		return
	}
	for _, e := range entries {
		i, _ := slices.BinarySearchFunc(m.entries, e.Seq, func(x book.Entry, seq uint64) int {
			return int(x.Seq) - int(seq)
		})
		m.entries = slices.Insert(m.entries, i, e)
	}
	before := m.book
	if len(entries) == 1 {
		m.book = m.book.With(entries[0]) // what was decoded before stays so
	} else {
		m.book = book.Fold(m.entries)
	}
	m.reconcile(before, m.book)
}

// cut makes one line of printable text of at most so many letters.
func cut(text string, most int) string {
	text = strings.Join(strings.FieldsFunc(strings.ToValidUTF8(text, ""), func(r rune) bool {
		return unicode.IsSpace(r) || unicode.IsControl(r)
	}), " ")
	if letters := []rune(text); len(letters) > most {
		text = strings.TrimSpace(string(letters[:most]))
	}
	return text
}
