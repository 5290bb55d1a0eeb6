package incubation

import "math"

// Constants of the saturation vapour pressure over water, WMO-No. 8, annex
// 4.B. From 20 to 40 °C it lies 0.2 to 0.3 % under IAPWS R7-97, far less than
// any humidity probe is off.
const (
	wmoPressure = 6.112  // hPa at 0 °C
	wmoFactor   = 17.62  // 1
	wmoOffset   = 243.12 // °C
)

// VapourPressure gives the saturation vapour pressure over water, hPa.
func VapourPressure(c Celsius) float64 {
	t := float64(c)
	return wmoPressure * math.Exp(wmoFactor*t/(wmoOffset+t))
}

// DewPoint gives the temperature at which air would be saturated: that of the
// air where it is, or is said to be more. False for humidity of nothing or
// less, which has none.
func DewPoint(c Celsius, h Humidity) (Celsius, bool) {
	if !(h > 0) || !finite(float64(c)) {
		return 0, false
	}
	if h >= 1 {
		return c, true
	}
	t := float64(c)
	x := math.Log(float64(h)) + wmoFactor*t/(wmoOffset+t)
	return Celsius(wmoOffset * x / (wmoFactor - x)), true
}

// Deficit gives the vapour pressure deficit, kPa: how hard air dries what lies
// in it. It is 0 in saturated air.
func Deficit(c Celsius, h Humidity) float64 {
	missing := 1 - min(max(float64(h), 0), 1)
	return missing * VapourPressure(c) / 10
}
