package web

import (
	"strconv"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

func limitsForm() form {
	return form{
		Kind: book.KindLimits, Title: "Limits of a place", Verb: "Write the limits down",
		Hint: "An empty field leaves the rule's own limit. The rules page gives the reason " +
			"for each.",
		fields: limitFields, read: readLimits,
	}
}

func limitFields(v *visit) []field {
	own := v.snap.Book.Limits[v.asked("place")]
	plainly := func(f float64) string {
		return strconv.FormatFloat(thousandths(f), 'f', -1, 64)
	}
	temp := func(c *incubation.Celsius) string {
		if c == nil {
			return ""
		}
		return plainly(v.say.degrees(*c))
	}
	plain := func(f *float64, by float64) string {
		if f == nil {
			return ""
		}
		return plainly(*f * by)
	}
	kelvin := 1.0
	if v.say.fahrenheit {
		kelvin = 1.8
	}
	ask := func(name, label, unit, value string) field {
		return field{Name: name, Label: label, Suffix: unit, Mode: "decimal", Optional: true, Value: value}
	}
	unit := v.say.Unit()
	return []field{
		v.placeField("Place"),
		ask("low_celsius", "Too cold under", unit, temp(own.LowCelsius)),
		ask("high_celsius", "Too warm over", unit, temp(own.HighCelsius)),
		ask("low_humidity_ratio", "Too dry under", "%", plain(own.LowHumidityRatio, 100)),
		ask("off_setpoint_kelvin", "Warn when off the setpoint by", unit,
			plain(own.OffSetpointKelvin, kelvin)),
		ask("over_setpoint_kelvin", "Wake me when over the setpoint by", unit,
			plain(own.OverSetpointKelvin, kelvin)),
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
	d.OffSetpointKelvin = kelvin("off_setpoint_kelvin")
	d.OverSetpointKelvin = kelvin("over_setpoint_kelvin")
	if a.any("low_humidity_ratio") {
		r := a.number("low_humidity_ratio", 0, 100) / 100
		d.LowHumidityRatio = &r
	}
	return d
}
