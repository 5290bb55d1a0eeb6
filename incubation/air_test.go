package incubation_test

import (
	"math"
	"testing"

	"clutchd/incubation"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %.6g, want %.6g give or take %g", what, got, want, within)
	}
}

func TestVapourPressure(t *testing.T) {
	for _, row := range []struct {
		why           string
		celsius, hPa  float64
		withinPercent float64
	}{
		{
			"IAPWS R7-97 table 35: 300 K is 0.00353658941 MPa; the WMO formula lies up to 0.31 % under it",
			26.85, 35.3658941, 0.31,
		},
		{"derived from WMO-No. 8 annex 4.B", 0.01, 6.1164, 0.001},
		{"derived, same formula, a room", 20, 23.3260, 0.001},
		{"derived, same formula, an incubator for females", 28, 37.7115, 0.001},
		{"derived, same formula, an incubator for males", 32.5, 48.8099, 0.001},
		{"derived, same formula, the end of the table", 40, 73.6746, 0.001},
	} {
		near(t, row.why, incubation.VapourPressure(incubation.Celsius(row.celsius)), row.hPa,
			row.hPa*row.withinPercent/100)
	}
}

func TestDewPointAndDeficit(t *testing.T) {
	for _, row := range []struct {
		why                          string
		celsius, ratio, dew, deficit float64
	}{
		{"derived by the WMO formula, without enhancement: a dry room", 20, 0.5, 9.2552, 1.16630},
		{"same, a warm room", 25, 0.6, 16.6931, 1.26402},
		{"same, a box at 28", 28, 0.8, 24.2244, 0.75423},
		{"same, a damp box at 32", 32, 0.85, 29.1581, 0.71176},
		{"same, a wet box", 32.5, 0.95, 31.5934, 0.24405},
		{"saturated air is at its dew point and dries nothing", 30, 1, 30, 0},
		{"more than saturated is saturated", 30, 1.04, 30, 0},
	} {
		c, h := incubation.Celsius(row.celsius), incubation.Humidity(row.ratio)
		dew, ok := incubation.DewPoint(c, h)
		if !ok {
			t.Errorf("%s: no dew point", row.why)
		}
		near(t, row.why+": dew point", float64(dew), row.dew, 0.0001)
		near(t, row.why+": deficit", incubation.Deficit(c, h), row.deficit, 0.00001)
	}
	if dew, ok := incubation.DewPoint(28, 0); ok || dew != 0 {
		t.Errorf("perfectly dry air has dew point %v, %v; it has none", dew, ok)
	}
}

// Greenspan 1977, table 2, at 0, 25 and 50 °C.
func TestSalts(t *testing.T) {
	for _, row := range []struct {
		salt    incubation.Salt
		percent [3]float64
	}{
		{incubation.LithiumChloride, [3]float64{11.23, 11.30, 11.10}},
		{incubation.MagnesiumChloride, [3]float64{33.66, 32.78, 30.54}},
		{incubation.SodiumChloride, [3]float64{75.51, 75.29, 74.43}},
		{incubation.PotassiumChloride, [3]float64{88.61, 84.34, 81.20}},
		{incubation.PotassiumSulfate, [3]float64{98.77, 97.30, 95.82}},
	} {
		for i, percent := range row.percent {
			h, ok := row.salt.Humidity(incubation.Celsius(25 * i))
			if !ok {
				t.Errorf("%s at %d °C: no humidity", row.salt, 25*i)
			}
			near(t, string(row.salt), 100*float64(h), percent, 0.021)
		}
	}
	if _, ok := incubation.SodiumChloride.Humidity(51); ok {
		t.Error("table salt has a humidity at 51 °C, beyond what was measured")
	}
	if _, ok := incubation.Salt("sugar").Humidity(25); ok {
		t.Error("sugar counts as a salt")
	}
}
