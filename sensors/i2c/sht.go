package i2c

import (
	"time"

	"clutchd/sensors"
)

// Both families send the temperature as −45 + 175·raw/65535 (not 65536):
// SHT3x-DIS and SHT4x data sheets, "conversion of signal output".
const (
	shtFullScale = 65535
	shtStep      = 175.0 / shtFullScale
)

// An sht is an SHT3x or SHT4x in single shots: a command, a wait, six bytes.
type sht struct {
	wire    *wire
	command []byte
	wait    time.Duration
	// humidity turns the raw word into a ratio.
	humidity func(raw uint16) float64
}

// buildSHT3x ends what another program may have begun: in a periodic
// measurement single shots are refused.
func buildSHT3x(w *wire) (measurer, error) {
	if err := breakAndReset(w); err != nil {
		return nil, err
	}
	// High repeatability without clock stretching: 15.5 ms at most.
	const wait = 20 * time.Millisecond
	return &sht{wire: w, command: []byte{0x24, 0x00}, wait: wait, humidity: sht3xHumidity}, nil
}

// breakAndReset ends a series of measurements and resets, which ends heating
// too. It serves the SHT3x (which needs 1 and 1.5 ms for them) and the HDC302x.
// Whether a chip that runs no series acknowledges the break is not said
// everywhere, so the reset decides whether it is there.
func breakAndReset(w *wire) error {
	err := w.write(0x30, 0x93)
	if err != nil && sensors.CauseOf(err) != sensors.Absent {
		return err
	}
	if err := w.pause(2 * time.Millisecond); err != nil {
		return err
	}
	if err := w.write(0x30, 0xa2); err != nil {
		return err
	}
	return w.pause(5 * time.Millisecond)
}

// buildSHT4x resets, which takes 1 ms and ends heating.
func buildSHT4x(w *wire) (measurer, error) {
	if err := w.write(0x94); err != nil {
		return nil, err
	}
	if err := w.pause(2 * time.Millisecond); err != nil {
		return nil, err
	}
	// High precision: 8.3 ms at most.
	const wait = 12 * time.Millisecond
	return &sht{wire: w, command: []byte{0xfd}, wait: wait, humidity: sht4xHumidity}, nil
}

func (s *sht) measure() (value, error) {
	if err := s.wire.write(s.command...); err != nil {
		return value{}, err
	}
	frame := make([]byte, 6)
	if err := s.fetch(frame); err != nil {
		return value{}, err
	}
	return s.decode(frame)
}

// fetch waits for the measurement. The chip took the command, so when it does
// not acknowledge now it has nothing yet: it is given one more wait.
func (s *sht) fetch(frame []byte) error {
	for range 2 {
		if err := s.wire.pause(s.wait); err != nil {
			return err
		}
		err := s.wire.read(frame)
		if err == nil || sensors.CauseOf(err) != sensors.Absent {
			return err
		}
	}
	return faultf(sensors.NotReady, "took the command and has no measurement")
}

func (s *sht) decode(frame []byte) (value, error) {
	if dead(frame) {
		return value{}, deadFault("measurement", frame)
	}
	raw, ok := words(frame)
	if !ok || len(raw) != 2 {
		return value{}, faultf(sensors.Checksum, "measurement reads % x", frame)
	}
	return value{celsius: -45 + 175*float64(raw[0])/shtFullScale, humidity: s.humidity(raw[1])}, nil
}

func sht3xHumidity(raw uint16) float64 { return float64(raw) / shtFullScale }

// sht4xHumidity crops: the scale runs from −6 to 119 % so that values near the
// ends are not lost, and the data sheet has them cut to 0 and 100 %.
func sht4xHumidity(raw uint16) float64 {
	return min(max((-6+125*float64(raw)/shtFullScale)/100, 0), 1)
}
