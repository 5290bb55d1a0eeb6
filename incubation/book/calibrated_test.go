package book_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

func ice(read float64) book.CalibratedData {
	return book.CalibratedData{
		Probe: "p-1", Method: incubation.IcePoint, Celsius: []incubation.CalibrationPoint{{Read: read}},
	}
}

// What a probe's placements add up to as the book goes on.
func TestCalibrations(t *testing.T) {
	into := func(d float64, box string, offset float64) book.Entry {
		return at(d, book.KindProbe, book.ProbeData{Probe: "p-1", Place: box, OffsetKelvin: offset})
	}
	two := book.CalibratedData{
		Probe: "p-1", Method: incubation.TwoPoint, UncertaintyKelvin: 0.1,
		Celsius: []incubation.CalibrationPoint{{Read: 0.5}, {Read: 31.1, True: 30}},
	}
	salt := book.CalibratedData{
		Probe: "p-1", Method: incubation.SaltPoint,
		HumidityRatio: []book.HumidityPoint{{Read: 0.72, Salt: incubation.SodiumChloride, Celsius: 25}},
	}
	for _, row := range []struct {
		why     string
		entries []book.Entry
		asked   float64 // day
		celsius float64 // what 28 raw comes out as
		humid   float64 // what 0.80 raw does
	}{
		{"before it nothing changes", []book.Entry{into(10, "box-1", 0), at(12, book.KindCalibrated, ice(0.4))}, 11, 28, 0.8},
		{"from its date on it counts", []book.Entry{into(10, "box-1", 0), at(12, book.KindCalibrated, ice(0.4))}, 13, 27.6, 0.8},
		{"it takes an older offset's place", []book.Entry{into(10, "box-1", 1), at(12, book.KindCalibrated, ice(0.4))}, 13, 27.6, 0.8},
		{"what the old offset mended stays", []book.Entry{into(10, "box-1", 1), at(12, book.KindCalibrated, ice(0.4))}, 11, 29, 0.8},
		{"it goes with the probe", []book.Entry{at(9, book.KindCalibrated, ice(0.4)), into(10, "box-1", 0)}, 11, 27.6, 0.8},
		{
			"into the next place too",
			[]book.Entry{into(10, "box-1", 0), at(12, book.KindCalibrated, ice(0.4)), into(14, "box-2", 0)},
			15, 27.6, 0.8,
		},
		{"a later offset is the keeper's later word", []book.Entry{at(9, book.KindCalibrated, ice(0.4)), into(10, "box-1", 1)}, 11, 29, 0.8},
		{"a gain is taken too", []book.Entry{into(10, "box-1", 0), at(12, book.KindCalibrated, two)}, 13, (28 - 0.5) * 30 / 30.6, 0.8},
		{
			"humidity over salt leaves the temperature as it was",
			[]book.Entry{into(10, "box-1", 0), at(12, book.KindCalibrated, ice(0.4)), at(13, book.KindCalibrated, salt)},
			14, 27.6, 0.8329,
		},
		{
			"one that is entered late lands where it belongs",
			[]book.Entry{into(10, "box-1", 0), into(20, "box-2", 0), at(12, book.KindCalibrated, ice(0.4))},
			21, 27.6, 0.8,
		},
	} {
		s := book.Fold(append(furnished(), numbered(row.entries)...))
		if len(s.Problems) > 0 {
			t.Fatalf("%s: %q", row.why, s.Problems)
		}
		found := 0
		for _, p := range s.Placements {
			if p.Probe != "p-1" || !p.Stay.Covers(day(row.asked)) {
				continue
			}
			found++
			r := p.Correct(incubation.Reading{
				Has: incubation.Temperature | incubation.RelativeHumidity, Celsius: 28, Humidity: 0.8,
			})
			if math.Abs(float64(r.Celsius)-row.celsius) > 1e-6 || math.Abs(float64(r.Humidity)-row.humid) > 1e-4 {
				t.Errorf("%s: %g °C, %g", row.why, r.Celsius, r.Humidity)
			}
		}
		if found != 1 {
			t.Errorf("%s: %d placements then", row.why, found)
		}
	}
}

// furnished is a room with two boxes in an incubator.
func furnished() []book.Entry {
	return numbered([]book.Entry{
		at(1, book.KindPlace, book.PlaceData{Place: "warm", Kind: incubation.Incubator, Name: "Warm"}),
		at(1, book.KindPlace, book.PlaceData{Place: "box-1", Kind: incubation.Box, Name: "Box 1"}),
		at(1, book.KindPlace, book.PlaceData{Place: "box-2", Kind: incubation.Box, Name: "Box 2"}),
	})
}

// numbered gives entries the numbers that the book would, behind those of the
// furniture where they come later.
func numbered(all []book.Entry) []book.Entry {
	for i := range all {
		all[i].Seq = uint64(i + 1)
		if all[i].Kind != book.KindPlace {
			all[i].Seq += 100
		}
	}
	return all
}

func TestCalibrationIsDue(t *testing.T) {
	s := book.Fold(numbered([]book.Entry{at(12, book.KindCalibrated, ice(0.4))}))
	got := s.Calibrations["p-1"]
	want := incubation.Calibration{
		At: day(12), Method: incubation.IcePoint, Due: day(12).AddDate(1, 0, 0),
		Temperature: &incubation.Correction{Offset: -0.4, Accuracy: math.Hypot(0.1, 0.15)},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestCalibrationsRefused(t *testing.T) {
	change := func(f func(d *book.CalibratedData)) book.CalibratedData {
		d := ice(0.4)
		f(&d)
		return d
	}
	for _, row := range []struct {
		why   string
		data  book.CalibratedData
		field string
		text  string
	}{
		{"nothing compared", change(func(d *book.CalibratedData) { d.Celsius = nil }), "celsius", "what it read"},
		{"a way nobody knows", change(func(d *book.CalibratedData) { d.Method = "by-feel" }), "method", "no way"},
		{"ice of 2 °C", change(func(d *book.CalibratedData) { d.Celsius[0].True = 2 }), "celsius_true", "0 °C"},
		{"9 °C in ice", change(func(d *book.CalibratedData) { d.Celsius[0].Read = 9 }), "celsius", "outside -5 to 5"},
		{"a reference of which nothing is said", change(func(d *book.CalibratedData) {
			d.Method, d.Celsius[0] = incubation.Reference, incubation.CalibrationPoint{Read: 28, True: 28.4}
		}), "uncertainty_kelvin", "how far"},
		{"a probe that is 15 K off", change(func(d *book.CalibratedData) {
			d.Method, d.Celsius[0] = incubation.Reference, incubation.CalibrationPoint{Read: 13, True: 28}
			d.UncertaintyKelvin = 0.1
		}), "celsius", "broken"},
		{"two points that are one", change(func(d *book.CalibratedData) {
			d.Method, d.UncertaintyKelvin = incubation.TwoPoint, 0.1
			d.Celsius = []incubation.CalibrationPoint{{Read: 28, True: 28.4}, {Read: 29, True: 29.4}}
		}), "celsius_2", "less than 5 K"},
		{"one point as two", change(func(d *book.CalibratedData) { d.Method = incubation.TwoPoint }), "celsius_2", "two points are two"},
		{"a salt without a salt", book.CalibratedData{
			Probe: "p-1", Method: incubation.SaltPoint, HumidityRatio: []book.HumidityPoint{{Read: 0.7, True: 0.75}},
		}, "salt", "which salt"},
		{"sugar", book.CalibratedData{
			Probe: "p-1", Method: incubation.SaltPoint, HumidityRatio: []book.HumidityPoint{{Read: 0.7, Salt: "sugar", Celsius: 25}},
		}, "salt", "says nothing"},
		{"due before it was done", change(func(d *book.CalibratedData) { d.Due = day(3) }), "due", "after it was done"},
		{"due in a hundred years", change(func(d *book.CalibratedData) { d.Due = day(3).AddDate(100, 0, 0) }), "due", "within 10 years"},
		{"no probe", change(func(d *book.CalibratedData) { d.Probe = "" }), "probe", "empty"},
	} {
		err := book.Check(book.Fold(nil), at(12, book.KindCalibrated, row.data))
		p, ok := err.(*book.Problem)
		if !ok || p.Field != row.field || !strings.Contains(p.Text, row.text) {
			t.Errorf("%s: %v", row.why, err)
		}
	}
	if err := book.Check(book.Fold(nil), at(12, book.KindCalibrated, ice(0.4))); err != nil {
		t.Errorf("an ice point: %v", err)
	}
}
