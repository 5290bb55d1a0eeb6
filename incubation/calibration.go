package incubation

import (
	"math"
	"time"
)

// CalibrationMethod says how a probe was compared with what was true.
type CalibrationMethod string

// The methods.
const (
	IcePoint  CalibrationMethod = "ice-point" // in melting ice: 0 °C
	Reference CalibrationMethod = "reference" // beside a thermometer or hygrometer that is trusted
	SaltPoint CalibrationMethod = "salt"      // over a saturated salt: see Salt
	TwoPoint  CalibrationMethod = "two-point" // at two values, as ice and a reference near 30 °C
)

// CalibrationMethods gives every method.
func CalibrationMethods() []CalibrationMethod {
	return []CalibrationMethod{IcePoint, Reference, SaltPoint, TwoPoint}
}

// A CalibrationPoint is what a probe read, raw, and what was true: °C, or a
// ratio.
type CalibrationPoint struct {
	Read float64 `json:"read"`
	True float64 `json:"true"`
}

// A Correction makes a raw value a true one. Its zero value changes nothing.
type Correction struct {
	Gain   float64 // zero: 1
	Offset float64 // added to the value times Gain
	// Accuracy is how far the outcome may be off, two standard deviations; zero:
	// unknown.
	Accuracy float64
}

// Of corrects a raw value.
func (c Correction) Of(raw float64) float64 {
	if c.Gain != 0 {
		raw *= c.Gain
	}
	return raw + c.Offset
}

// calibrated says where a quantity matters, and by how much of the way there a
// probe's own curve may leave a straight line of slope one.
type calibrated struct{ matters, bends float64 }

// Where eggs lie it is about 30 °C and 85 %. How much a chip's error may change
// on the way there: half a kelvin in a hundred, and two hundredths of the
// humidity's way. Judgement.
func scaleOf(q Quantity) calibrated {
	if q == RelativeHumidity {
		return calibrated{matters: 0.85, bends: 0.02}
	}
	return calibrated{matters: 30, bends: 0.005}
}

// Correct gives the correction that one point gives, an offset, or two, a gain
// and an offset. uncertainty is how far the true values may be off, two standard
// deviations. What the probe may do between a point and where eggs lie counts
// as well: an ice point alone leaves 0.15 K. Two equal readings give the zero
// Correction, for nothing follows from them.
func Correct(q Quantity, points []CalibrationPoint, uncertainty float64) Correction {
	at := scaleOf(q)
	switch len(points) {
	case 1:
		p := points[0]
		return Correction{
			Offset: p.True - p.Read, Accuracy: math.Hypot(uncertainty, at.bends*math.Abs(at.matters-p.True)),
		}
	case 2:
		a, b := points[0], points[1]
		if a.Read == b.Read || a.True == b.True {
			return Correction{}
		}
		gain := (b.True - a.True) / (b.Read - a.Read)
		// The two are off independently: between them they average out, beyond
		// them the error grows as a lever's end moves.
		lever := math.Hypot(b.True-at.matters, at.matters-a.True) / math.Abs(b.True-a.True)
		return Correction{Gain: gain, Offset: a.True - gain*a.Read, Accuracy: uncertainty * lever}
	}
	return Correction{}
}

// A Calibration is what is known of a probe since it was compared.
type Calibration struct {
	At     time.Time
	Method CalibrationMethod
	Due    time.Time // when to compare it again
	// What it gives; nil: that quantity was not compared.
	Temperature, Humidity *Correction
}

// Correct gives a raw reading as the placement corrects it. Humidity stays
// within 0 and 1, and what is saturated stays so.
func (p Placement) Correct(r Reading) Reading {
	if r.Has&Temperature != 0 {
		r.Celsius = p.Celsius(r.Celsius)
	}
	if r.Has&RelativeHumidity != 0 && p.Humidity != (Correction{}) && r.Humidity < 1 {
		r.Humidity = Humidity(min(max(p.Humidity.Of(float64(r.Humidity)), 0), 1))
	}
	return r
}

// Celsius corrects a raw temperature.
func (p Placement) Celsius(raw Celsius) Celsius {
	return Celsius(Correction{Gain: p.Gain, Offset: p.Offset}.Of(float64(raw)))
}
