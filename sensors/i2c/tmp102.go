package i2c

import (
	"time"

	"periph.io/x/conn/v3/physic"
	"periph.io/x/devices/v3/tmp102"

	"clutchd/sensors"
)

type tmp struct {
	wire *wire
	dev  *tmp102.Dev
}

// buildTMP102 waits for the first conversion, at most 35 ms: until then the
// register holds 0 °C or, after a shutdown, an old value.
func buildTMP102(w *wire) (measurer, error) {
	dev, err := tmp102.NewI2C(w, w.addr, nil)
	if err != nil {
		return nil, err
	}
	if err := w.pause(50 * time.Millisecond); err != nil {
		return nil, err
	}
	return &tmp{wire: w, dev: dev}, nil
}

func (t *tmp) measure() (value, error) {
	var e physic.Env
	if err := t.dev.Sense(&e); err != nil {
		return value{}, err
	}
	frame := t.wire.answer(0x00)
	switch {
	case dead(frame):
		return value{}, deadFault("temperature", frame)
	case frame[1]&1 != 0: // then the scale is another one, which the driver does not know
		return value{}, faultf(sensors.Unsupported, "chip is in its extended mode")
	}
	return fromEnv(e), nil
}
