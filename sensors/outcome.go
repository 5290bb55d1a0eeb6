package sensors

import (
	"context"
	"errors"

	"clutchd/incubation"
)

// settle makes an outcome complete: a trusted reading with probe and time, or
// a fault with its probe and no reading.
func settle(p Probe, o Outcome) Outcome {
	o.Probe = p.ID
	if o.Fault == nil {
		r, err := Trust(p, o.Reading)
		r.Probe = p.ID
		if r.Time.IsZero() {
			r.Time = o.Time
		}
		if err == nil {
			o.Reading = r
			return o
		}
		o.Fault = faultOf(p.ID, err)
	}
	o.Reading = incubation.Reading{}
	o.Fault = faultOf(p.ID, o.Fault)
	return o
}

// faultOf gives err as a fault of the probe. Whatever ran into the deadline is
// a timeout, also where the driver calls it something else.
func faultOf(probe string, err error) *Fault {
	f := Fault{Cause: CauseOf(err), Err: err}
	if own, ok := errors.AsType[*Fault](err); ok {
		f.Err = own.Err
	}
	f.Probe = probe
	if errors.Is(err, context.DeadlineExceeded) {
		f.Cause = Timeout
	}
	return &f
}

func causeOf(o Outcome) Cause {
	if o.Fault == nil {
		return ""
	}
	return o.Fault.Cause
}
