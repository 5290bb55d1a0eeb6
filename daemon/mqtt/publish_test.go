package mqtt_test

import (
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/mqtt"
)

const noticeTopic = "clutchd/cellar/notice"

func notice(id uint64) alerts.Notice {
	return alerts.Notice{ID: id, Reason: "raised", Time: noon, State: tooWarm()}
}

// notices gives the ids of the notices heard since the last call, each valid.
func (h *hub) notices() []uint64 {
	h.t.Helper()
	var ids []uint64
	for _, m := range h.take() {
		if m.topic != noticeTopic {
			continue
		}
		validate(h.t, "notice", m.payload)
		var n mqtt.Notice
		if err := json.Unmarshal([]byte(m.payload), &n); err != nil {
			h.t.Fatal(err)
		}
		ids = append(ids, n.ID)
	}
	return ids
}

func TestPublish(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		c, _ := h.connect(mqtt.Options{})
		if err := c.Publish(t.Context(), notice(41)); err != nil {
			t.Fatal(err)
		}
		got := h.take()
		if len(got) != 1 || got[0].topic != noticeTopic {
			t.Fatalf("heard %v, want one notice", got)
		}
		validate(t, "notice", got[0].payload)
		golden(t, "notice.golden", got[0].payload+"\n")
		if kept := h.retained()[noticeTopic]; kept != "" {
			t.Errorf("a notice is kept by the broker: %s", kept)
		}
		if c.Destination() != "mqtt:hub" {
			t.Errorf("destination %q: cursors are kept by it and it must not change", c.Destination())
		}
	})
}

// Whatever phase an alert is in when something about it is told, the payload
// keeps to the schema: a delay is our own affair.
func TestNoticePhases(t *testing.T) {
	for phase, want := range map[alerts.Phase]string{
		alerts.Normal: "normal", alerts.InOnDelay: "normal", alerts.Active: "active",
		alerts.InOffDelay: "active", alerts.Cleared: "cleared",
	} {
		synctest.Test(t, func(t *testing.T) {
			h := newHub(t)
			c, _ := h.connect(mqtt.Options{})
			n := notice(1)
			n.Phase = phase
			nan := math.NaN()
			n.Value, n.Limit, n.Eggs = &nan, nil, nil
			if err := c.Publish(t.Context(), n); err != nil {
				t.Fatal(err)
			}
			got := h.take()
			if len(got) != 1 || !strings.Contains(got[0].payload, `"state":"`+want+`"`) {
				t.Fatalf("phase %s: heard %v, want state %s", phase, got, want)
			}
			validate(t, "notice", got[0].payload)
		})
	}
}

// The broker takes the notice but its confirmation is lost: to us it is not
// delivered, however the connection goes on.
func TestPublishWithoutConfirmation(t *testing.T) {
	tests := []struct {
		sentence string
		then     func(*hub) // happens while Publish waits
	}{
		{"the connection stays and nothing comes", func(*hub) {}},
		{"the connection is cut and comes back", func(h *hub) { h.cut(); h.lose(nil) }},
		{"the broker is restarted", func(h *hub) { h.stop(); h.lose(nil); h.start() }},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				h := newHub(t)
				c, _ := h.connect(mqtt.Options{})
				h.lose(func(packet byte) bool { return packet == pubackPacket })
				result := make(chan error, 1)
				go func() { result <- c.Publish(t.Context(), notice(1)) }()
				if got := h.notices(); !slices.Equal(got, []uint64{1}) {
					t.Fatalf("the broker heard %v, want notice 1: the test would prove nothing", got)
				}
				tt.then(h)
				if err := <-result; err == nil {
					t.Error("publish said delivered, without the broker's confirmation")
				}
				h.lose(nil)
				if err := c.Publish(t.Context(), notice(1)); err != nil {
					t.Errorf("publish again: %v", err)
				}
				if got := h.notices(); !slices.Equal(got, []uint64{1}) {
					t.Errorf("again: the broker heard %v, want notice 1", got)
				}
			})
		})
	}
}

func TestPublishEndsWithItsContext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		c, _ := h.connect(mqtt.Options{})
		inTime := func(sentence string) {
			t.Helper()
			began := time.Now()
			ctx, cancel := context.WithTimeout(t.Context(), 3*time.Second)
			defer cancel()
			if err := c.Publish(ctx, notice(1)); !errors.Is(err, context.DeadlineExceeded) {
				t.Errorf("%s: got %v, want the context's error", sentence, err)
			}
			if took := time.Since(began); took != 3*time.Second {
				t.Errorf("%s: ended after %s of virtual time, want 3s", sentence, took)
			}
		}
		h.lose(func(packet byte) bool { return packet == pubackPacket })
		inTime("a broker that never confirms")
		h.stop()
		inTime("a broker that is away")
	})
}

// With no broker at all, a notice is refused after a while and not kept here.
func TestPublishOffline(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newHub(t)
		h.stop()
		c, _ := h.connect(mqtt.Options{})
		if err := c.Publish(t.Context(), notice(1)); !errors.Is(err, mqtt.ErrOffline) {
			t.Errorf("got %v, want %v", err, mqtt.ErrOffline)
		}
	})
}

// never is a cursor that nobody keeps.
type never struct{}

func (never) Delivered(context.Context, string, uint64, []string) error { return nil }

// The broker stops and starts, connections are cut and confirmations lost, at
// random: every notice arrives, in order, doubles under the same id.
func TestOutboxThroughOutages(t *testing.T) {
	for seed := range uint64(8) {
		synctest.Test(t, func(t *testing.T) {
			chance := rand.New(rand.NewPCG(seed, 7))
			h := newHub(t)
			c, _ := h.connect(mqtt.Options{})
			outbox := alerts.NewOutbox(nil, nil, never{}, slog.New(slog.DiscardHandler))
			ctx, cancel := context.WithCancel(t.Context())
			done := make(chan error, 1)
			go func() { done <- outbox.Run(ctx, c) }()
			const all = 60
			for id := uint64(1); id <= all; id++ {
				outbox.Post(notice(id))
				switch chance.IntN(6) {
				case 0:
					h.stop()
					time.Sleep(time.Duration(chance.IntN(300)) * time.Second)
					h.start()
				case 1:
					h.cut()
				case 2:
					left := 1 + chance.IntN(3)
					h.lose(func(packet byte) bool {
						if packet == pubackPacket && left > 0 {
							left--
							return true
						}
						return false
					})
				}
				time.Sleep(time.Duration(chance.IntN(20_000)) * time.Millisecond)
			}
			for range 60 {
				if outbox.Pending()[c.Destination()] == 0 {
					break
				}
				time.Sleep(time.Minute)
			}
			cancel()
			if err := <-done; err != nil {
				t.Error(err)
			}
			got := h.notices()
			if n := len(got); n < all {
				t.Fatalf("seed %d: heard %d of %d notices", seed, n, all)
			}
			t.Logf("seed %d: %d notices, %d doubled", seed, all, len(got)-all)
			if !slices.IsSorted(got) {
				t.Errorf("seed %d: out of order: %v", seed, got)
			}
			if got = slices.Compact(got); len(got) != all {
				t.Errorf("seed %d: %d different notices, want %d", seed, len(got), all)
			}
		})
	}
}
