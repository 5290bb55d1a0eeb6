package i2c

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"

	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/physic"
	"periph.io/x/host/v3/sysfs"
)

// A HostBus is an I2C bus of this machine.
type HostBus struct {
	Name    string // "i2c-1", for OpenBus
	Adapter string // what the kernel calls it: "bcm2835 (i2c@7e804000)"
}

// Buses lists the buses that OpenBus can open, by number. On a Raspberry Pi
// i2c-1 is the one on the header; others belong to its HDMI plugs.
func Buses() []HostBus { return busesUnder("/sys") }

func busesUnder(sys string) []HostBus {
	// The pattern is well-formed: that is all Glob could object to.
	files, _ := filepath.Glob(filepath.Join(sys, "class/i2c-dev/i2c-*/name"))
	var all []HostBus
	for _, file := range files {
		text, err := os.ReadFile(file)
		name := filepath.Base(filepath.Dir(file))
		if _, bad := busNumber(name); err != nil || bad != nil {
			continue
		}
		all = append(all, HostBus{Name: name, Adapter: strings.TrimSpace(string(text))})
	}
	slices.SortFunc(all, func(a, b HostBus) int {
		x, _ := busNumber(a.Name)
		y, _ := busNumber(b.Name)
		return x - y
	})
	return all
}

func busNumber(name string) (int, error) {
	digits, ok := strings.CutPrefix(strings.TrimPrefix(name, "/dev/"), "i2c-")
	n, err := strconv.ParseUint(digits, 10, 16)
	if !ok || err != nil {
		return 0, fmt.Errorf("open bus %q: a bus is named like i2c-1", name)
	}
	return int(n), nil
}

// A Bus is an I2C bus of this machine. It may be used by several goroutines;
// their transfers happen one after the other. A transfer that the kernel does
// not return from holds up all others, and Close.
type Bus struct {
	name string
	sys  string // where sysfs is mounted

	mu        sync.Mutex
	transfers chan transfer // nil once closed
}

type transfer struct {
	addr    uint16
	out, in []byte
	done    chan<- error
}

// OpenBus opens a bus by its name, "i2c-1" or "/dev/i2c-1".
func OpenBus(name string) (*Bus, error) {
	number, err := busNumber(name)
	if err != nil {
		return nil, err
	}
	dev, err := sysfs.NewI2C(number)
	if err != nil {
		return nil, openError(number, err)
	}
	return newBus(fmt.Sprintf("i2c-%d", number), "/sys", dev), nil
}

func openError(number int, err error) error {
	switch cause := errnoIn(err); cause {
	case unix.ENOENT:
		return fmt.Errorf("open bus i2c-%d: it is not there: "+
			"switch I2C on (dtparam=i2c_arm=on, module i2c-dev): %w", number, cause)
	case unix.EACCES, unix.EPERM:
		return fmt.Errorf("open bus i2c-%d: not allowed: "+
			"the user must be in the group that owns /dev/i2c-%[1]d: %[2]w", number, cause)
	default:
		return fmt.Errorf("open bus i2c-%d: %w", number, err)
	}
}

func newBus(name, sys string, dev i2c.BusCloser) *Bus {
	b := &Bus{name: name, sys: sys, transfers: make(chan transfer)}
	go serve(dev, b.transfers)
	return b
}

// serve makes the transfers of a bus, all of them in this goroutine, and
// closes the device when there will be no more.
//
// periph's sysfs.I2C.Tx keeps addresses of variables on its stack as plain
// numbers until the system call. Should the stack grow or shrink in between,
// the runtime moves it and the kernel reads the old place; waiting for
// another transfer is not needed for that. The ballast sees to it that this
// stack does neither: the goroutine's stack is sized to hold it at once, a Tx
// fits many times into what is left, and the runtime shrinks no stack of which
// more than a quarter is in use.
func serve(dev i2c.BusCloser, transfers <-chan transfer) {
	var ballast [16 << 10]byte
	for t := range transfers {
		ballast[int(t.addr)%len(ballast)]++
		t.done <- dev.Tx(t.addr, t.out, t.in)
	}
	closeDevice(dev, &ballast[0])
}

// closeDevice takes a byte of the ballast so that it is in use to the end.
//
//go:noinline
func closeDevice(dev i2c.BusCloser, _ *byte) {
	_ = dev.Close() // nothing is buffered: there is nothing to lose
}

// Tx makes a transfer. Its error wraps the kernel's error number.
func (b *Bus) Tx(addr uint16, out, in []byte) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.transfers == nil {
		return fmt.Errorf("transfer on %s: %w", b.name, os.ErrClosed)
	}
	done := make(chan error, 1)
	b.transfers <- transfer{addr: addr, out: out, in: in, done: done}
	return transferError(b.name, addr, <-done)
}

func transferError(name string, addr uint16, err error) error {
	if err == nil {
		return nil
	}
	if cause := errnoIn(err); cause != 0 {
		return fmt.Errorf("transfer with 0x%02x on %s: %w", addr, name, cause)
	}
	return fmt.Errorf("transfer with 0x%02x on %s: %w", addr, name, err)
}

// errnoIn finds the error number in an error of periph's sysfs package, which
// keeps only its text, at the end. It gives 0 for none of those that matter.
func errnoIn(err error) unix.Errno {
	if errno, ok := errors.AsType[unix.Errno](err); ok {
		return errno
	}
	for _, errno := range []unix.Errno{
		unix.EREMOTEIO, unix.ENXIO, unix.ETIMEDOUT, unix.EIO, unix.EAGAIN, unix.EBUSY, unix.ENODEV,
		unix.EOPNOTSUPP, unix.ENOENT, unix.EACCES, unix.EPERM,
	} {
		if strings.HasSuffix(err.Error(), ": "+errno.Error()) {
			return errno
		}
	}
	return 0
}

// Claimed names the kernel driver that holds an address, "" if none does.
func (b *Bus) Claimed(addr uint16) (driver string) {
	number, err := busNumber(b.name)
	if err != nil {
		return ""
	}
	link := filepath.Join(b.sys, "bus/i2c/devices", fmt.Sprintf("%d-%04x", number, addr), "driver")
	target, err := os.Readlink(link)
	if err != nil {
		return ""
	}
	return filepath.Base(target)
}

// String is the bus's name, "i2c-1".
func (b *Bus) String() string { return b.name }

// SetSpeed refuses: the speed is set in the machine's device tree, for all.
func (b *Bus) SetSpeed(physic.Frequency) error {
	return fmt.Errorf("set speed of %s: not supported", b.name)
}

// Close closes the bus; a transfer after it is an error that wraps
// os.ErrClosed.
func (b *Bus) Close() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.transfers != nil {
		close(b.transfers)
		b.transfers = nil
	}
	return nil
}

var (
	_ i2c.BusCloser = (*Bus)(nil)
	_ claimer       = (*Bus)(nil)
)
