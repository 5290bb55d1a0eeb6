package i2c_test

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"unsafe"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/physic"

	"clutchd/sensors/i2c"
)

// A device stands in for periph's.
type device struct {
	tx     func(addr uint16, out, in []byte) error
	closed chan struct{}
}

func newDevice(tx func(addr uint16, out, in []byte) error) device {
	return device{tx: tx, closed: make(chan struct{})}
}

func (d device) Tx(addr uint16, out, in []byte) error { return d.tx(addr, out, in) }
func (d device) SetSpeed(physic.Frequency) error      { return nil }
func (d device) String() string                       { return "I2C1" }
func (d device) Close() error                         { close(d.closed); return nil }

func TestBusMakesOneTransferAtATime(t *testing.T) {
	var inside, together atomic.Int32
	dev := newDevice(func(_ uint16, out, in []byte) error {
		if inside.Add(1) > 1 {
			together.Add(1)
		}
		runtime.Gosched()
		copy(in, out)
		inside.Add(-1)
		return nil
	})
	bus := i2c.NewBus("i2c-1", t.TempDir(), dev)
	var users sync.WaitGroup
	for user := range byte(8) {
		users.Go(func() {
			for range 200 {
				in := make([]byte, 1)
				if err := bus.Tx(0x44, []byte{user}, in); err != nil || in[0] != user {
					t.Errorf("user %d got %d, %v", user, in[0], err)
					return
				}
			}
		})
	}
	users.Wait()
	if n := together.Load(); n != 0 {
		t.Errorf("%d transfers began before another's end", n)
	}
	check(t, bus.Close())
	check(t, bus.Close())
	<-dev.closed
	if err := bus.Tx(0x44, []byte{1}, nil); !errors.Is(err, os.ErrClosed) {
		t.Errorf("a transfer after Close says %v", err)
	}
}

// periph's Tx keeps addresses of its variables as numbers over calls that may
// need more stack, and over collections, which may take some away. This
// device does the same and looks whether its variable is still there.
func TestBusKeepsItsStackInPlace(t *testing.T) {
	var moved atomic.Int32
	dev := newDevice(func(_ uint16, out, _ []byte) error {
		var variable [64]byte
		before := uintptr(unsafe.Pointer(&variable))
		useStack(int(out[0])%8 + 1)
		runtime.GC()
		useStack(1)
		if uintptr(unsafe.Pointer(&variable)) != before {
			moved.Add(1)
		}
		return nil
	})
	bus := i2c.NewBus("i2c-1", t.TempDir(), dev)
	for i := range byte(64) {
		check(t, bus.Tx(0x44, []byte{i}, nil))
	}
	if n := moved.Load(); n != 0 {
		t.Errorf("the stack was moved during %d of 64 transfers", n)
	}
	check(t, bus.Close())
	<-dev.closed
}

// useStack needs some kilobytes of stack: a kilobyte for each level.
//
//go:noinline
func useStack(levels int) byte {
	var room [1 << 10]byte
	room[levels] = byte(levels)
	if levels > 1 {
		return useStack(levels-1) + room[levels]
	}
	return room[levels]
}

func TestTransferErrorsKeepTheirNumber(t *testing.T) {
	for _, row := range []struct {
		about, periph string
		want          error
	}{
		// periph's sysfs package puts the number into text.
		{"not acknowledged", "sysfs-i2c: remote I/O error", unix.EREMOTEIO},
		{"nobody at the address", "sysfs-i2c: no such device or address", unix.ENXIO},
		{"clock held", "sysfs-i2c: connection timed out", unix.ETIMEDOUT},
		{"bus error", "sysfs-i2c: input/output error", unix.EIO},
		{"adapter unplugged", "sysfs-i2c: no such device", unix.ENODEV},
	} {
		told := errors.New(row.periph)
		bus := i2c.NewBus("i2c-1", t.TempDir(), newDevice(func(uint16, []byte, []byte) error { return told }))
		err := bus.Tx(0x44, []byte{0}, nil)
		if !errors.Is(err, row.want) || !strings.HasPrefix(err.Error(), "transfer with 0x44 on i2c-1: ") {
			t.Errorf("%s: got %v, want one that wraps %v", row.about, err, row.want)
		}
		check(t, bus.Close())
	}
	other := errors.New("sysfs-i2c: invalid address")
	bus := i2c.NewBus("i2c-1", t.TempDir(), newDevice(func(uint16, []byte, []byte) error { return other }))
	defer bus.Close()
	if err := bus.Tx(0x44, []byte{0}, nil); !errors.Is(err, other) {
		t.Errorf("an error without a number became %v", err)
	}
}

func TestOpenBusErrors(t *testing.T) {
	for _, row := range []struct{ name, says string }{
		{"spi-0", "named like i2c-1"},
		{"i2c-", "named like i2c-1"},
		{"i2c-99999", "named like i2c-1"},
		{"i2c-4711", "switch I2C on"},
		{"/dev/i2c-4711", "switch I2C on"},
	} {
		bus, err := i2c.OpenBus(row.name)
		if bus != nil || err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("OpenBus(%q) gives %v, %v; want an error with %q", row.name, bus, err, row.says)
		}
	}
	err := i2c.OpenError(1, "sysfs-i2c: are you member of group 'plugdev'? open /dev/i2c-1: permission denied")
	if !errors.Is(err, unix.EACCES) || !strings.Contains(err.Error(), "group that owns /dev/i2c-1") {
		t.Errorf("a refusal becomes %v", err)
	}
}

func TestBuses(t *testing.T) {
	sys := t.TempDir()
	for name, adapter := range map[string]string{"i2c-10": "fef04500.i2c\n", "i2c-1": "bcm2835 (i2c@7e804000)\n", "i2c-x": "no number"} {
		dir := filepath.Join(sys, "class/i2c-dev", name)
		check(t, os.MkdirAll(dir, 0o755))
		check(t, os.WriteFile(filepath.Join(dir, "name"), []byte(adapter), 0o644))
	}
	want := []i2c.HostBus{{"i2c-1", "bcm2835 (i2c@7e804000)"}, {"i2c-10", "fef04500.i2c"}}
	if diff := cmp.Diff(want, i2c.BusesUnder(sys)); diff != "" {
		t.Errorf("buses (−want +got):\n%s", diff)
	}
	if got := i2c.BusesUnder(t.TempDir()); got != nil {
		t.Errorf("a machine without I2C has %v", got)
	}
}

func TestClaimed(t *testing.T) {
	sys := t.TempDir()
	chip := filepath.Join(sys, "bus/i2c/devices/1-0044")
	check(t, os.MkdirAll(chip, 0o755))
	check(t, os.Symlink("../../../../bus/i2c/drivers/sht3x", filepath.Join(chip, "driver")))
	check(t, os.MkdirAll(filepath.Join(sys, "bus/i2c/devices/1-0048"), 0o755)) // declared, no driver
	bus := i2c.NewBus("i2c-1", sys, newDevice(nil))
	defer bus.Close()
	for addr, want := range map[uint16]string{0x44: "sht3x", 0x48: "", 0x76: ""} {
		if got := bus.Claimed(addr); got != want {
			t.Errorf("0x%02x is held by %q, want %q", addr, got, want)
		}
	}
}
