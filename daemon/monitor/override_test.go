package monitor_test

import (
	"encoding/json"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

func TestRulesOfOnePlace(t *testing.T) {
	for _, c := range []struct {
		why, limits string
		celsius     incubation.Celsius
		told        map[string]bool // after two minutes
		high        incubation.Celsius
	}{
		{"the rules' own", `{"place":"box"}`, 37, map[string]bool{heatOfBox: false}, 29.5},
		{
			"deadly heat told earlier", `{"place":"box","rule_overrides":{"acute-heat":{"limit":36.5}}}`, 37,
			map[string]bool{heatOfBox: true},
			29.5,
		},
		{
			"too warm told later, which shows in the limits",
			`{"place":"box","rule_overrides":{"too-warm":{"limit":3},"off-setpoint":{"off":true}}}`, 28,
			map[string]bool{},
			31,
		},
		{
			"an override stands before the place's own limit",
			`{"place":"box","over_setpoint_kelvin":1,"rule_overrides":{"too-warm":{"limit":2},"off-setpoint":{"off":true}}}`,
			28,
			map[string]bool{},
			30,
		},
	} {
		t.Run(c.why, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := newRoom(t, newMemory(), "p")
				r.hand.celsius("p", 28)
				r.live(time.Minute)
				r.incubator(28)
				r.enter(book.KindLimits, json.RawMessage(c.limits))
				r.hand.celsius("p", c.celsius)
				r.live(2*time.Minute + 10*time.Second)
				for id, want := range c.told {
					if got := r.alert(id) != nil; got != want {
						t.Errorf("%s told: %v", id, got)
					}
				}
				if p := r.place("box"); c.celsius == 28 && (p.High == nil || *p.High != c.high) {
					t.Errorf("upper limit %v, want %v", p.High, c.high)
				}
			})
		})
	}
}

// A book of another version may hold what this one does not allow: it is left
// out, and heat is told.
func TestAnOverrideThatIsNotAllowedIsLeftOut(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		store := newMemory()
		first := newRoom(t, store, "p")
		first.hand.celsius("p", 28)
		first.live(time.Minute)
		first.incubator(28)
		store.entries = append(store.entries, book.Entry{
			Seq: 3000, At: time.Now(), Made: time.Now(), Kind: book.KindLimits, Data: []byte(
				`{"place":"box","rule_overrides":{"acute-heat":{"off":true},"too-warm":{"limit":40}}}`),
		})
		r := first.again("p")
		r.hand.celsius("p", 39)
		r.live(12 * time.Minute)
		if len(r.Snapshot().Book.Limits["box"].RuleOverrides) != 2 {
			t.Fatal("the entry does not count: nothing was tested")
		}
		if r.alert(heatOfBox) == nil {
			t.Error("deadly heat is not told")
		}
	})
}

func TestAnOverrideIsRefusedInWords(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		r.incubator(28)
		for limits, says := range map[string]string{
			`{"place":"box","rule_overrides":{"acute-heat":{"off":true}}}`:    "“Deadly heat” wakes people: it cannot be switched off",
			`{"place":"box","rule_overrides":{"runaway-heat":{"limit":36}}}`:  "between 30.0 °C and 34.5 °C",
			`{"place":"box","rule_overrides":{"no-such":{"off":true}}}`:       "there is no rule no-such",
			`{"place":"box","rule_overrides":{"store":{"off":true}}}`:         "is not about a place",
			`{"place":"box","night":{"from":"21","to":"7","low_celsius":18}}`: "is not a time of day",
		} {
			e := book.Entry{Kind: book.KindLimits, Data: []byte(limits)}
			if err := r.do(monitor.Change{Entry: &e}); !strings.Contains(err, says) {
				t.Errorf("%s: %q, want %q", limits, err, says)
			}
		}
	})
}
