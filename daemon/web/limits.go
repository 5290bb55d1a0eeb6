package web

import (
	"strconv"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

func limitsForm() form {
	return form{Kind: book.KindLimits, Title: "Limits of a place", Verb: "Write the limits down",
		Hint:   "An empty field leaves the rule's own limit. The rules page gives the reason for each.",
		fields: limitFields, read: readLimits}
}

func limitFields(v *visit) []field {
	own := v.snap.Book.Limits[v.asked("place")]
	temp := func(c *incubation.Celsius) string {
		if c == nil {
			return ""
		}
		return strconv.FormatFloat(v.say.degrees(*c), 'f', 1, 64)
	}
	plain := func(f *float64, by float64) string {
		if f == nil {
			return ""
		}
		return strconv.FormatFloat(*f*by, 'f', -1, 64)
	}
	kelvin := 1.0
	if v.say.fahrenheit {
		kelvin = 1.8
	}
	unit := v.say.Unit()
	return []field{v.placeField("Place"),
		{Name: "low_celsius", Label: "Too cold under", Suffix: unit, Mode: "decimal", Optional: true,
			Value: temp(own.LowCelsius)},
		{Name: "high_celsius", Label: "Too warm over", Suffix: unit, Mode: "decimal", Optional: true,
			Value: temp(own.HighCelsius)},
		{Name: "low_humidity_ratio", Label: "Too dry under", Suffix: "%", Mode: "decimal", Optional: true,
			Value: plain(own.LowHumidityRatio, 100)},
		{Name: "off_setpoint_kelvin", Label: "Warn when off the setpoint by", Suffix: unit, Mode: "decimal",
			Optional: true, Value: plain(own.OffSetpointKelvin, kelvin)},
		{Name: "over_setpoint_kelvin", Label: "Wake me when over the setpoint by", Suffix: unit, Mode: "decimal",
			Optional: true, Value: plain(own.OverSetpointKelvin, kelvin)},
	}
}

func readLimits(a *answers) any {
	d := book.LimitsData{Place: a.id("place")}
	temp := func(name string) *incubation.Celsius {
		if !a.any(name) {
			return nil
		}
		c := a.degrees(name)
		return &c
	}
	kelvin := func(name string) *float64 {
		if !a.any(name) {
			return nil
		}
		k := a.kelvin(name)
		return &k
	}
	d.LowCelsius, d.HighCelsius = temp("low_celsius"), temp("high_celsius")
	d.OffSetpointKelvin, d.OverSetpointKelvin = kelvin("off_setpoint_kelvin"), kelvin("over_setpoint_kelvin")
	if a.any("low_humidity_ratio") {
		r := a.number("low_humidity_ratio", 0, 100) / 100
		d.LowHumidityRatio = &r
	}
	return d
}
