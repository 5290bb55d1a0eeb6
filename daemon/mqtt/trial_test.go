package mqtt_test

import (
	"testing"
	"testing/synctest"

	"clutchd/daemon/mqtt"
)

// hopsPassed says how many hops passed and whether the last one failed.
func hopsPassed(hops []mqtt.Hop) (passed int, failed error) {
	for _, h := range hops {
		if h.Err != nil {
			return passed, h.Err
		}
		passed++
	}
	return passed, nil
}

func TestTrial(t *testing.T) {
	tests := []struct {
		sentence string
		spoil    func(*hub)
		passed   int // of five hops
	}{
		{"a sound broker passes every hop", func(*hub) {}, 5},
		{"a broker that is away cannot be connected to", (*hub).stop, 1},
		{"a broker that confirms nothing", func(h *hub) {
			h.lose(func(p byte) bool { return p == pubackPacket })
		}, 3},
		{"a broker that confirms and delivers to nobody", func(h *hub) {
			h.lose(func(p byte) bool { return p == publishPacket })
		}, 4},
	}
	for _, tt := range tests {
		t.Run(tt.sentence, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				h := newHub(t)
				c, _ := h.connect(mqtt.Options{})
				tt.spoil(h)
				passed, failed := hopsPassed(c.Trial(t.Context(), notice(1)))
				if passed != tt.passed || (failed == nil) != (tt.passed == 5) {
					t.Errorf("%d hops passed, then %v; want %d", passed, failed, tt.passed)
				}
			})
		})
	}
}
