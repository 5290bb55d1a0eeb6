package web

import (
	"cmp"
	"math"
	"strings"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// methodWord names the ways to compare a probe.
func methodWord(m incubation.CalibrationMethod) string {
	switch m {
	case incubation.IcePoint:
		return "in melting ice"
	case incubation.Reference:
		return "beside a reference"
	case incubation.SaltPoint:
		return "over salt"
	case incubation.TwoPoint:
		return "at two points"
	}
	return string(m)
}

// saltWord names a salt as its label does.
func saltWord(s incubation.Salt) string {
	return map[incubation.Salt]string{
		incubation.LithiumChloride: "lithium chloride, 11 %", incubation.MagnesiumChloride: "magnesium chloride, 33 %",
		incubation.SodiumChloride: "table salt, 75 %", incubation.PotassiumChloride: "potassium chloride, 84 %",
		incubation.PotassiumSulfate: "potassium sulfate, 97 %",
	}[s]
}

func calibratedForm() form {
	return form{
		Kind: book.KindCalibrated, Title: "Probe calibrated", Verb: "Write it down",
		Hint: "Write what the probe read, uncorrected. It counts from its date on; what was read before " +
			"stays as it was. Melting ice: fill a flask with crushed ice made of clean water, add water until it " +
			"fills the gaps, stir, and hold the probe in the middle for ten minutes. Salt: a lidded box with a " +
			"mash of salt and a little water, the probe above it and not in it, for a whole day at one temperature.",
		fields: calibratedFields, read: readCalibrated,
	}
}

func calibratedFields(v *visit) []field {
	methods := make([]string, 0, 8)
	for _, m := range incubation.CalibrationMethods() {
		methods = append(methods, string(m), methodWord(m))
	}
	salts := []string{"", "none"}
	for _, s := range incubation.Salts() {
		salts = append(salts, string(s), saltWord(s))
	}
	unit := v.say.Unit()
	ask := func(name, label, suffix string) field {
		return field{Name: name, Label: label, Suffix: suffix, Mode: "text", Optional: true, Half: true}
	}
	temperature := ask("celsius", "It read", unit)
	temperature.Group = "Temperature"
	second := ask("celsius_2", "Second: it read", unit)
	within := field{
		Name: "uncertainty_kelvin", Label: "The true ones are right to within", Suffix: unit, Mode: "decimal",
		Optional: true, Hint: "Of the thermometer beside it. Ice: " + v.teller().apart(0.1) + " unless you say otherwise.",
	}
	humidity := ask("humidity_ratio", "It read", "%")
	humidity.Group = "Humidity"
	return []field{
		{Name: "probe", Label: "Probe", Type: "select", Options: v.probes()},
		{Name: "method", Label: "How", Type: "select", Options: options("", methods...)},
		temperature, ask("celsius_true", "True was", unit), second, ask("celsius_2_true", "True was", unit), within,
		humidity, ask("humidity_true", "True was", "%"),
		{Name: "salt", Label: "Or over which salt", Type: "select", Optional: true, Options: options("", salts...)},
		ask("salt_celsius", "At", unit),
		{
			Name: "uncertainty_ratio", Label: "The true one is right to within", Suffix: "%", Mode: "decimal",
			Optional: true, Hint: "Of the hygrometer beside it. Salt: 1 % unless you say otherwise.",
		},
		{Name: "due", Label: "Due again", Type: "datetime-local", Optional: true, Hint: "Empty: in a year (common practice)."},
	}
}

func readCalibrated(a *answers) any {
	d := book.CalibratedData{
		Probe: a.id("probe"), Method: incubation.CalibrationMethod(a.id("method")),
		UncertaintyKelvin: a.kelvin("uncertainty_kelvin"),
		UncertaintyRatio:  a.number("uncertainty_ratio", 0, 20) / 100,
		Due:               a.moment("due"),
	}
	for _, name := range []string{"celsius", "celsius_2"} {
		if !a.any(name, name+"_true") {
			continue
		}
		p := incubation.CalibrationPoint{Read: a.outside(name)}
		if d.Method != incubation.IcePoint || a.any(name+"_true") {
			p.True = a.outside(name + "_true")
		}
		d.Celsius = append(d.Celsius, p)
	}
	if a.any("humidity_ratio", "humidity_true", "salt") {
		h := book.HumidityPoint{
			Read: a.number("humidity_ratio", 0, 100) / 100, True: a.number("humidity_true", 0, 100) / 100,
			Salt: incubation.Salt(a.text("salt")),
		}
		if h.Salt != "" {
			h.Celsius = incubation.Celsius(a.outside("salt_celsius"))
		}
		d.HumidityRatio = []book.HumidityPoint{h}
	}
	return d
}

// outside reads a temperature that need not be one of a place.
func (a *answers) outside(name string) float64 {
	if a.text(name) == "" {
		a.blame(name, "a temperature is wanted here")
		return 0
	}
	return float64(a.say.celsius(a.number(name, a.say.degrees(-20), a.say.degrees(60))))
}

func (t teller) calibratedSays(e book.Entry, d book.CalibratedData) string {
	var parts []string
	for _, p := range d.Celsius {
		parts = append(parts, "read "+t.exact(incubation.Celsius(p.Read))+" at "+t.exact(incubation.Celsius(p.True)))
	}
	for _, h := range d.HumidityRatio {
		true := plainly(100*h.True, 1) + nbsp + "%"
		if h.Salt != "" {
			name, _, _ := strings.Cut(saltWord(h.Salt), ",")
			true = cmp.Or(name, string(h.Salt)) + " of " + t.exact(h.Celsius)
		}
		parts = append(parts, "read "+plainly(100*h.Read, 1)+nbsp+"% at "+true)
	}
	c := d.Calibration(e.At)
	if c.Temperature != nil {
		parts = append(parts, "right to within "+t.apart(math.Round(100*c.Temperature.Accuracy)/100))
	}
	parts = append(parts, "due again "+t.day(c.Due))
	return because("Probe "+d.Probe+" calibrated "+methodWord(d.Method), strings.Join(parts, "; "))
}

// compared tells what a probe's sensor said, where that is not what counts,
// and when it was compared and is to be again; "" where neither is so.
func (v *visit) compared(p monitor.ProbeNow) string {
	var parts []string
	if both := p.Raw.Has & p.Latest.Has; both&incubation.Temperature != 0 && !p.Stale && p.Raw.Celsius != p.Latest.Celsius {
		parts = append(parts, "raw "+v.teller().exact(p.Raw.Celsius))
	}
	if c := p.Calibrated; c != nil {
		due := "due again " + v.say.day(c.Due)
		if !c.Due.After(v.snap.Time) {
			due = "due since " + v.say.day(c.Due)
		}
		parts = append(parts, "calibrated "+v.say.day(c.At), due)
	}
	return strings.Join(parts, " · ")
}
