package i2c

import (
	"bytes"

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
	bmeControlRH = 0xf2    // followed by status and the other settings
	bmxSkippedT  = 0x80000 // what stands there until a temperature was taken
	bmeSkippedRH = 0x8000  // the same for humidity

	// Temperature is the mean of two, without pressure, asleep after it was
	// taken; humidity is taken once.
	bmxSettings   = byte(bmxx80.O2x) << 5
	bmeSettingsRH = byte(bmxx80.O1x)
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
	if err != nil {
		return err
	}
	return b.checkID(got)
}

func (b *bmx) checkID(id []byte) error {
	switch {
	case dead(id):
		return deadFault("chip id", id)
	case id[0] != b.id:
		return faultf(sensors.Unsupported, "chip id is 0x%02x%s, not 0x%02x",
			id[0], bmxName(id[0]), b.id)
	}
	return nil
}

func bmxName(id byte) string {
	return map[byte]string{
		bmp280ID: " (a bmp280)",
		bme280ID: " (a bme280)",
		0x55:     " (a bmp180)",
		0x61:     " (a bme680)",
	}[id]
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
	dev, err := bmxx80.NewI2C(b.wire, b.wire.addr, &bmxx80.Opts{
		Temperature: bmxx80.Oversampling(bmxSettings >> 5),
		Humidity:    bmxx80.Oversampling(bmeSettingsRH),
	})
	if b.wire.broken != nil {
		return nil, b.wire.broken
	}
	if err := b.checkID(b.wire.answer(bmxID)); err != nil {
		return nil, err
	}
	if err != nil {
		return nil, err
	}
	switch got := b.calibrationRead(); {
	case dead(got):
		return nil, deadFault("calibration", got)
	case !bytes.Equal(got, b.calibration):
		return nil, faultf(sensors.Checksum, "calibration differs from that read before")
	}
	return dev, nil
}

// check refuses what stands in the registers when nothing was measured: it
// would compensate to believable numbers.
func (b *bmx) check(frame []byte) error {
	if dead(frame[3:6]) {
		return deadFault("temperature", frame[3:6])
	}
	skipped := uint32(frame[3])<<12|uint32(frame[4])<<4|uint32(frame[5])>>4 == bmxSkippedT
	if b.id == bme280ID {
		if dead(frame[6:]) {
			return deadFault("humidity", frame[6:])
		}
		skipped = skipped || uint16(frame[6])<<8|uint16(frame[7]) == bmeSkippedRH
	}
	if !skipped {
		return nil
	}
	return b.stillSetUp()
}

// stillSetUp tells a chip that lost its settings, and so measured nothing, from
// one that measured just this value: some step of every scale looks so.
func (b *bmx) stillSetUp() error {
	got, err := b.wire.register(bmeControlRH, 3) // humidity, status, temperature and mode
	if err != nil {
		return err
	}
	if got[2] != bmxSettings || b.id == bme280ID && got[0] != bmeSettingsRH {
		return faultf(sensors.PowerOn, "nothing was measured: settings read % x", got)
	}
	return nil
}
