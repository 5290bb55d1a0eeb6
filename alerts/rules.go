package alerts

import (
	"slices"
	"time"
)

// Rules gives every rule of the product: those about places below, those about
// probes and contacts in rules_probe.go, those about eggs and the machine itself
// in rules_egg.go, those about females in rules_season.go. The pages, the judge and the tests read this list.
func Rules() []Rule {
	return slices.Concat(placeRules(), probeRules(), eggRules(), seasonRules())
}

// placeRules are about what a place reads.
//
// A value at an upper limit counts as beyond it, one at a lower limit does
// not: heat kills, cold and dryness mostly delay. Deadbands of temperature
// are 0.2 K: one per cent of the twenty degrees that matter here, and more
// than a sensor's noise (common practice, no source).
func placeRules() []Rule {
	return []Rule{
		{
			Code: "acute-heat", Title: "Deadly heat", About: PlaceSubject,
			Severity: Critical, Empty: Critical,
			Limit: Limit{Base: Fixed, Above: 38}, Unit: "celsius", Deadband: 0.2,
			OnDelay: time.Minute, OffDelay: time.Minute, Latching: true,
			Behind:     at(Outer, "acute-heat"),
			Maintained: OverEggs,
			Text: Text{
				Now:   "{Name} is {value}: {limit} or more for {for}. Minutes count.",
				First: "Pull the heater's plug and open the door now.",
				Over: "{Name} is down to {value}; it reached {worst}. Look why before you trust the " +
					"heater again.",
			},
			Why: "One brief exposure killed every embryo of the lizard Sceloporus undulatus at 44 °C, and " +
				"at 42 °C in one of two experiments (Levy et al., abstract). 38 °C leaves time to get up.",
			Mark: Derived,
		},
		{
			Code: "runaway-heat", Title: "Runaway heat", About: PlaceSubject,
			Severity: Critical, Empty: Critical,
			Limit: Limit{Base: Fixed, Above: 34.5}, Unit: "celsius", Deadband: 0.2,
			OnDelay: 10 * time.Minute, OffDelay: 5 * time.Minute, Latching: true,
			Behind:     slices.Concat(at(Same, "acute-heat"), at(Outer, "acute-heat", "runaway-heat")),
			Maintained: OverEggs,
			Text: Text{
				Now: "{Name} is {value}: {limit} or more for {for}.",
				First: "Pull the heater's plug and open the door. Not falling in 10 min: lift the boxes out, " +
					"and turn no egg.",
				Over: "{Name} is down to {value}; it reached {worst}. Look why before you trust the " +
					"heater again.",
			},
			Why: "Just above 35 °C is the highest constant temperature that eggs of this species " +
				"survive (Viets et al. 1993); 34.5 °C leaves half a degree for the thermometer.",
			Mark: Derived,
		},
		{
			Code: "heating-early", Title: "Warming fast", About: PlaceSubject,
			Severity: Critical, Empty: Warning,
			Limit: Limit{Base: Given}, Unit: "seconds",
			OnDelay: 2 * time.Minute, OffDelay: 10 * time.Minute,
			Behind: slices.Concat(
				only(Reminding, at(Same, "acute-heat", "runaway-heat", "too-warm")),
				at(Outer, "acute-heat", "runaway-heat", "too-warm", "heating-early")),
			Maintained: OverEggs,
			Text: Text{
				Now:   "{Name}{detail}",
				First: "Cut the heater's power now, then look at the thermostat and at where its probe lies.",
				Over:  "{Name}{detail} It no longer warms fast.",
			},
			Why: "Within half an hour of 34.5 °C, at the rate of the last minutes, and out of its usual " +
				"swing: there is time to get up before heat harms. An on/off thermostat's swing is " +
				"learned over three days and is no news, nor is one that still switches around a dial turned " +
				"up; nor is a place that warms up below its setpoint, or one whose warming bends to end " +
				"under the limit.",
			Mark: Judgement,
		},
		{
			Code: "too-warm", Title: "Too warm", About: PlaceSubject,
			Severity: Critical, Empty: Warning,
			Limit: Limit{Base: FromSetpoint, Above: 1.5, Book: OverSetpointKelvin},
			Unit:  "celsius", Deadband: 0.2,
			OnDelay: 10 * time.Minute, OffDelay: 5 * time.Minute, Settles: true,
			Behind: slices.Concat(
				at(Same, "acute-heat", "runaway-heat"), only(Raising, at(Same, "heating-early")),
				at(Outer, "acute-heat", "runaway-heat", "heating-early", "too-warm")),
			Maintained: OverEggs,
			Text: Text{
				Now:   "{Name} is {value}, {off}, for {for}.",
				First: "Open the door until it falls, then look at the thermostat and at where its probe lies.",
				Over:  "{Name} is back at {value} after {for}; it reached {worst}.",
			},
			Why: "Heat kills and cold delays, so this side is the tight one; ten minutes let an " +
				"open door pass.",
			Mark: Judgement,
		},
		{
			Code: "off-setpoint", Title: "Off its setpoint", About: PlaceSubject,
			Severity: Warning, Empty: Info,
			Limit: Limit{Base: FromSetpoint, Above: 1, Below: 1, Book: OffSetpointKelvin},
			Unit:  "celsius", Deadband: 0.2,
			OnDelay: 30 * time.Minute, OffDelay: 10 * time.Minute, Settles: true,
			Behind: slices.Concat(
				at(Same, "acute-heat", "runaway-heat", "heating-early", "too-warm", "cooling-early", "too-cool",
					"heater-off"),
				at(Outer, "acute-heat", "runaway-heat", "heating-early", "too-warm", "cooling-early", "too-cool",
					"heater-off", "off-setpoint"),
				at(ItsContacts, "door-open")),
			Text: Text{
				Now:   "{Name} averages {value}, {off}, for {for}.{detail}",
				First: "Check the dial, and the setpoint in the book.",
				Over:  "{Name} is near its setpoint again: {value} after {for}; it reached {worst}.",
			},
			Why: "Near 30.3 °C 0.2 degrees held on move the sex estimate by 10 points, at 27.5 °C a whole " +
				"one does not. So the limit shrinks to what moves the most sensitive egg there by 10 " +
				"points; not below 0.3, which a sensor is off by itself. It goes by half an hour's mean and " +
				"the last hour's median: neither a thermostat's swing nor an open door is news. A shelf's steady difference is shown, not told: a box in a measured " +
				"incubator is judged by what it usually differs, once 12 hours have taught that; until " +
				"then its incubator is judged. By how much that goes up and down with day and night a " +
				"shrunk limit is wider.",
			Mark: Derived,
		},
		{
			Code: "cooling-early", Title: "Cooling fast", About: PlaceSubject,
			Severity: Warning, Empty: Info,
			Limit: Limit{Base: Given}, Unit: "seconds",
			OnDelay: 10 * time.Minute, OffDelay: 10 * time.Minute, Settles: true,
			Behind: slices.Concat(
				only(Reminding, at(Same, "heater-off", "too-cool")),
				at(Outer, "heater-off", "too-cool", "cooling-early"), at(ItsContacts, "door-open")),
			Rises: []Rise{{After: 2 * time.Hour, To: Critical}},
			Text: Text{
				Now:   "{Name}{detail}",
				First: "Look whether the heater has power and the door is shut. Leave the eggs as they lie.",
				Over:  "{Name}{detail} It no longer falls fast.",
			},
			Why: "Within half an hour of 26 °C, or of 2 under the setpoint if that is lower, and out of its " +
				"usual swing. 26 °C is the lowest constant temperature with published hatching (Viets et " +
				"al. 1993); a spell under it mostly delays, so this is a warning. Ten minutes let an open " +
				"door pass; a fall that no shut cabinet can have is a door, and waits for half an hour.",
			Mark: Judgement,
		},
		{
			Code: "too-cool", Title: "Cooling", About: PlaceSubject,
			Severity: Warning, Empty: Info,
			Limit: Limit{Base: FromSetpoint, Below: 2},
			Unit:  "celsius", Deadband: 0.2,
			OnDelay: 20 * time.Minute, OffDelay: 5 * time.Minute, Settles: true,
			Behind: slices.Concat(
				at(Same, "heater-off"), only(Raising, at(Same, "cooling-early")),
				at(Outer, "heater-off", "cooling-early", "too-cool"), at(ItsContacts, "door-open")),
			Rises: []Rise{{After: 2 * time.Hour, To: Critical}},
			Text: Text{
				Now:   "{Name} is down to {value}, {off}; it has been cold for {for}.",
				First: "Check power and door. A power cut: keep it shut and wrap it in blankets.",
				Over:  "{Name} is warm again: {value} after {for}; it went down to {worst}.",
			},
			Why: "Two degrees under and still falling means that the heat has failed; a short " +
				"cool spell mostly delays. Two hours on nobody has seen to it and it is on its way to " +
				"the room's temperature: with eggs it is critical then.",
			Mark: Judgement,
		},
		{
			Code: "heater-off", Title: "Heater off?", About: PlaceSubject,
			Severity: Critical, Empty: Warning,
			Limit: Limit{Base: Fixed, Below: 22}, Unit: "celsius", Deadband: 0.2,
			OnDelay: time.Hour, OffDelay: 10 * time.Minute,
			Behind: at(Outer, "heater-off"),
			Text: Text{
				Now: "{Name} is {value}: under {limit} for {for}. Is the heater off?",
				First: "Check mains, breaker, thermostat. A power cut: keep it shut, wrap it in blankets. " +
					"Do not heat it up hard afterwards.",
				Over: "{Name} is over {limit} again: {value} after {for}; it went down to {worst}.",
			},
			Why: "An hour under 22 °C is no door left open. The lowest constant temperature with " +
				"published hatching is 26 °C; how long a cold spell eggs survive is not known.",
			Mark: Judgement,
		},
		{
			Code: "dry-air", Title: "Dry air", About: PlaceSubject,
			Severity: Warning, Empty: "",
			Limit: Limit{Base: Fixed, Below: 0.75, Book: LowHumidityRatio}, Unit: "ratio", Deadband: 0.02,
			OnDelay: 3 * time.Hour, OffDelay: 30 * time.Minute,
			Text: Text{
				Now: "The air in {name} is at {value}, under {limit} for {for}.",
				First: "Look at the eggs for dents and weigh the box: air does not tell how wet the " +
					"substrate is.",
				Over: "The air in {name} is at {value} again after {for}; it went down to {worst}.",
			},
			Why: "The eggs take up water through a soft shell. Air over wet substrate stays near " +
				"saturation, so hours under 75 % mean a lid or a dry box.",
			Mark: Judgement,
		},
		{
			Code: "above-limit", Title: "Above its limit", About: PlaceSubject,
			Severity: Warning, Empty: Warning,
			Limit: Limit{Base: Own, Book: HighCelsius}, Unit: "celsius", Deadband: 0.2,
			OnDelay: 10 * time.Minute, OffDelay: 10 * time.Minute,
			Rises: []Rise{{After: time.Hour, To: Critical}},
			Text: Text{
				Now:   "{Name} is {value}: at or over its limit of {limit} for {for}.",
				First: "Turn down what heats it, and see that what lives there has a cool corner.",
				Over:  "{Name} is under its limit again: {value} after {for}; it reached {worst}.",
			},
			Why: "You set this limit; ten minutes let an open door or a lamp pass. An animal that cannot " +
				"leave the heat has hours, not a day: after one hour it is critical.",
			Mark: CommonPractice,
		},
		{
			Code: "below-limit", Title: "Below its limit", About: PlaceSubject,
			Severity: Warning, Empty: Warning,
			Limit: Limit{Base: Own, Book: LowCelsius}, Unit: "celsius", Deadband: 0.2,
			OnDelay: 10 * time.Minute, OffDelay: 10 * time.Minute,
			Text: Text{
				Now:   "{Name} is {value}: under its limit of {limit} for {for}.",
				First: "Check that its heating has power. A power cut: cover it, and leave a gap for air.",
				Over:  "{Name} is over its limit again: {value} after {for}; it went down to {worst}.",
			},
			Why: "You set this limit; ten minutes let an open door pass. It stays a warning however long " +
				"it lasts: a grown animal bears a cool night, and reminders go on.",
			Mark: CommonPractice,
		},
		{
			Code: "below-humidity", Title: "Drier than its limit", About: PlaceSubject,
			Severity: Warning, Empty: Warning,
			Limit: Limit{Base: Own, Book: LowHumidityRatio}, Unit: "ratio", Deadband: 0.02,
			OnDelay: time.Hour, OffDelay: 30 * time.Minute,
			Text: Text{
				Now:   "The air in {name} is at {value}, under its limit of {limit} for {for}.",
				First: "Mist it, and look whether its vents or lid stand open.",
				Over:  "The air in {name} is at {value} again after {for}; it went down to {worst}.",
			},
			Why:  "You set this limit; an hour lets an airing pass.",
			Mark: CommonPractice,
		},
		{
			Code: "eggs-unwatched", Title: "Nobody watches the eggs", About: PlaceSubject,
			Severity: Critical, Empty: "",
			OnDelay: 15 * time.Minute, OffDelay: time.Minute,
			Behind:     at(Outer, "eggs-unwatched"),
			Maintained: OverEggs,
			Text: Text{
				Now:   "No probe has told the temperature of {name} for {for}: nothing would warn you.",
				First: "Read a thermometer there yourself, then check probe, cable and battery.",
				Over:  "{Name} is watched again after {for}.",
			},
			Why:  "Without a fresh probe no other rule about these eggs can speak.",
			Mark: Judgement,
		},
	}
}
