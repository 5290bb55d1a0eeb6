package contact

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"time"

	"clutchd/sensors"
)

// A watched is a contact and what it told last.
type watched struct {
	spec   Spec
	in     input
	steady steady
	told   time.Time // when something was last told
	cause  sensors.Cause
}

func (w *watched) contact() sensors.Contact {
	source := "GPIO line " + w.spec.Line
	if w.spec.Supply != "" {
		source = fmt.Sprintf("%s/class/power_supply/%s", cmp.Or(w.spec.Root, "/sys"), w.spec.Supply)
	}
	return sensors.Contact{ID: w.spec.ID, Kind: w.spec.Kind, Source: source, Interval: tellEvery}
}

// watch looks at inputs, one after the other, until ctx ends.
func watch(ctx context.Context, all []*watched, push func(sensors.ContactOutcome)) {
	timer := time.NewTimer(0)
	defer timer.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-timer.C:
		}
		rest := pollEvery
		for _, w := range all {
			w.look(push)
			rest = min(rest, w.steady.rest())
		}
		timer.Reset(rest)
	}
}

// look reads the input once, and tells of what changed or is due.
func (w *watched) look(push func(sensors.ContactOutcome)) {
	on, detail, err := w.in.read()
	now := time.Now().UTC()
	due := now.Sub(w.told) >= tellEvery
	if err != nil {
		w.steady.forget()
	} else if w.steady.see(on, now) {
		due = true
	}
	if err == nil && w.steady.chatters(now) {
		err = fault(sensors.NotReady, "%s changes all the time", w.contact().Source)
	}
	cause := sensors.Cause("")
	if err != nil {
		cause = sensors.CauseOf(err)
	}
	due = due || cause != w.cause
	if !due || cause == "" && !w.steady.known {
		return
	}
	o := sensors.ContactOutcome{Contact: w.spec.ID, Time: now, On: w.steady.on, Detail: detail}
	if err != nil {
		o.On, o.Detail, o.Fault = false, "", w.fault(cause, err)
	}
	w.told, w.cause = now, cause
	push(o)
}

func (w *watched) fault(cause sensors.Cause, err error) *sensors.Fault {
	f := &sensors.Fault{Probe: w.spec.ID, Cause: cause, Err: err}
	if own, ok := errors.AsType[*sensors.Fault](err); ok {
		f.Err = own.Err
	}
	return f
}

// fault gives a fault without a contact, which its input does not know.
func fault(c sensors.Cause, format string, args ...any) *sensors.Fault {
	return &sensors.Fault{Cause: c, Err: fmt.Errorf(format, args...)}
}
