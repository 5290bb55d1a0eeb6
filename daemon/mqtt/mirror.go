package mqtt

import (
	"bytes"
	"context"
	"encoding/json"
	"log/slog"
	"sync"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
)

// pipelined is how many retained messages are under way at a time.
const pipelined = 64

// A mirror keeps the broker's retained topics like the snapshot, over one
// connection. What it has sent is known for that connection only: after a
// reconnect everything is sent again, since the broker may have lost it.
type mirror struct {
	site  site
	log   *slog.Logger
	sent  map[string]message // by topic, as confirmed
	wrong map[string]bool    // topics that were told to be wrong

	mu    sync.Mutex
	found map[string]bool // retained by an earlier run, not yet looked at
}

func newMirror(s site, log *slog.Logger) *mirror {
	return &mirror{
		site: s, log: log,
		sent: map[string]message{}, wrong: map[string]bool{}, found: map[string]bool{},
	}
}

// leftover notes a topic that the broker kept. Our own words come back as
// messages that are not retained and do not count.
func (m *mirror) leftover(found message) {
	if !found.retained || len(found.payload) == 0 {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.found[found.topic] = true
}

// sync sends what differs from the snapshot and empties the topics that it
// no longer has.
func (m *mirror) sync(ctx context.Context, l *link, s *monitor.Snapshot) error {
	var changed []message
	wanted := map[string]bool{}
	for _, w := range m.wants(s) {
		wanted[w.topic] = true
		// A new reading is told though it says the same as the last.
		if was, ok := m.sent[w.topic]; !ok || !bytes.Equal(was.payload, w.payload) || !was.at.Equal(w.at) {
			changed = append(changed, w)
		}
	}
	for topic := range m.sent {
		if !wanted[topic] {
			changed = append(changed, message{topic: topic, retained: true})
		}
	}
	for topic := range m.leftovers() {
		if _, ours := m.sent[topic]; !ours && !wanted[topic] {
			changed = append(changed, message{topic: topic, retained: true})
		}
	}
	for len(changed) > 0 {
		n := min(pipelined, len(changed))
		if err := m.send(ctx, l, changed[:n]); err != nil {
			return err
		}
		changed = changed[n:]
	}
	return nil
}

func (m *mirror) leftovers() map[string]bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	found := m.found
	m.found = map[string]bool{}
	return found
}

func (m *mirror) send(ctx context.Context, l *link, batch []message) error {
	results := make([]<-chan error, len(batch))
	for i, b := range batch {
		results[i] = l.start(b)
	}
	for i, b := range batch {
		if err := l.await(ctx, results[i]); err != nil {
			return err
		}
		if len(b.payload) == 0 {
			delete(m.sent, b.topic)
		} else {
			m.sent[b.topic] = b
		}
	}
	return nil
}

// wants gives the retained messages of a snapshot, alerts first.
func (m *mirror) wants(s *monitor.Snapshot) []message {
	var all []message
	want := func(topic func(string) string, id string, payload any, at time.Time) {
		text, err := json.Marshal(payload)
		if err == nil {
			err = checkLevel(id)
		}
		if err == nil {
			all = append(all, message{topic: topic(id), payload: text, retained: true, at: at})
		} else if !m.wrong[topic(id)] {
			m.wrong[topic(id)] = true
			m.log.Error("state not published", "topic", topic(id), "cause", err)
		}
	}
	for _, a := range s.Alerts {
		if shown(a) {
			want(m.site.alert, a.Alert, a.Payload(), time.Time{})
		}
	}
	for _, p := range s.Probes {
		if p.Stale || !p.Latest.Time.IsZero() {
			want(m.site.reading, p.ID, readingOf(p, s.Trusted), p.Latest.Time)
		}
	}
	for _, c := range s.Contacts {
		want(m.site.contact, c.ID, contactOf(c, s.Trusted), time.Time{})
	}
	for _, c := range s.Clutches {
		if c.Ended.IsZero() || s.Time.Sub(c.Ended) < keepEnded {
			want(m.site.clutch, c.ID, clutchOf(c), time.Time{})
		}
	}
	return all
}

// keepEnded is how long an ended clutch keeps its topic: a broker need not
// hold every clutch there ever was. Judgement.
const keepEnded = 90 * 24 * time.Hour

// shown reports whether an alert has a retained topic: until it is cleared
// and acknowledged.
func shown(a alerts.State) bool {
	return a.Told() || a.Phase == alerts.Cleared && a.Acknowledged.IsZero()
}
