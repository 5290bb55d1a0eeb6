// Package contact reads yes/no inputs: GPIO lines, and the power supplies that
// the kernel knows of.
//
// It never drives a line, and does not judge what a state means. A line or
// file that cannot be read is a fault with its cause, never a state. Lines are
// read through periph's gpioioctl (the kernel's GPIO character devices, v2),
// supplies as Documentation/ABI/testing/sysfs-class-power tells.
package contact

import (
	"context"
	"sync"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

const (
	// pollEvery is how often a state that rests is looked at.
	pollEvery = 500 * time.Millisecond
	// tellEvery is how often a state that rests is told.
	tellEvery = 10 * time.Second
	// restless is how long a line may chatter before it has no state at all.
	restless = 30 * time.Second
)

// A Spec says where a contact is read. Line or Supply is set.
type Spec struct {
	ID   string
	Kind incubation.ContactKind
	// Line is a GPIO line's name, as the kernel has it: "GPIO17".
	Line string
	// ActiveHigh: the contact is on while the line is high; else while it is low.
	ActiveHigh bool
	Pull       Pull
	// Supply is a name below /sys/class/power_supply: "AC", "rpi-poe".
	Supply string
	// Debounce is how long a state must hold; zero: Debounce(Kind).
	Debounce time.Duration
	// Root is where sysfs is mounted; "": /sys.
	Root string
}

// Pull is the resistor at a line: PullUp, PullDown or PullNone.
type Pull string

// The resistors within the chip. The zero value is PullUp: a contact to ground.
const (
	PullUp   Pull = "up"
	PullDown Pull = "down"
	PullNone Pull = "none"
)

// Debounce is how long a state of a kind must hold unless a Spec says so: a
// switch bounces for milliseconds, a drop may only pass by.
func Debounce(k incubation.ContactKind) time.Duration {
	if k == incubation.Leak {
		return 3 * time.Second
	}
	return 50 * time.Millisecond
}

// An input gives the state of one contact now. Its error is a fault without
// the contact's id.
type input interface {
	read() (on bool, detail string, err error)
}

// A Reader reads contacts.
type Reader struct {
	lines    []*watched // all of one owner: see own
	supplies []*watched // each of its own
}

// Open makes a reader. With a GPIO line among the specs it has periph look for
// the machine's GPIO chips: call it before other goroutines open files, for
// that search closes a file twice where one chip has two names, as on a
// Raspberry Pi.
func Open(specs []Spec) *Reader {
	r := &Reader{}
	for _, s := range specs {
		if s.Debounce <= 0 {
			s.Debounce = Debounce(s.Kind)
		}
		w := &watched{spec: s, steady: steady{wait: s.Debounce}}
		if s.Supply != "" {
			w.in = supply{root: s.Root, name: s.Supply}
			r.supplies = append(r.supplies, w)
			continue
		}
		w.in = &line{name: s.Line, pull: pulls(s.Pull), activeHigh: s.ActiveHigh}
		r.lines = append(r.lines, w)
	}
	if len(r.lines) > 0 {
		findChips()
	}
	return r
}

// Contacts lists the contacts, in the order of their specs by kind of input.
func (r *Reader) Contacts() []sensors.Contact {
	var out []sensors.Contact
	for _, w := range append(append([]*watched{}, r.lines...), r.supplies...) {
		out = append(out, w.contact())
	}
	return out
}

// Run reads until ctx ends and pushes what it finds: a change at once, a
// state that rests every ten seconds. Of an input that hangs nothing is
// pushed: whoever listens must count silence. Its error is always nil.
func (r *Reader) Run(ctx context.Context, push func(sensors.ContactOutcome)) error {
	var all sync.WaitGroup
	if len(r.lines) > 0 {
		all.Go(func() { own(ctx, r.lines, push) })
	}
	for _, w := range r.supplies {
		all.Go(func() { watch(ctx, []*watched{w}, push) })
	}
	done := make(chan struct{})
	go func() { all.Wait(); close(done) }()
	<-ctx.Done()
	select {
	case <-done:
	case <-time.After(time.Second): // one hangs in the kernel: left behind
	}
	return nil
}

// Once reads every contact until its state has settled, for a person who asks.
func (r *Reader) Once(ctx context.Context) []sensors.ContactOutcome {
	var mu sync.Mutex
	said := map[string]sensors.ContactOutcome{}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	known := r.Contacts()
	_ = r.Run(ctx, func(o sensors.ContactOutcome) {
		mu.Lock()
		defer mu.Unlock()
		if said[o.Contact] = o; len(said) == len(known) {
			stop()
		}
	})
	mu.Lock()
	defer mu.Unlock()
	out := make([]sensors.ContactOutcome, len(known))
	for i, c := range known {
		o, ok := said[c.ID]
		if !ok {
			o = sensors.ContactOutcome{Contact: c.ID, Fault: &sensors.Fault{Probe: c.ID, Cause: sensors.Timeout}}
		}
		out[i] = o
	}
	return out
}
