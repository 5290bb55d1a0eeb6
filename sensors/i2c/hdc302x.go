package i2c

import (
	"periph.io/x/conn/v3/physic"
	"periph.io/x/devices/v3/hdc302x"

	"clutchd/sensors"
)

// An hdc measures by itself every two seconds; a Read fetches the newest
// result, once: the chip forgets it then, so an old one cannot come back.
type hdc struct {
	wire *wire
	dev  *hdc302x.Dev
}

// buildHDC302x ends a measurement series of an earlier run and resets, which
// ends heating too: the driver does neither. Then the first result takes two
// seconds, which the driver sleeps through.
func buildHDC302x(w *wire) (measurer, error) {
	if err := breakAndReset(w); err != nil {
		return nil, err
	}
	dev, err := hdc302x.NewI2C(w, w.addr, hdc302x.RateHalfHertz)
	if err != nil {
		return nil, err
	}
	return &hdc{wire: w, dev: dev}, nil
}

func (h *hdc) measure() (value, error) {
	var e physic.Env
	err := h.dev.Sense(&e)
	frame := h.wire.answer(0xe0, 0x00)
	if dead(frame) {
		return value{}, deadFault("measurement", frame)
	}
	if _, ok := words(frame); !ok {
		return value{}, faultf(sensors.Checksum, "measurement reads % x", frame)
	}
	if err != nil {
		return value{}, err
	}
	return fromEnv(e), nil
}
