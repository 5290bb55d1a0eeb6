package proof_test

import (
	"os"
	"path/filepath"
	"sync"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/gpio/gpioreg"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors"
	"clutchd/sensors/contact"
)

// A panel is the house's contacts: a power supply of the kernel's that tells of
// the mains, and GPIO lines for water and an enclosure's door.
type panel struct {
	folder string // of the supply
	leak   *pin
	door   *pin
}

// A pin is a GPIO line; high: nothing touches it.
type pin struct {
	gpio.PinIO
	name string
	mu   sync.Mutex
	low  bool
}

func (p *pin) Name() string                  { return p.name }
func (p *pin) String() string                { return p.name }
func (p *pin) Number() int                   { return -1 }
func (p *pin) In(gpio.Pull, gpio.Edge) error { return nil }
func (p *pin) Halt() error                   { return nil }
func (p *pin) close(low bool)                { p.mu.Lock(); p.low = low; p.mu.Unlock() }
func (p *pin) Read() gpio.Level              { p.mu.Lock(); defer p.mu.Unlock(); return gpio.Level(!p.low) }

// newPanel screws contacts on. Lines are known to the whole process, so each
// house has names of its own.
func (h *house) newPanel() {
	p := &panel{folder: filepath.Join(h.root, "class/power_supply/AC")}
	must(h.T, os.MkdirAll(p.folder, 0o755))
	must(h.T, os.WriteFile(filepath.Join(p.folder, "type"), []byte("Mains\n"), 0o644))
	name := filepath.Base(filepath.Dir(h.root))
	for line, at := range map[string]**pin{"leak": &p.leak, "door": &p.door} {
		*at = &pin{PinIO: gpio.INVALID, name: name + line}
		must(h.T, gpioreg.Register(*at))
		h.Cleanup(func() { _ = gpioreg.Unregister(name + line) })
	}
	h.panel = p
	h.mains("1\n")
}

// mains has the supply's file say a text.
func (h *house) mains(text string) {
	must(h.T, os.WriteFile(filepath.Join(h.panel.folder, "online"), []byte(text), 0o644))
}

// listen opens the contacts as the daemon does.
func (p *panel) listen(root string, board *sensors.Board) *contact.Reader {
	r := contact.Open([]contact.Spec{
		{ID: "mains", Kind: incubation.Mains, Supply: "AC", Root: root},
		{ID: "floor", Kind: incubation.Leak, Line: p.leak.name},
		{ID: "pen-door", Kind: incubation.Door, Line: p.door.name},
	})
	for _, c := range r.Contacts() {
		board.Announce(c)
	}
	return r
}

// connect writes into the book what the contacts tell of.
func (h *house) connect() {
	for _, d := range []book.ContactData{
		{Contact: "mains", Kind: incubation.Mains, Place: room},
		{Contact: "floor", Kind: incubation.Leak, Place: room},
		{Contact: "pen-door", Kind: incubation.Door, Place: pen},
	} {
		h.enter(book.KindContact, d)
	}
}
