package sensors

import (
	"errors"
	"fmt"
)

// Cause names why a sensor gave no believable value. Causes are metric labels
// and words on pages: lower case, dashes.
type Cause string

// The causes of a fault.
const (
	Absent      Cause = "absent"       // no such file, no answer at the address
	Checksum    Cause = "checksum"     // bytes arrived damaged
	PowerOn     Cause = "power-on"     // the chip's reset value, not a measurement
	OutOfRange  Cause = "out-of-range" // beyond what the chip can measure
	Unparsable  Cause = "unparsable"   // text or payload that is not a value
	NotReady    Cause = "not-ready"    // busy, EAGAIN, no conversion finished
	IO          Cause = "io"           // the kernel or bus said no
	Timeout     Cause = "timeout"      // no answer in the deadline
	BusStuck    Cause = "bus-stuck"    // a call into the bus has not returned
	Silent      Cause = "silent"       // a device that should speak has not
	DeadBus     Cause = "dead-bus"     // all zeros or all ones: nobody drives the line
	Unsupported Cause = "unsupported"  // the device answers, but is not what was configured
)

// A Fault says that a sensor gave no believable value, and why.
type Fault struct {
	Probe string
	Cause Cause
	Err   error // what happened, for the log; may be nil
}

// Error gives probe, cause and what happened.
func (f *Fault) Error() string {
	if f.Err == nil {
		return fmt.Sprintf("read probe %s: %s", f.Probe, f.Cause)
	}
	return fmt.Sprintf("read probe %s: %s: %v", f.Probe, f.Cause, f.Err)
}

// Unwrap gives what happened.
func (f *Fault) Unwrap() error { return f.Err }

// CauseOf gives the cause of the fault in err, or IO if it holds none.
func CauseOf(err error) Cause {
	if f, ok := errors.AsType[*Fault](err); ok {
		return f.Cause
	}
	return IO
}
