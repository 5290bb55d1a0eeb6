package book

import (
	"math"
	"time"

	"clutchd/incubation"
)

// CalibratedData records that a probe was compared with what was true. From
// its date on it gives the probe's correction and accuracy, wherever the probe
// sits; what was read before stays as it was corrected then.
type CalibratedData struct {
	Probe  string                       `json:"probe"`
	Method incubation.CalibrationMethod `json:"method"`
	// Celsius and HumidityRatio are the points, one or two: raw, and true.
	Celsius       []incubation.CalibrationPoint `json:"celsius,omitempty"`
	HumidityRatio []HumidityPoint               `json:"humidity_ratio,omitempty"`
	// How far the true values may be off, two standard deviations; 0: as the
	// method has it, where it has one.
	UncertaintyKelvin float64 `json:"uncertainty_kelvin,omitempty"`
	UncertaintyRatio  float64 `json:"uncertainty_ratio,omitempty"`
	// Due is when to compare it again; zero: in a year.
	Due time.Time `json:"due,omitzero"`
}

// A HumidityPoint is a point of humidity: over a salt at a temperature, or with
// a true value.
type HumidityPoint struct {
	Read    float64            `json:"read"`
	True    float64            `json:"true,omitempty"`
	Salt    incubation.Salt    `json:"salt,omitempty"`
	Celsius incubation.Celsius `json:"celsius,omitempty"`
}

const (
	// iceWithin is how far a home-made ice bath may be from 0 °C, K, and
	// saltWithin what a kitchen's salt may be off beside the table, as a ratio.
	// Judgement, both: a proper ice bath repeats to 0.002 K (NIST TN 1411).
	iceWithin  = 0.1
	saltWithin = 0.01
	// apart is how far two points must be from one another, K and as a ratio,
	// for a gain to be more than their errors. Judgement.
	apartKelvin, apartRatio = 5, 0.1
	// What a probe may be off and still be mended by a number. Judgement.
	mostKelvin, mostRatio = 10, 0.3
	iceRead               = 5  // K: what a probe in melting ice may read
	mostDue               = 10 // years
)

// truth is the point with what was true.
func (p HumidityPoint) truth() (incubation.CalibrationPoint, bool) {
	if p.Salt == "" {
		return incubation.CalibrationPoint{Read: p.Read, True: p.True}, p.True > 0
	}
	h, ok := p.Salt.Humidity(p.Celsius)
	return incubation.CalibrationPoint{Read: p.Read, True: float64(h)}, ok
}

func (d CalibratedData) shape(at time.Time) *Problem {
	p := CheckID("probe", d.Probe)
	switch n, h := len(d.Celsius), len(d.HumidityRatio); {
	case p != nil:
	case n+h == 0:
		p = problem("celsius", "say what it read, and what was true")
	case d.Method == incubation.IcePoint && (n != 1 || h > 0):
		p = problem("celsius", "an ice point is one temperature")
	case d.Method == incubation.IcePoint:
		p = d.ice()
	case d.Method == incubation.SaltPoint && (n > 0 || d.HumidityRatio[0].Salt == ""):
		p = problem("salt", "say over which salt it lay")
	case d.Method == incubation.TwoPoint && n != 2 && h != 2:
		p = problem("celsius_2", "two points are two: what it read and what was true, twice")
	case d.Method == incubation.Reference && (n > 1 || h > 1):
		p = problem("method", "two points are the method two-point")
	case d.Method != incubation.Reference && d.Method != incubation.SaltPoint && d.Method != incubation.TwoPoint:
		p = problem("method", "%.40q is no way to compare a probe", string(d.Method))
	}
	return first(p, d.temperatures(), d.humidities(), d.within(at))
}

func (d CalibratedData) ice() *Problem {
	if d.Celsius[0].True != 0 {
		return problem("celsius_true", "melting ice is 0 °C")
	}
	return checkRange("celsius", d.Celsius[0].Read, -iceRead, iceRead)
}

func (d CalibratedData) temperatures() *Problem {
	if len(d.Celsius) > 2 {
		return problem("celsius", "more than two points are not taken")
	}
	for _, p := range d.Celsius {
		if err := first(checkRange("celsius", p.Read, -20, 60), checkRange("celsius_true", p.True, -20, 60)); err != nil {
			return err
		}
		if math.Abs(p.True-p.Read) > mostKelvin {
			return problem("celsius", "it is %.1f K off: a probe like that is broken", math.Abs(p.True-p.Read))
		}
	}
	if len(d.Celsius) == 2 && !parted(d.Celsius[0], d.Celsius[1], apartKelvin) {
		return problem("celsius_2", "the two points are less than %d K apart, or the wrong way round", apartKelvin)
	}
	if len(d.Celsius) > 0 && d.Method != incubation.IcePoint && d.UncertaintyKelvin == 0 {
		return problem("uncertainty_kelvin", "say how far the thermometer beside it may be off")
	}
	return checkRange("uncertainty_kelvin", d.UncertaintyKelvin, 0, 5)
}

// parted reports whether two points are so far apart, both ways alike.
func parted(a, b incubation.CalibrationPoint, least float64) bool {
	read, true := b.Read-a.Read, b.True-a.True
	return math.Abs(read) >= least && math.Abs(true) >= least && read*true > 0
}

func (d CalibratedData) humidities() *Problem {
	if len(d.HumidityRatio) > 2 {
		return problem("humidity_ratio", "more than two points are not taken")
	}
	var all []incubation.CalibrationPoint
	for _, h := range d.HumidityRatio {
		p, ok := h.truth()
		switch {
		case h.Salt != "" && h.True != 0:
			return problem("humidity_true", "a salt says what was true by itself")
		case !ok && h.Salt != "":
			return problem("salt", "of %.40q at %g °C the table says nothing", string(h.Salt), float64(h.Celsius))
		case !ok:
			return problem("humidity_true", "say what was true")
		case math.Abs(p.True-p.Read) > mostRatio:
			return problem("humidity_ratio", "it is %.0f %% off: a probe like that is broken", 100*math.Abs(p.True-p.Read))
		case h.Salt == "" && d.UncertaintyRatio == 0:
			return problem("uncertainty_ratio", "say how far the hygrometer beside it may be off")
		}
		if err := first(checkRange("humidity_ratio", p.Read, 0, 1), checkRange("humidity_true", p.True, 0, 1)); err != nil {
			return err
		}
		all = append(all, p)
	}
	if len(all) == 2 && !parted(all[0], all[1], apartRatio) {
		return problem("humidity_ratio", "the two points are less than 10 %% apart, or the wrong way round")
	}
	return checkRange("uncertainty_ratio", d.UncertaintyRatio, 0, 0.2)
}

func (d CalibratedData) within(at time.Time) *Problem {
	if d.Due.IsZero() {
		return nil
	}
	if !d.Due.After(at) || d.Due.After(at.AddDate(mostDue, 0, 0)) {
		return problem("due", "it is due again after it was done, within %d years", mostDue)
	}
	return nil
}

func (d CalibratedData) sense(*State, time.Time) *Problem { return nil }

// Calibration is what the entry says of the probe from at on.
func (d CalibratedData) Calibration(at time.Time) incubation.Calibration {
	c := incubation.Calibration{At: at, Method: d.Method, Due: d.Due}
	if c.Due.IsZero() {
		c.Due = at.AddDate(1, 0, 0)
	}
	if len(d.Celsius) > 0 {
		within := d.UncertaintyKelvin
		if within == 0 {
			within = iceWithin
		}
		t := incubation.Correct(incubation.Temperature, d.Celsius, within)
		c.Temperature = &t
	}
	var points []incubation.CalibrationPoint
	within := d.UncertaintyRatio
	for _, h := range d.HumidityRatio {
		p, _ := h.truth()
		points = append(points, p)
		if h.Salt != "" && d.UncertaintyRatio == 0 {
			within = max(within, math.Hypot(saltWithin, float64(h.Salt.Uncertainty())))
		}
	}
	if len(points) > 0 {
		h := incubation.Correct(incubation.RelativeHumidity, points, within)
		c.Humidity = &h
	}
	return c
}

// write puts the calibration in force: where the probe sits it begins a new
// placement, so that what was read before stays as it was.
func (d CalibratedData) write(s *State, at time.Time, _ uint64) {
	c := d.Calibration(at)
	if old, ok := s.Calibrations[d.Probe]; ok {
		if c.Temperature == nil {
			c.Temperature = old.Temperature
		}
		if c.Humidity == nil {
			c.Humidity = old.Humidity
		}
	}
	s.Calibrations[d.Probe] = c
	var sits *incubation.Placement
	for _, p := range s.Placements {
		if p.Probe == d.Probe && p.Stay.To.IsZero() {
			sits = &p
		}
	}
	if sits == nil {
		return
	}
	s.unplace(func(p incubation.Placement) bool { return p.Probe == d.Probe }, at)
	next := *sits
	next.Stay.From = at
	if len(d.Celsius) > 0 {
		next.Offset, next.Gain, next.Accuracy = c.Temperature.Offset, c.Temperature.Gain, c.Temperature.Accuracy
	}
	if len(d.HumidityRatio) > 0 {
		next.Humidity = *c.Humidity
	}
	s.Placements = append(s.Placements, next)
}

// calibrated carries what is known of a probe into a new place. An offset that
// the entry of the placement states is the keeper's later word.
func (s *State) calibrated(p incubation.Placement) incubation.Placement {
	c, ok := s.Calibrations[p.Probe]
	if !ok {
		return p
	}
	if c.Humidity != nil {
		p.Humidity = *c.Humidity
	}
	if c.Temperature != nil && p.Offset == 0 {
		p.Offset, p.Gain = c.Temperature.Offset, c.Temperature.Gain
		if p.Accuracy == 0 {
			p.Accuracy = c.Temperature.Accuracy
		}
	}
	return p
}
