package alerts_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
)

func TestARuleAtOnePlace(t *testing.T) {
	num := func(v float64) *float64 { return &v }
	long := func(d time.Duration) *time.Duration { return &d }
	for _, c := range []struct {
		why, rule string
		over      alerts.Override
		refused   string // in the error; "": taken
	}{
		{"deadly heat, told earlier", "acute-heat", alerts.Override{Limit: num(36)}, ""},
		{"deadly heat, told sooner", "acute-heat", alerts.Override{OnDelay: long(0)}, ""},
		{"as it is", "acute-heat", alerts.Override{Limit: num(38), OnDelay: long(time.Minute)}, ""},
		{"deadly heat, told later", "acute-heat", alerts.Override{Limit: num(38.1)}, "between 30.0 °C and 38.0 °C"},
		{"runaway heat, told later", "runaway-heat", alerts.Override{Limit: num(35)}, "between 30.0 °C and 34.5 °C"},
		{"runaway heat, told after a longer time", "runaway-heat", alerts.Override{OnDelay: long(11 * time.Minute)}, "at most"},
		{"deadly heat, told always, which nobody heeds", "acute-heat", alerts.Override{Limit: num(20)}, "between"},
		{"deadly heat, not told", "acute-heat", alerts.Override{Off: true}, "cannot be switched off"},
		{"too warm, not told", "too-warm", alerts.Override{Off: true}, "cannot be switched off"},
		{"a heater that is off, not told", "heater-off", alerts.Override{Off: true}, "cannot be switched off"},
		{"eggs unwatched, not told", "eggs-unwatched", alerts.Override{Off: true}, "cannot be switched off"},
		{"eggs unwatched, told tomorrow", "eggs-unwatched", alerts.Override{OnDelay: long(24 * time.Hour)}, "1 h"},
		{"too warm, a bit milder", "too-warm", alerts.Override{Limit: num(2), OnDelay: long(30 * time.Minute)}, ""},
		{"too warm, at any heat", "too-warm", alerts.Override{Limit: num(20)}, "between"},
		{"off its setpoint, not told", "off-setpoint", alerts.Override{Off: true}, ""},
		{"off its setpoint, after half a day", "off-setpoint", alerts.Override{OnDelay: long(12 * time.Hour)}, ""},
		{"dry air, drier", "dry-air", alerts.Override{Limit: num(0.6)}, ""},
		{"dry air in percent", "dry-air", alerts.Override{Limit: num(60)}, "between"},
		{"its own limit, which is set elsewhere", "above-limit", alerts.Override{Limit: num(30)}, "no limit of its own"},
		{"its own limit, told sooner", "above-limit", alerts.Override{OnDelay: long(time.Minute)}, ""},
		{"a rule about eggs", "hatch-near", alerts.Override{Off: true}, "not about a place"},
		{"a rule about the program", "store", alerts.Override{Off: true}, "not about a place"},
	} {
		t.Run(c.why, func(t *testing.T) {
			own := rule(t, c.rule)
			got, err := own.Under(c.over)
			if c.refused != "" {
				if err == nil || !strings.Contains(err.Error(), c.refused) {
					t.Errorf("error %v, want something about %q", err, c.refused)
				}
				if diff := cmp.Diff(own, got); diff != "" {
					t.Errorf("refused, yet changed (-own +got):\n%s", diff)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			again, err := got.Under(c.over)
			if diff := cmp.Diff(got, again); diff != "" || err != nil {
				t.Errorf("twice is not as once (-once +twice), %v:\n%s", err, diff)
			}
			low, high := got.Bounds(num(30), nil)
			if l := c.over.Limit; l != nil && (low == nil && high == nil) {
				t.Error("its limit is gone")
			}
			if d := c.over.OnDelay; d != nil && got.OnDelay != *d {
				t.Errorf("it waits for %s", got.OnDelay)
			}
		})
	}
}

// Whatever a place says of it, heat that kills is told as early as the rule
// says, or earlier.
func TestHeatIsNeverMadeSilent(t *testing.T) {
	for _, code := range []string{"acute-heat", "runaway-heat"} {
		own := rule(t, code)
		for limit := -10.0; limit < 60; limit += 0.5 {
			for delay := -time.Hour; delay < 2*time.Hour; delay += time.Minute {
				got, _ := own.Under(alerts.Override{Limit: &limit, OnDelay: &delay})
				if got.Limit.Above > own.Limit.Above || got.Limit.Above < 30 || got.OnDelay > own.OnDelay {
					t.Fatalf("%s became %v after %s by %v and %s", code, got.Limit.Above, got.OnDelay, limit, delay)
				}
			}
		}
	}
}
