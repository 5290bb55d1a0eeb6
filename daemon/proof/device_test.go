package proof_test

import (
	"fmt"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/mqttin"
)

// A device is a thermometer that publishes JSON. Its payloads go the way of
// daemon/mqtt, which hands each to Device.Receive and what comes of it to the
// bank; there is no broker here, since brokers know no virtual time.
type device struct {
	mqttin.Device
	every time.Duration // it speaks as often as that
	spoke time.Time
	away  bool          // out of reach
	clock time.Duration // its own clock is so far ahead
	kept  string        // what the broker keeps of it
	// aside, if set, sees each payload on its way and gives what arrives.
	aside func([]string) []string
	push  func(sensors.Outcome)
	now   func() time.Time // the daemon's clock
	c, h  float64
}

func newDevice(id string, every time.Duration, stamped bool) *device {
	d := &device{every: every}
	d.Device = mqttin.Device{
		ProbeID: id, Topic: "room/" + id, Has: incubation.Temperature | incubation.RelativeHumidity,
		Pointer: "/t", HumidityPointer: "/h", Interval: every, Accuracy: 0.3,
	}
	if stamped {
		d.TimePointer = "/at"
	}
	return d
}

func (d *device) probe() string { return d.ProbeID }

func (d *device) show(celsius, ratio float64) { d.c, d.h = celsius, ratio }

// speak publishes if it is time to.
func (d *device) speak(now time.Time) {
	if now.Sub(d.spoke) < d.every {
		return
	}
	d.spoke = now
	if d.away {
		return
	}
	all := []string{fmt.Sprintf(`{"t":%.2f,"h":%.1f}`, d.c, 100*d.h)}
	if d.TimePointer != "" {
		all[0] = fmt.Sprintf(`{"t":%.2f,"h":%.1f,"at":%q}`, d.c, 100*d.h, now.Add(d.clock).Format(time.RFC3339))
	}
	if d.aside != nil {
		all = d.aside(all)
	}
	for _, p := range all {
		d.arrive(p, false)
		d.kept = p
	}
}

// replay is what a broker does when the daemon connects: what it kept of the
// topic comes again.
func (d *device) replay() { d.arrive(d.kept, true) }

func (d *device) arrive(payload string, retained bool) {
	if d.push == nil {
		return // the daemon is off
	}
	if o, ok := d.Receive([]byte(payload), retained, d.now()); ok {
		d.push(o)
	}
}

// stamped has the device of a place say a text with the right time in it.
func (h *house) stamped(place, format string) {
	h.device(place).aside = func([]string) []string {
		return []string{fmt.Sprintf(format, time.Now().UTC().Format(time.RFC3339))}
	}
}
