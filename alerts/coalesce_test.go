package alerts_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"clutchd/alerts"
)

// letters writes notices from "raised o1, reminded o1": ids rise from 1, and an
// occurrence stands for its alert too.
func letters(text string) []alerts.Notice {
	var out []alerts.Notice
	for i, word := range strings.Split(text, ", ") {
		reason, occurrence, _ := strings.Cut(word, " ")
		out = append(out, alerts.Notice{
			ID: uint64(i + 1), Reason: alerts.Reason(reason),
			State: alerts.State{Alert: "a-" + occurrence, Occurrence: occurrence, Severity: alerts.Critical},
		})
	}
	return out
}

func (s *station) read() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []string
	for _, n := range s.keep {
		out = append(out, fmt.Sprint(n.Reason, " ", n.Occurrence))
	}
	return strings.Join(out, ", ")
}

func TestRemindersCoalesce(t *testing.T) {
	tests := []struct{ name, posted, arrives string }{
		{
			"of a night of reminders the last one arrives",
			"raised o1, reminded o1, reminded o1, reminded o1", "raised o1, reminded o1",
		},
		{"an end takes the reminder's place", "raised o1, reminded o1, cleared o1", "raised o1, cleared o1"},
		{
			"so does whatever is newer of the occurrence",
			"raised o1, reminded o1, escalated o1, reminded o1, acknowledged o1, rearmed o1",
			"raised o1, escalated o1, acknowledged o1, rearmed o1",
		},
		{
			"another occurrence's do not", "raised o1, reminded o1, raised o2, reminded o2, reminded o1",
			"raised o1, raised o2, reminded o2, reminded o1",
		},
		{
			"what changes the state is never taken away",
			"raised o1, rearmed o1, escalated o1, shelved o1, unshelved o1, latched o1, again o1, latched o1, unlatched o1",
			"raised o1, rearmed o1, escalated o1, shelved o1, unshelved o1, latched o1, again o1, latched o1, unlatched o1",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name+", posted", func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				var back atomic.Bool // the far side is
				s := &station{name: "far", answer: func(context.Context, int) (bool, error) {
					if !back.Load() {
						return false, errFarSide
					}
					return true, nil
				}}
				o := alerts.NewOutbox(nil, nil, &ledger{}, quiet())
				stop := start(t, o, s)
				for _, n := range letters(tt.posted) {
					o.Post(n)
					time.Sleep(time.Hour)
				}
				back.Store(true)
				time.Sleep(time.Hour)
				stop()
				if diff := cmp.Diff(tt.arrives, s.read()); diff != "" {
					t.Errorf("(-want +got):\n%s", diff)
				}
				if n := o.Pending()["far"]; n != 0 || o.Dropped() != 0 {
					t.Errorf("%d wait and %d were dropped; want none", n, o.Dropped())
				}
			})
		})
		t.Run(tt.name+", from the disk", func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s := &station{name: "far"}
				keeper := &ledger{}
				all := letters(tt.posted)
				stop := start(t, alerts.NewOutbox(all, nil, keeper, quiet()), s)
				stop()
				if diff := cmp.Diff(tt.arrives, s.read()); diff != "" {
					t.Errorf("(-want +got):\n%s", diff)
				}
				// The rows of those that were taken away are passed with the rest.
				if last := all[len(all)-1].ID; keeper.saved()["far"] != last {
					t.Errorf("cursor %d, want %d", keeper.saved()["far"], last)
				}
			})
		})
	}
}

// Two destinations, one of them dead for a while: whatever happens each gets
// all that changes a state, in order, and of each occurrence's reminders none
// behind which something newer was waiting already.
func TestCoalescingLosesNothingElse(t *testing.T) {
	reasons := []alerts.Reason{
		alerts.ReasonReminded, alerts.ReasonReminded, alerts.ReasonReminded, alerts.ReasonRaised,
		alerts.ReasonCleared, alerts.ReasonEscalated, alerts.ReasonRearmed,
	}
	rapid.Check(t, func(rt *rapid.T) {
		var words []string
		for range rapid.IntRange(1, 30).Draw(rt, "notices") {
			r := rapid.SampledFrom(reasons).Draw(rt, "reason")
			words = append(words, fmt.Sprintf("%s o%d", r, rapid.IntRange(1, 3).Draw(rt, "of")))
		}
		cut := rapid.IntRange(0, len(words)).Draw(rt, "back at")
		synctest.Test(t, func(t *testing.T) {
			var up atomic.Bool
			live := &station{name: "live"}
			late := &station{name: "late", answer: func(context.Context, int) (bool, error) {
				if !up.Load() {
					return false, errFarSide
				}
				return true, nil
			}}
			o := alerts.NewOutbox(nil, nil, &ledger{}, quiet())
			stop := start(t, o, live, late)
			for i, n := range letters(strings.Join(words, ", ")) {
				up.Store(i >= cut)
				o.Post(n)
				time.Sleep(5 * time.Minute)
			}
			up.Store(true)
			time.Sleep(time.Hour)
			stop()
			if got := live.read(); got != strings.Join(words, ", ") {
				t.Errorf("the one that was never away got %q of %q", got, words)
			}
			lasting := func(text string) []string {
				return slices.DeleteFunc(strings.Split(text, ", "), func(w string) bool {
					return strings.HasPrefix(w, "reminded")
				})
			}
			if diff := cmp.Diff(lasting(live.read()), lasting(late.read())); diff != "" {
				t.Errorf("what changes a state (-live +late):\n%s", diff)
			}
			if !slices.IsSorted(late.ids()) {
				t.Errorf("out of order: %v", late.ids())
			}
		})
	})
}
