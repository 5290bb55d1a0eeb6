package i2c

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"time"

	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/physic"

	"clutchd/sensors"
)

const (
	// maxTransfers is how many transfers one Read may make. The longest honest
	// one, an aht20 that is made ready and then busy, needs about 20.
	maxTransfers = 64
	// pollPause slows a driver that asks the same again and again: bmxx80 does
	// so without a pause. With maxTransfers it gives a busy chip some 60 ms on
	// any bus; the longest wait such a loop has to bridge is a millisecond.
	pollPause = time.Millisecond
)

// A wire is the way to one chip, for us and for the periph drivers. Those lose
// the cause of an error or ignore it, cannot be cancelled and may poll for
// ever: so the wire keeps the first error and all answers, ends when the
// context does and counts the transfers.
type wire struct {
	bus  i2c.Bus
	addr uint16

	// Of the Read in progress. The context is kept here because the drivers
	// cannot hand one on.
	ctx     context.Context
	left    int
	asked   []byte // the newest bytes written before a read
	answers []answer
	broken  error // the first error of a driver's transfer
}

type answer struct{ out, in []byte }

// begin starts a Read.
func (w *wire) begin(ctx context.Context) {
	w.ctx, w.left = ctx, maxTransfers
	w.asked, w.answers, w.broken = nil, nil, nil
}

// Tx is a driver's transfer. An error is kept even if the driver drops it, and
// ends the Read: tmp102, for one, would write back settings it could not read.
func (w *wire) Tx(addr uint16, out, in []byte) error {
	if w.broken == nil {
		w.broken = w.paced(addr, out, in)
	}
	return w.broken
}

func (w *wire) paced(addr uint16, out, in []byte) error {
	if len(in) > 0 && len(w.answers) > 0 && bytes.Equal(out, w.asked) {
		if err := w.pause(pollPause); err != nil {
			return err
		}
	}
	if addr != w.addr {
		return faultf(sensors.Unsupported, "driver speaks to 0x%02x", addr)
	}
	return w.transfer(out, in)
}

// transfer writes out and then reads in; its error is a *sensors.Fault.
func (w *wire) transfer(out, in []byte) error {
	if err := w.ctx.Err(); err != nil {
		return fault(sensors.Timeout, err)
	}
	if w.left == 0 {
		return faultf(sensors.NotReady, "still busy after %d transfers", maxTransfers)
	}
	w.left--
	if err := w.bus.Tx(w.addr, out, in); err != nil {
		clear(in)
		return fault(causeOf(err), err)
	}
	if len(in) > 0 {
		w.asked = bytes.Clone(out)
		w.answers = append(w.answers, answer{w.asked, bytes.Clone(in)})
	}
	return nil
}

// write sends bytes alone, read asks for bytes alone.
func (w *wire) write(out ...byte) error { return w.transfer(out, nil) }
func (w *wire) read(in []byte) error    { return w.transfer(nil, in) }

// register reads n bytes from a register.
func (w *wire) register(reg byte, n int) ([]byte, error) {
	in := make([]byte, n)
	if err := w.transfer([]byte{reg}, in); err != nil {
		return nil, err
	}
	return in, nil
}

// answer gives the newest answer to these bytes, empty if there was none.
func (w *wire) answer(out ...byte) []byte {
	for i := len(w.answers) - 1; i >= 0; i-- {
		if bytes.Equal(w.answers[i].out, out) {
			return w.answers[i].in
		}
	}
	return nil
}

// pause waits, unless the Read is to end before.
func (w *wire) pause(d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-w.ctx.Done():
		return fault(sensors.Timeout, w.ctx.Err())
	}
}

// String and SetSpeed make the wire a bus for the drivers.
func (w *wire) String() string { return w.bus.String() }

func (w *wire) SetSpeed(physic.Frequency) error {
	return errors.New("set bus speed: not ours to set")
}

var _ i2c.Bus = (*wire)(nil)

// causeOf reads the kernel's error numbers: nobody acknowledged the address or
// a byte (ENXIO, EREMOTEIO), the chip stretched the clock for too long
// (ETIMEDOUT), or anything else.
func causeOf(err error) sensors.Cause {
	switch {
	case errors.Is(err, unix.ENXIO), errors.Is(err, unix.EREMOTEIO):
		return sensors.Absent
	case errors.Is(err, unix.ETIMEDOUT):
		return sensors.Timeout
	}
	return sensors.IO
}

// fault is a cause with what happened; the chip adds its probe.
func fault(cause sensors.Cause, err error) error {
	return &sensors.Fault{Cause: cause, Err: err}
}

func faultf(cause sensors.Cause, format string, args ...any) error {
	return fault(cause, fmt.Errorf(format, args...))
}

// dead says that nobody drove the line while these bytes were read: they are
// all zeros or all ones.
func dead(frame []byte) bool {
	if len(frame) == 0 {
		return false
	}
	first := frame[0]
	if first != 0x00 && first != 0xff {
		return false
	}
	return bytes.Count(frame, frame[:1]) == len(frame)
}

func deadFault(what string, frame []byte) error {
	return faultf(sensors.DeadBus, "%s reads % x", what, frame)
}
