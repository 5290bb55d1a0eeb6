package contact_test

import (
	"os"
	"path/filepath"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"golang.org/x/sys/unix"

	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/contact"
)

// trees holds trees of /sys; its README says where they come from.
const trees = "../../testdata/sys"

// said renders an outcome: its state, and what else it tells, or the cause.
func said(k incubation.ContactKind, o sensors.ContactOutcome) string {
	if o.Fault != nil {
		return "fault " + string(o.Fault.Cause)
	}
	if o.Detail == "" {
		return k.State(o.On)
	}
	return k.State(o.On) + ", " + o.Detail
}

func TestSupplies(t *testing.T) {
	for _, row := range []struct{ name, tree, supply, want string }{
		{"a charger that is plugged in, and the battery beside it", "power", "AC", "present, battery 64 %, charging"},
		{"one of several voltages", "power", "usb-c", "present, battery 64 %, charging"},
		{"a UPS on its battery", "power", "ups", "off, battery 64 %, charging"},
		{"a battery that is not being drained", "power", "BAT0", "present, battery 64 %, charging"},
		{"a power cut", "power-cut", "AC", "off, battery 63 %, discharging"},
		{"the same, told by the battery alone", "power-cut", "BAT0", "off, battery 63 %, discharging"},
		{"no such supply", "power", "BAT7", "fault absent"},
		{"no supplies at all", "climate", "AC", "fault absent"},
		{"an empty file", "power-damaged", "empty", "fault unparsable"},
		{"bytes that mean nothing", "power-damaged", "garbage", "fault unparsable"},
		{"a number that is no state", "power-damaged", "many", "fault unparsable"},
		{"a supply without a type", "power-damaged", "untyped", "fault absent"},
		{"a type that says nothing of the mains", "power-damaged", "strange", "fault unsupported"},
		{"a charger whose state has vanished", "power-damaged", "offless", "fault absent"},
		{"a read that fails", "power-damaged", "folder", "fault io"},
		{"a battery that does not know", "power-damaged", "BAT1", "fault not-ready"},
		{"a battery in a state nobody knows", "power-damaged", "BAT2", "fault unparsable"},
	} {
		t.Run(row.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := contact.Open([]contact.Spec{{
					ID: "ups", Kind: incubation.Mains, Supply: row.supply, Root: filepath.Join(trees, row.tree),
				}})
				got := r.Once(t.Context())
				if len(got) != 1 || got[0].Contact != "ups" || said(incubation.Mains, got[0]) != row.want {
					t.Errorf("%+v says %q, want %q", got, said(incubation.Mains, got[0]), row.want)
				}
			})
		})
	}
}

// A heard is what a reader pushed, in order, with when it did.
type heard struct {
	mu   sync.Mutex
	kind incubation.ContactKind
	from time.Time
	all  []string
	at   []time.Duration
}

func (h *heard) push(o sensors.ContactOutcome) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.all, h.at = append(h.all, said(h.kind, o)), append(h.at, o.Time.Sub(h.from))
}

// last gives what was heard last, and forgets all but how often that was.
func (h *heard) last() (word string, times int, at time.Duration) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if n := len(h.all); n > 0 {
		word, times, at = h.all[n-1], n, h.at[n-1]
	}
	h.all, h.at = nil, nil
	return word, times, at
}

// listen runs a reader of one contact in the bubble.
func listen(t *testing.T, s contact.Spec, r *contact.Reader) *heard {
	t.Helper()
	h := &heard{kind: s.Kind, from: time.Now()}
	done := make(chan error, 1)
	go func() { done <- r.Run(t.Context(), h.push) }()
	return h
}

// A file of the kernel's may become anything, at any time, and come back.
func TestASupplyComesAndGoes(t *testing.T) {
	root := t.TempDir()
	folder := filepath.Join(root, "class/power_supply/AC")
	put := func(file, text string) {
		t.Helper()
		path := filepath.Join(folder, file)
		if err := os.MkdirAll(folder, 0o755); err != nil {
			t.Fatal(err)
		}
		_ = os.Remove(path)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	put("type", "Mains\n")
	put("online", "1\n")
	synctest.Test(t, func(t *testing.T) {
		s := contact.Spec{ID: "ups", Kind: incubation.Mains, Supply: "AC", Root: root}
		h := listen(t, s, contact.Open([]contact.Spec{s}))
		for _, step := range []struct {
			name string
			do   func()
			want string
		}{
			{"it is there", func() {}, "present"},
			{"the power goes", func() { put("online", "0\n") }, "off"},
			{"the cable is pulled", func() {
				if err := os.RemoveAll(folder); err != nil {
					t.Fatal(err)
				}
			}, "fault absent"},
			{"it comes back", func() { put("type", "Mains\n"); put("online", "1\n") }, "present"},
			{"a pipe stands in the place of the file, and nobody writes", func() {
				_ = os.Remove(filepath.Join(folder, "online"))
				if err := unix.Mkfifo(filepath.Join(folder, "online"), 0o600); err != nil {
					t.Fatal(err)
				}
			}, "fault unparsable"},
			{"it is whole again", func() { put("online", "0\n") }, "off"},
		} {
			step.do()
			time.Sleep(2 * time.Second)
			synctest.Wait()
			if word, _, _ := h.last(); word != step.want {
				t.Errorf("%s: it says %q, want %q", step.name, word, step.want)
			}
		}
		time.Sleep(time.Minute)
		if word, times, _ := h.last(); word != "off" || times != 6 {
			t.Errorf("in a minute of rest it said %q %d times, want 6", word, times)
		}
	})
}
