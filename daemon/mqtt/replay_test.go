package mqtt_test

import (
	"context"
	"fmt"
	"io"
	"iter"
	"log/slog"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/daemon/mqtt"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/species"
	"clutchd/sensors"
)

// A hot room is a real monitor of one incubator that is deadly hot or not.
type hotRoom struct {
	*monitor.Monitor
	t       *testing.T
	began   time.Time
	celsius incubation.Celsius
}

// hotRoomStore is a store that keeps nothing but what the test asks for.
type hotRoomStore struct{ monitor.Store }

func (hotRoomStore) Entries(context.Context) ([]book.Entry, error)   { return nil, nil }
func (hotRoomStore) States(context.Context) ([]alerts.State, error)  { return nil, nil }
func (hotRoomStore) Newest(context.Context) (time.Time, error)       { return time.Time{}, nil }
func (hotRoomStore) Reserve(context.Context, uint64) (uint64, error) { return 1, nil }

func (hotRoomStore) CommitBook(context.Context, []book.Entry, alerts.Changes) error { return nil }
func (hotRoomStore) Append(context.Context, []incubation.Reading) error             { return nil }
func (hotRoomStore) Stage(context.Context, []incubation.Untimed) error              { return nil }
func (hotRoomStore) Settle(context.Context, string, time.Time) (int, error)         { return 0, nil }
func (hotRoomStore) Backup(context.Context, time.Time, time.Duration) error         { return nil }

func (hotRoomStore) Range(context.Context, string, time.Time, time.Time) iter.Seq2[incubation.Reading, error] {
	return func(func(incubation.Reading, error) bool) {}
}

func (*hotRoom) Post(...alerts.Notice)   {}
func (*hotRoom) Pending() map[string]int { return nil }

func (*hotRoom) Confirmed() map[string]uint64 { return nil }

func (*hotRoom) Probes() []sensors.Probe {
	return []sensors.Probe{{ID: "p", Has: incubation.Temperature, Interval: 10 * time.Second}}
}

func (r *hotRoom) Sample(_ context.Context, now time.Time) []sensors.Outcome {
	return []sensors.Outcome{{Probe: "p", Time: now, Reading: incubation.Reading{
		Probe: "p", Time: now, Has: incubation.Temperature, Celsius: r.celsius,
	}}}
}

func newHotRoom(t *testing.T) *hotRoom {
	t.Helper()
	r := &hotRoom{t: t, began: time.Now(), celsius: 28}
	r.Monitor = monitor.New(monitor.Options{
		Site: "cellar", Zone: "UTC", Store: hotRoomStore{}, Sampler: r, Poster: r,
		Ensemble: species.Ensemble(5), Log: slog.New(slog.NewTextHandler(io.Discard, nil)),
	})
	if err := r.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		_ = r.Run(ctx)
	}()
	t.Cleanup(func() { stop(); <-done })
	r.live(time.Minute)
	for _, e := range []book.Entry{
		{Kind: book.KindPlace, Data: []byte(`{"place":"inc","kind":"incubator","name":"Incubator"}`)},
		{Kind: book.KindProbe, Data: []byte(`{"probe":"p","place":"inc","position":"incubator-air"}`)},
	} {
		if _, err := r.Do(t.Context(), monitor.Change{Entry: &e}); err != nil {
			t.Fatal(err)
		}
	}
	return r
}

func (r *hotRoom) live(d time.Duration) {
	for end := time.Now().Add(d); time.Now().Before(end); time.Sleep(10 * time.Second) {
		now := time.Now()
		r.Tick(r.t.Context(), monitor.Instant{Wall: now, Trusted: true, Boot: "b", Elapsed: now.Sub(r.began)})
	}
}

// fever has the incubator be hot for long enough to be told, after a calm.
func (r *hotRoom) fever() {
	r.celsius = 28
	r.live(5 * time.Minute)
	r.celsius = 39
	r.live(3 * time.Minute)
}

const fever = "acute-heat.place.inc"

func (r *hotRoom) alert() alerts.State {
	r.t.Helper()
	i := slices.IndexFunc(r.Snapshot().Alerts, func(s alerts.State) bool { return s.Alert == fever })
	if i < 0 {
		r.t.Fatal("the heat is not told")
	}
	return r.Snapshot().Alerts[i]
}

// deeds counts the entries about alerts.
func (r *hotRoom) deeds() (n int) {
	for _, e := range r.Entries(0) {
		if book.OfAlert(e.Kind) {
			n++
		}
	}
	return n
}

// What a phone once sent comes through a broker again: as it was, kept, late,
// twice, cut short. None of it does anything to the occurrence of now.
func TestACommandFromAnotherTime(t *testing.T) {
	const topic = "clutchd/cellar/command/alert/" + fever
	ack := func(o string) string { return fmt.Sprintf(`{"do":"acknowledge","occurrence":%q}`, o) }
	shelve := func(o, end string) string {
		return fmt.Sprintf(`{"do":"shelve","occurrence":%q,%s}`, o, end)
	}
	synctest.Test(t, func(t *testing.T) {
		r := newHotRoom(t)
		h := newHub(t)
		connect := func() func() {
			_, stop := h.connect(mqtt.Options{OnCommand: func(c monitor.Change) error {
				_, err := r.Do(t.Context(), c)
				return err
			}})
			return stop
		}
		stop := connect()
		r.fever()
		older := r.alert().Occurrence
		h.publish(topic, ack(older), false)
		synctest.Wait()
		if r.alert().Acknowledged.IsZero() || r.deeds() != 1 {
			t.Fatalf("a sound acknowledgement gave %+v", r.alert())
		}
		r.fever()
		now := r.alert().Occurrence
		past := time.Now().Add(-time.Hour).UTC().Format(`"until":"2006-01-02T15:04:05Z"`)
		for _, c := range []struct {
			why, payload string
			retain       bool
		}{
			{"replayed", ack(older), false},
			{"a shelving of then", shelve(older, `"for":"1h"`), false},
			{"kept by the broker", ack(now), true},
			{"later than its own end", shelve(now, past), false},
			{"cut short", ack(now)[:20], false},
			{"two in one", ack(now) + ack(now), false},
			{"of no occurrence", ack(""), false},
		} {
			if c.retain { // a command given while nobody listened
				stop()
			}
			h.publish(topic, c.payload, c.retain)
			if c.retain {
				stop = connect()
			}
			synctest.Wait()
			if a := r.alert(); !a.Acknowledged.IsZero() || !a.ShelvedUntil.IsZero() || r.deeds() != 1 {
				t.Fatalf("%s: the alert is %+v, %d deeds in the book", c.why, a, r.deeds())
			}
		}
		for range 2 {
			h.publish(topic, shelve(now, `"for":"1h"`), false)
			h.publish(topic, ack(now), false)
			synctest.Wait()
			time.Sleep(time.Minute)
		}
		if a := r.alert(); a.Acknowledged.IsZero() || time.Until(a.ShelvedUntil) > time.Hour || r.deeds() != 3 {
			t.Errorf("delivered twice: %+v, %d deeds in the book; want each once", a, r.deeds())
		}
	})
}
