package i2c

import (
	"bytes"
	"errors"
	"fmt"

	"periph.io/x/conn/v3/physic"
	"periph.io/x/devices/v3/bmxx80"

	"clutchd/sensors"
)

// Registers and chip ids (BST-BMP280-DS001, BST-BME280-DS002).
const (
	bmxID        = 0xd0
	bmxCalib     = 0x88 // 26 bytes
	bmeCalib     = 0xe1 // 7 bytes, bme280 only
	bmxData      = 0xf7
	bmp280ID     = 0x58
	bme280ID     = 0x60
	bmxSkippedT  = 0x80000 // what stands there until a temperature was taken
	bmeSkippedRH = 0x8000  // the same for humidity
)

// A bmx is a BMP280 or BME280.
type bmx struct {
	wire        *wire
	id          byte
	calibration []byte
}

func buildBME280(w *wire) (measurer, error) { return buildBMX(w, bme280ID) }
func buildBMP280(w *wire) (measurer, error) { return buildBMX(w, bmp280ID) }

// buildBMX reads the calibration, which has no check sum, so that every Read
// can compare.
func buildBMX(w *wire, id byte) (measurer, error) {
	b := &bmx{wire: w, id: id}
	if err := b.identify(); err != nil {
		return nil, err
	}
	if _, err := w.register(bmxCalib, 26); err != nil {
		return nil, err
	}
	if id == bme280ID {
		if _, err := w.register(bmeCalib, 7); err != nil {
			return nil, err
		}
	}
	b.calibration = b.calibrationRead()
	return b, nil
}

func (b *bmx) identify() error {
	got, err := b.wire.register(bmxID, 1)
	switch {
	case err != nil:
		return err
	case dead(got):
		return deadFault("chip id", got)
	case got[0] != b.id:
		return fault(sensors.Unsupported, fmt.Errorf("chip id is 0x%02x%s, not 0x%02x", got[0], bmxName(got[0]), b.id))
	}
	return nil
}

func bmxName(id byte) string {
	names := map[byte]string{bmp280ID: " (a bmp280)", bme280ID: " (a bme280)", 0x55: " (a bmp180)", 0x61: " (a bme680)"}
	return names[id]
}

func (b *bmx) calibrationRead() []byte {
	return bytes.Join([][]byte{b.wire.answer(bmxCalib), b.wire.answer(bmeCalib)}, nil)
}

// measure sets the chip up anew each time: after a dip of the supply it has
// forgotten that humidity is wanted, and says 0x8000 for ever.
func (b *bmx) measure() (value, error) {
	dev, err := b.setUp()
	if err != nil {
		return value{}, err
	}
	var e physic.Env
	if err := dev.Sense(&e); err != nil {
		return value{}, err
	}
	if err := b.check(b.wire.answer(bmxData)); err != nil {
		return value{}, err
	}
	return fromEnv(e), nil
}

func (b *bmx) setUp() (*bmxx80.Dev, error) {
	dev, err := bmxx80.NewI2C(b.wire, b.wire.addr, &bmxx80.Opts{Temperature: bmxx80.O2x, Humidity: bmxx80.O1x})
	if got := b.wire.answer(bmxID); b.wire.broken == nil && got[0] != b.id {
		return nil, deadOrOther(got)
	}
	if err != nil {
		return nil, err
	}
	switch got := b.calibrationRead(); {
	case dead(got):
		return nil, deadFault("calibration", got)
	case !bytes.Equal(got, b.calibration):
		return nil, fault(sensors.Checksum, errors.New("calibration differs from that read before"))
	}
	return dev, nil
}

func deadOrOther(id []byte) error {
	if dead(id) {
		return deadFault("chip id", id)
	}
	return fault(sensors.Unsupported, fmt.Errorf("chip id became 0x%02x%s", id[0], bmxName(id[0])))
}

// check refuses the values that stand in the registers when nothing was
// measured, which compensate to believable numbers.
func (b *bmx) check(frame []byte) error {
	if len(frame) < 6 {
		return fault(sensors.NotReady, errors.New("no measurement was read"))
	}
	if dead(frame[3:6]) {
		return deadFault("temperature", frame[3:6])
	}
	if t := uint32(frame[3])<<12 | uint32(frame[4])<<4 | uint32(frame[5])>>4; t == bmxSkippedT {
		return fault(sensors.PowerOn, errors.New("temperature was not measured"))
	}
	if b.id != bme280ID {
		return nil
	}
	switch rh := frame[6:]; {
	case dead(rh):
		return deadFault("humidity", rh)
	case uint16(rh[0])<<8|uint16(rh[1]) == bmeSkippedRH:
		return fault(sensors.PowerOn, errors.New("humidity was not measured"))
	}
	return nil
}
