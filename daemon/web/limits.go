package web

import (
	"encoding/json"
	"strconv"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

func limitsForm() form {
	return form{
		Kind: book.KindLimits, Title: "Limits of a place", Verb: "Write the limits down",
		Hint: "An empty field leaves the rule's own limit. The rules page gives the reason " +
			"for each.",
		fields: func(v *visit) []field {
			if v.filled("one") == "rule" {
				return ruleFields(v)
			}
			return limitFields(v)
		},
		read: func(a *answers) any {
			if a.text("one") == "rule" {
				return readRule(a)
			}
			return readLimits(a)
		},
	}
}

// filled is what a form that came back was filled in with, else what its
// address asked it to begin with.
func (v *visit) filled(name string) string {
	if was := v.r.PostForm.Get(name); was != "" {
		return was
	}
	return v.asked(name)
}

func limitFields(v *visit) []field {
	own := v.snap.Book.Limits[v.asked("place")]
	kelvin := 1.0
	if v.say.fahrenheit {
		kelvin = 1.8
	}
	unit := v.say.Unit()
	fields := append([]field{v.placeField("Place")},
		v.periodFields("", book.PeriodLimits{
			LowCelsius: own.LowCelsius, HighCelsius: own.HighCelsius, LowHumidityRatio: own.LowHumidityRatio,
		})...)
	fields = append(fields,
		limitField("off_setpoint_kelvin", "Warn when off the setpoint by", unit, shownBy(own.OffSetpointKelvin, kelvin)),
		limitField("over_setpoint_kelvin", "Wake me when over the setpoint by", unit, shownBy(own.OverSetpointKelvin, kelvin)))
	fields = append(fields, v.nightFields(own.Night)...)
	fields = append(fields, v.coolingFields(own.Cooling)...)
	return append(fields, v.keptRules(own.RuleOverrides)...)
}

// nightFields ask for limits that hold by night.
func (v *visit) nightFields(n *book.NightLimits) []field {
	from, to, l := "", "", book.PeriodLimits{}
	if n != nil {
		from, to, l = marshalled(n.From), marshalled(n.To), n.PeriodLimits
	}
	fields := []field{
		{Name: "night_from", Label: "From", Type: "time", Optional: true, Value: from, Half: true, Group: "At night, by the room's clock"},
		{Name: "night_to", Label: "To", Type: "time", Optional: true, Value: to, Half: true},
	}
	own := v.periodFields("night_", l)
	own[0].Hint = "What stays empty is as by day. A place takes time to follow: for 2 hours after each " +
		"change the wider of both limits holds."
	return append(fields, own...)
}

// coolingFields ask for limits that hold in the cooling season.
func (v *visit) coolingFields(c *book.CoolingLimits) []field {
	from, to, l := "", "", book.PeriodLimits{}
	if c != nil {
		from, to, l = dayOfYear(c.From), dayOfYear(c.To), c.PeriodLimits
	}
	fields := []field{
		{Name: "cooling_from", Label: "First day", Optional: true, Value: from, Half: true, Group: "In the cooling season, every year"},
		{Name: "cooling_to", Label: "Last day", Optional: true, Value: to, Half: true},
	}
	own := v.periodFields("cooling_", l)
	own[0].Hint = "Days like 15 Nov. What stands here counts by day and by night. For a day after each change " +
		"the wider of both limits holds."
	return append(fields, own...)
}

func (v *visit) periodFields(before string, l book.PeriodLimits) []field {
	unit := v.say.Unit()
	return []field{
		limitField(before+"low_celsius", "Too cold under", unit, v.shownTemp(l.LowCelsius)),
		limitField(before+"high_celsius", "Too warm over", unit, v.shownTemp(l.HighCelsius)),
		limitField(before+"low_humidity_ratio", "Too dry under", "%", shownBy(l.LowHumidityRatio, 100)),
	}
}

func limitField(name, label, unit, value string) field {
	return field{Name: name, Label: label, Suffix: unit, Mode: "decimal", Optional: true, Value: value}
}

func (v *visit) shownTemp(c *incubation.Celsius) string {
	if c == nil {
		return ""
	}
	return numeral(v.say.degrees(*c))
}

func shownBy(f *float64, by float64) string {
	if f == nil {
		return ""
	}
	return numeral(*f * by)
}

// numeral writes a number as a form gives it back.
func numeral(f float64) string { return strconv.FormatFloat(thousandths(f), 'f', -1, 64) }

func readLimits(a *answers) any {
	d := book.LimitsData{Place: a.id("place")}
	day := a.period("")
	d.LowCelsius, d.HighCelsius, d.LowHumidityRatio = day.LowCelsius, day.HighCelsius, day.LowHumidityRatio
	d.OffSetpointKelvin = a.maybeKelvin("off_setpoint_kelvin")
	d.OverSetpointKelvin = a.maybeKelvin("over_setpoint_kelvin")
	if n := (book.NightLimits{PeriodLimits: a.period("night_")}); n.PeriodLimits != (book.PeriodLimits{}) ||
		a.any("night_from", "night_to") {
		n.From, n.To = a.clock("night_from"), a.clock("night_to")
		d.Night = &n
	}
	if c := (book.CoolingLimits{PeriodLimits: a.period("cooling_")}); c.PeriodLimits != (book.PeriodLimits{}) ||
		a.any("cooling_from", "cooling_to") {
		c.From, c.To = a.yearDay("cooling_from"), a.yearDay("cooling_to")
		d.Cooling = &c
	}
	if text := a.text("rule_overrides"); text != "" && json.Unmarshal([]byte(text), &d.RuleOverrides) != nil {
		a.blame("", "this form is damaged: open it again")
	}
	return d
}

func (a *answers) period(before string) book.PeriodLimits {
	temp := func(name string) *incubation.Celsius {
		if !a.any(before + name) {
			return nil
		}
		c := a.degrees(before + name)
		return &c
	}
	l := book.PeriodLimits{LowCelsius: temp("low_celsius"), HighCelsius: temp("high_celsius")}
	if name := before + "low_humidity_ratio"; a.any(name) {
		r := a.number(name, 0, 100) / 100
		l.LowHumidityRatio = &r
	}
	return l
}

func (a *answers) maybeKelvin(name string) *float64 {
	if !a.any(name) {
		return nil
	}
	k := a.kelvin(name)
	return &k
}

// clock reads a time of day.
func (a *answers) clock(name string) (c book.ClockTime) {
	text := a.text(name)
	if len(text) == len("15:04:05") { // some browsers send seconds
		text = text[:5]
	}
	if c.UnmarshalText([]byte(text)) != nil {
		a.blame(name, "a time like 21:00 is wanted here")
	}
	return c
}

// yearDay reads a day of every year: "15 Nov" or "Nov 15", the month in full
// or by its first letters.
func (a *answers) yearDay(name string) book.YearDay {
	words := strings.FieldsFunc(a.text(name), func(r rune) bool { return strings.ContainsRune(" ., ", r) })
	if len(words) == 2 {
		if _, err := strconv.Atoi(words[0]); err != nil {
			words[0], words[1] = words[1], words[0]
		}
		for m := time.January; m <= time.December; m++ {
			n, err := strconv.Atoi(words[0])
			starts := len(words[1]) >= 3 && len(words[1]) <= len(m.String()) &&
				strings.EqualFold(m.String()[:len(words[1])], words[1])
			if starts && err == nil && n >= 1 && time.Date(2024, m, n, 0, 0, 0, 0, time.UTC).Month() == m {
				return book.YearDay{Month: m, Day: n}
			}
		}
	}
	a.blame(name, "a day like 15 Nov is wanted here")
	return book.YearDay{}
}

// dayOfYear writes a day as yearDay reads it.
func dayOfYear(d book.YearDay) string { return strconv.Itoa(d.Day) + " " + d.Month.String()[:3] }

func marshalled(c book.ClockTime) string {
	text, _ := c.MarshalText()
	return string(text)
}
