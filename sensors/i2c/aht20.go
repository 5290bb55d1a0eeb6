package i2c

import (
	"errors"
	"time"

	"periph.io/x/conn/v3/physic"
	"periph.io/x/devices/v3/aht20"

	"clutchd/sensors"
)

const aht20Busy = 0x80

type aht struct {
	wire *wire
	dev  *aht20.Dev
}

// buildAHT20 resets, which takes 20 ms and loads the calibration; the driver
// then loads it once more where the chip says it has none.
func buildAHT20(w *wire) (measurer, error) {
	if err := w.write(0xba); err != nil {
		return nil, err
	}
	if err := w.pause(20 * time.Millisecond); err != nil {
		return nil, err
	}
	dev, err := aht20.NewI2C(w, nil)
	if err != nil {
		return nil, err
	}
	return &aht{wire: w, dev: dev}, nil
}

func (a *aht) measure() (value, error) {
	var e physic.Env
	err := a.dev.Sense(&e)
	frame := a.wire.answer()
	switch {
	case dead(frame):
		return value{}, deadFault("measurement", frame)
	case err == nil:
		return fromEnv(e), nil
	}
	return value{}, aht20Fault(err, frame)
}

// aht20Fault names the cause. The driver checks the sum before the busy bit, so
// that a frame of a chip at work looks damaged to it.
func aht20Fault(err error, frame []byte) error {
	var damaged *aht20.DataCorruptionError
	var uncalibrated *aht20.NotInitializedError
	var slow *aht20.ReadTimeoutError
	switch {
	case errors.As(err, &damaged) && frame[0]&aht20Busy == 0:
		return fault(sensors.Checksum, err)
	case errors.As(err, &damaged), errors.As(err, &uncalibrated), errors.As(err, &slow):
		return fault(sensors.NotReady, err)
	}
	return err
}
