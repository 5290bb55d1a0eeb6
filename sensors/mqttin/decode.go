package mqttin

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// maxPayload is more than any thermometer has to say.
const maxPayload = 64 << 10

// What a climate sensor in a gecko room can truly measure (judgement). The
// upper end lies below 85 °C, the power-on value of a common chip, and the
// lower above the −127 °C that a common library sends for a missing one.
const (
	coldest = -40.0
	hottest = 80.0
)

// wettest is how far above 1 a humidity is still condensation on the sensor
// and not a wrong unit (judgement; makers allow a few percent).
const wettest = 1.06

// Decode reads one payload. It returns the zero Reading and a *sensors.Fault
// when the payload holds no believable value. Time is set only when the
// device has a TimePointer.
//
// A device of both quantities lives by its temperature: a humidity that is
// absent or null is left out of Has; one that is there but not believable is
// left out too, and makes the temperature Suspect.
func (d Device) Decode(payload []byte) (incubation.Reading, error) {
	document, err := d.parse(payload)
	if err != nil {
		return d.fault(sensors.Unparsable, err)
	}
	r := incubation.Reading{Probe: d.ProbeID}
	if d.TimePointer != "" {
		if r.Time, err = timeAt(document, d.TimePointer); err != nil {
			return d.fault(sensors.Unparsable, fmt.Errorf("time at %q: %w", d.TimePointer, err))
		}
	}
	has := d.Measures()
	if has&incubation.Temperature != 0 {
		if r.Celsius, err = d.temperature(document); err != nil {
			return d.fault(causeOf(err), fmt.Errorf("temperature at %q: %w", d.Pointer, err))
		}
		r.Has |= incubation.Temperature
	}
	if has&incubation.RelativeHumidity != 0 {
		if err := d.addHumidity(document, &r); err != nil {
			return d.fault(causeOf(err), fmt.Errorf("humidity at %q: %w", d.HumidityPointer, err))
		}
	}
	return r, nil
}

// Receive makes an outcome of a payload that arrived at a time. It says false
// when there is nothing to be told: a retained message is an old one, sent
// again because we connected, and must not count as fresh. Only where the
// payload carries its own time, and that is not ahead of ours, is it taken,
// as of then. A live message whose own time lies ahead is stamped with its
// arrival: it cannot have been measured later.
func (d Device) Receive(payload []byte, retained bool, arrived time.Time) (sensors.Outcome, bool) {
	if retained && d.TimePointer == "" {
		return sensors.Outcome{}, false
	}
	arrived = arrived.UTC()
	r, err := d.Decode(payload)
	if err != nil {
		fault, _ := errors.AsType[*sensors.Fault](err)
		return sensors.Outcome{Probe: d.ProbeID, Time: arrived, Fault: fault}, !retained
	}
	if ahead := r.Time.After(arrived); ahead && retained {
		return sensors.Outcome{}, false
	} else if ahead || r.Time.IsZero() {
		r.Time = arrived
	}
	return sensors.Outcome{Probe: d.ProbeID, Time: r.Time, Reading: r}, true
}

func (d Device) fault(cause sensors.Cause, err error) (incubation.Reading, error) {
	return incubation.Reading{}, &sensors.Fault{Probe: d.ProbeID, Cause: cause, Err: err}
}

// parse reads the payload as one JSON value. A payload that is itself the
// value may also be bare text, such as +23.4, which JSON does not allow.
func (d Device) parse(payload []byte) (any, error) {
	if len(payload) > maxPayload {
		return nil, fmt.Errorf("payload of %d bytes: more than %d", len(payload), maxPayload)
	}
	decoder := json.NewDecoder(bytes.NewReader(payload))
	decoder.UseNumber()
	var document any
	err := decoder.Decode(&document)
	if err == nil {
		if _, err = decoder.Token(); errors.Is(err, io.EOF) {
			return document, nil
		}
		err = errors.New("more follows after the JSON value")
	}
	if d.Pointer == "" && d.HumidityPointer == "" && d.TimePointer == "" {
		if text := string(payload); plainNumber(text) {
			return text, nil
		}
	}
	return nil, fmt.Errorf("payload: %w", err)
}

// errRange marks a number that no sensor of this kind can have measured.
var errRange = errors.New("out of range")

func causeOf(err error) sensors.Cause {
	if errors.Is(err, errRange) {
		return sensors.OutOfRange
	}
	return sensors.Unparsable
}

func (d Device) temperature(document any) (incubation.Celsius, error) {
	t, err := numberAt(document, d.Pointer)
	if err != nil {
		return 0, err
	}
	if d.Unit == Fahrenheit {
		t = (t - 32) / 1.8
	}
	if t < coldest || t > hottest {
		return 0, fmt.Errorf("%g °C: %w %g to %g", t, errRange, coldest, hottest)
	}
	return incubation.Celsius(t), nil
}

func (d Device) addHumidity(document any, r *incubation.Reading) error {
	h, err := d.humidity(document)
	switch {
	case err == nil:
		r.Has |= incubation.RelativeHumidity
		if h >= 1 {
			h, r.Quality = 1, incubation.Saturated
		}
		r.Humidity = incubation.Humidity(h)
	case r.Has&incubation.Temperature == 0:
		return err
	case !errors.Is(err, errAbsent):
		r.Quality = incubation.Suspect
	}
	return nil
}

func (d Device) humidity(document any) (float64, error) {
	h, err := numberAt(document, d.HumidityPointer)
	if err != nil {
		return 0, err
	}
	if d.HumidityUnit != Ratio {
		h /= 100
	}
	if h < 0 || h > wettest {
		return 0, fmt.Errorf("ratio %g: %w 0 to 1", h, errRange)
	}
	return h, nil
}
