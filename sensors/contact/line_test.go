package contact_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/gpio/gpioreg"

	"clutchd/incubation"
	"clutchd/sensors/contact"
)

// A pin is a GPIO line of a test. Like periph's own it says "low" when it
// cannot be read, and only In has an error. (periph's gpiotest.Pin takes its
// pull for its level at every In.)
type pin struct {
	gpio.PinIO
	name string

	mu     sync.Mutex
	level  gpio.Level
	pull   gpio.Pull
	err    error
	halted bool
}

func (p *pin) Name() string   { return p.name }
func (p *pin) String() string { return p.name }
func (p *pin) Number() int    { return -1 }

func (p *pin) In(pull gpio.Pull, _ gpio.Edge) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.pull = pull
	return p.err
}

func (p *pin) Read() gpio.Level {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.level && p.err == nil
}

func (p *pin) Halt() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.halted = true
	return nil
}

func (p *pin) set(level gpio.Level, err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.level, p.err = level, err
}

// wire registers a line under a name, as a driver would.
func wire(t *testing.T, name string, level gpio.Level) *pin {
	t.Helper()
	p := &pin{PinIO: gpio.INVALID, name: name, level: level}
	if err := gpioreg.Register(p); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := gpioreg.Unregister(name); err != nil {
			t.Error(err)
		}
	})
	return p
}

func TestLines(t *testing.T) {
	for i, row := range []struct {
		name  string
		spec  contact.Spec
		level gpio.Level
		err   error
		want  string
		pull  gpio.Pull
	}{
		{"closed to ground is on", contact.Spec{Kind: incubation.Leak}, gpio.Low, nil, "wet", gpio.PullUp},
		{"open is off", contact.Spec{Kind: incubation.Leak}, gpio.High, nil, "dry", gpio.PullUp},
		{
			"a magnet away from a door's contact is an open door",
			contact.Spec{Kind: incubation.Door, ActiveHigh: true},
			gpio.High, nil, "open", gpio.PullUp,
		},
		{
			"a cable torn off looks like one",
			contact.Spec{Kind: incubation.Door, ActiveHigh: true},
			gpio.High, nil, "open", gpio.PullUp,
		},
		{
			"a relay that brings a voltage",
			contact.Spec{Kind: incubation.Mains, ActiveHigh: true, Pull: contact.PullDown},
			gpio.High, nil, "present", gpio.PullDown,
		},
		{
			"a resistor on the board",
			contact.Spec{Kind: incubation.Mains, ActiveHigh: true, Pull: contact.PullNone},
			gpio.Low, nil, "off", gpio.Float,
		},
		{
			"the chip is gone, and low would be mains",
			contact.Spec{Kind: incubation.Mains},
			gpio.Low,
			errors.New(unix.ENODEV.Error()), "fault absent", gpio.PullUp,
		},
		{
			"another program has the line",
			contact.Spec{Kind: incubation.Door},
			gpio.High,
			fmt.Errorf("line_request ioctl: %w", errors.New(unix.EBUSY.Error())), "fault not-ready", gpio.PullUp,
		},
		{
			"a chip without that resistor",
			contact.Spec{Kind: incubation.Door},
			gpio.High,
			unix.EOPNOTSUPP, "fault unsupported", gpio.PullUp,
		},
		{"the kernel says no", contact.Spec{Kind: incubation.Door}, gpio.High, unix.EIO, "fault io", gpio.PullUp},
	} {
		t.Run(row.name, func(t *testing.T) {
			row.spec.ID, row.spec.Line = "c", fmt.Sprintf("TEST%d", i)
			p := wire(t, row.spec.Line, row.level)
			p.set(row.level, row.err)
			r := contact.Open([]contact.Spec{row.spec})
			synctest.Test(t, func(t *testing.T) {
				if got := said(row.spec.Kind, r.Once(t.Context())[0]); got != row.want || p.pull != row.pull {
					t.Errorf("it says %q under pull %v, want %q under %v", got, p.pull, row.want, row.pull)
				}
			})
			if p.halted {
				t.Error("the line was halted")
			}
		})
	}
	t.Run("no such line, or no chip", func(t *testing.T) {
		r := contact.Open([]contact.Spec{{ID: "c", Kind: incubation.Mains, Line: "NOWHERE4"}})
		synctest.Test(t, func(t *testing.T) {
			if got := said(incubation.Mains, r.Once(t.Context())[0]); got != "fault absent" {
				t.Errorf("it says %q", got)
			}
		})
	})
}

func TestALineIsDebounced(t *testing.T) {
	for _, row := range []struct {
		name     string
		kind     incubation.ContactKind
		debounce time.Duration
		moves    []time.Duration // between changes of the level
		want     string          // what is told
		within   time.Duration   // of the last change
		times    int
	}{
		{"a door is told at once", incubation.Door, 0, []time.Duration{0}, "open", 700 * time.Millisecond, 1},
		{
			"a switch that bounces is told once", incubation.Door, 0,
			[]time.Duration{0, 4e6, 3e6, 8e6, 2e6, 5e6, 4e6},
			"open", 700 * time.Millisecond, 1,
		},
		{
			"a drop that passes by is none", incubation.Leak, 0,
			[]time.Duration{0, 2 * time.Second},
			"", 0, 0,
		},
		{"water that stays is", incubation.Leak, 0, []time.Duration{0}, "wet", 5 * time.Second, 1},
		{"the keeper's own wait", incubation.Door, 2 * time.Second, []time.Duration{0}, "open", 3 * time.Second, 1},
	} {
		t.Run(row.name, func(t *testing.T) {
			p := wire(t, "BOUNCE", gpio.High)
			s := contact.Spec{ID: "c", Kind: row.kind, Line: "BOUNCE", Debounce: row.debounce}
			r := contact.Open([]contact.Spec{s})
			synctest.Test(t, func(t *testing.T) {
				h := listen(t, s, r)
				time.Sleep(4 * time.Second)
				if word, times, _ := h.last(); times != 1 || word != row.kind.State(false) {
					t.Fatalf("at first it said %q %d times", word, times)
				}
				level := gpio.High
				var changed time.Duration
				for _, d := range row.moves {
					time.Sleep(d)
					level = !level
					p.set(level, nil)
					changed = time.Since(h.from)
				}
				time.Sleep(5 * time.Second)
				synctest.Wait()
				word, times, at := h.last()
				if word != row.want || times != row.times || at-changed > row.within {
					t.Errorf("it said %q %d times, %v after the change; want %q %d times within %v",
						word, times, at-changed, row.want, row.times, row.within)
				}
			})
		})
	}
}

// A line whose wire hangs loose has no state: the last one is not its.
func TestALineThatNeverRestsIsAFault(t *testing.T) {
	const restsAgain = 45 * time.Second
	p := wire(t, "LOOSE", gpio.High)
	s := contact.Spec{ID: "c", Kind: incubation.Door, Line: "LOOSE"}
	r := contact.Open([]contact.Spec{s})
	synctest.Test(t, func(t *testing.T) {
		h := listen(t, s, r)
		time.Sleep(5 * time.Second)
		if word, _, _ := h.last(); word != "shut" {
			t.Fatalf("at first it says %q", word)
		}
		loose := rand.New(rand.NewPCG(1, 2))
		for range 10_000 {
			p.set(loose.IntN(2) == 0, nil)
			time.Sleep(time.Duration(loose.IntN(15)) * time.Millisecond)
		}
		if word, _, _ := h.last(); word != "fault not-ready" {
			t.Errorf("chattering for 70 s it says %q", word)
		}
		p.set(gpio.Low, nil)
		time.Sleep(restsAgain)
		if word, _, _ := h.last(); word != "open" {
			t.Errorf("at rest again it says %q", word)
		}
	})
}
