package alerts

import (
	"slices"
	"time"
)

// Rules gives every rule of the product. To add one, add it here: the pages,
// the judge and the tests read this list.
//
// A value at an upper limit counts as beyond it, one at a lower limit does
// not: heat kills, cold and dryness mostly delay. Deadbands of temperature
// are 0.2 K: one per cent of the twenty degrees that matter here, and more
// than a sensor's noise (common practice, no source).
func Rules() []Rule {
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
			Behind:     at(Outer, "acute-heat", "runaway-heat", "too-warm", "heating-early"),
			Maintained: OverEggs,
			Text: Text{
				Now:   "{Name}{detail}",
				First: "Cut the heater's power now, then look at the thermostat and at where its probe lies.",
				Over:  "{Name}{detail} It no longer warms fast.",
			},
			Why: "Within half an hour of 34.5 °C, at the rate of the last minutes, and out of its usual " +
				"swing: there is time to get up before heat harms. An on/off thermostat's swing is " +
				"learned over three days and is no news; nor is a place that warms up below its setpoint, " +
				"or one whose warming bends to end under the limit.",
			Mark: Judgement,
		},
		{
			Code: "too-warm", Title: "Too warm", About: PlaceSubject,
			Severity: Critical, Empty: Warning,
			Limit: Limit{Base: FromSetpoint, Above: 1.5, Book: OverSetpointKelvin},
			Unit:  "celsius", Deadband: 0.2,
			OnDelay: 10 * time.Minute, OffDelay: 5 * time.Minute, Settles: true,
			Behind: slices.Concat(
				at(Same, "acute-heat", "runaway-heat", "heating-early"),
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
				"then its incubator is judged.",
			Mark: Derived,
		},
		{
			Code: "cooling-early", Title: "Cooling fast", About: PlaceSubject,
			Severity: Warning, Empty: Info,
			Limit: Limit{Base: Given}, Unit: "seconds",
			OnDelay: 10 * time.Minute, OffDelay: 10 * time.Minute, Settles: true,
			Behind: slices.Concat(
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
			Behind: slices.Concat(at(Same, "heater-off", "cooling-early"),
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
		{
			Code: "silent-source", Title: "Silent bus or receiver", About: SystemSubject,
			Severity: Warning, Empty: Warning,
			OnDelay: 30 * time.Second, OffDelay: time.Minute,
			Behind: at(Anywhere, "on-battery"),
			Text: Text{
				Now:   "Probes that are read through {name} have fallen silent together.{detail}",
				First: "Check its plug and cable; a receiver or broker: whether it has power.",
				Over:  "Probes that are read through {name} speak again after {for}.",
			},
			Why: "Two probes that share a bus, receiver or broker, and half or more of all that do, " +
				"seldom fail one by one. Four of a probe's own intervals, one fewer than for a " +
				"single probe: so that this one message comes first. In a power cut receivers are silent, " +
				"and the cut is what is told.",
			Mark: Judgement,
		},
		{
			Code: "stale", Title: "Silent probe", About: ProbeSubject,
			Severity: Warning, Empty: Warning,
			Limit: Limit{Base: Given}, Unit: "seconds",
			OffDelay: time.Minute,
			Behind: slices.Concat(at(ItsPlace, "eggs-unwatched"), at(ItsSource, "silent-source"),
				at(Anywhere, "on-battery")),
			Text: Text{
				Now:   "Probe {name}{in} has been silent for {value}.{detail}",
				First: "Check its cable, battery and receiver.",
				Over:  "Probe {name}{in} speaks again; it was silent for {worst}.",
			},
			Why: "Five of the probe's own intervals, and at least five minutes: a battery sensor " +
				"that speaks every five minutes is not late.",
			Mark: Judgement,
		},
		{
			Code: "frozen", Title: "Frozen probe", About: ProbeSubject,
			Severity: Warning, Empty: Info,
			OnDelay: time.Minute, OffDelay: 10 * time.Minute,
			Behind: at(Same, "stale"),
			Text: Text{
				Now:   "Probe {name}{in} has said the same for longer than it can by itself.{detail}",
				First: "Read a second thermometer there; then plug the probe in anew.",
				Over:  "Probe {name}{in} moves again.",
			},
			Why: "A chip of 0.06 K in a steady box may rest for hours, one of 0.01 K not for minutes: each " +
				"is judged by five times its own longest rest, or by neighbours that moved while it did not.",
			Mark: Judgement,
		},
		{
			Code: "probe-doubt", Title: "Jumpy probe", About: ProbeSubject,
			Severity: Warning, Empty: Info,
			OnDelay: time.Minute, OffDelay: 30 * time.Minute,
			Behind: at(Same, "stale"),
			Text: Text{
				Now:   "Probe {name}{in} gives values that cannot be.{detail}",
				First: "Look at its plug, its cable and its power supply. The rest of its values still count.",
				Over:  "Probe {name}{in} gives steady values again.",
			},
			Why: "One value alone is left out in silence; three that nothing bears out within an hour or so, " +
				"or a jump faster than air can, are a bad contact or a weak supply.",
			Mark: Judgement,
		},
		{
			Code: "probe-drift", Title: "Probe leaves the others", About: ProbeSubject,
			Severity: Warning, Empty: Info,
			OnDelay: time.Hour, OffDelay: time.Hour,
			Behind: at(Same, "stale", "frozen", "probe-slipped"),
			Text: Text{
				Now:   "Probe {name}{in} no longer fits those beside it.{detail}",
				First: "Hold a second thermometer beside it before you change any setpoint, and calibrate it.",
				Over:  "Probe {name}{in} fits those beside it again.",
			},
			Why: "Shelves differ, but always by much the same. More than 0.3 degrees away from what two days " +
				"have taught, for a whole day, is a probe that drifts, or an incubator that changed.",
			Mark: Judgement,
		},
		{
			Code: "probe-slipped", Title: "Probe out of its box?", About: ProbeSubject,
			Severity: Warning, Empty: Info,
			OnDelay: time.Minute, OffDelay: 30 * time.Minute,
			Behind: at(Same, "stale"),
			Text: Text{
				Now:   "Probe {name}{in} reads as if it lay outside, or the lid were off.{detail}",
				First: "Look where the probe lies. Until then nothing tells how warm the box is inside.",
				Over:  "Probe {name}{in} reads as from inside again.",
			},
			Why: "A box smooths what the air around it does. A probe that suddenly shows every swing of it, " +
				"or falls to another level while nothing else does, is not in the box.",
			Mark: Judgement,
		},
		{
			Code: "probes-swapped", Title: "Probes exchanged?", About: ProbeSubject,
			Severity: Warning, Empty: Info,
			OnDelay: time.Minute, OffDelay: 30 * time.Minute,
			Behind: at(Same, "stale"),
			Text: Text{
				Now:   "Probe {name}{in} seems to lie where another belongs.{detail}",
				First: "Look which probe lies in which box, or which box stands where, and enter it if they stay so.",
				Over:  "Probe {name}{in} is back where it belongs.",
			},
			Why: "Two probes that go to one another's level at one moment were exchanged, or their boxes were. " +
				"The eggs' record would go on with the wrong one.",
			Mark: Judgement,
		},
		{
			Code: "calibration-due", Title: "Calibration due", About: ProbeSubject,
			Severity: Info, Empty: Info,
			OnDelay: time.Hour, OffDelay: time.Second,
			Text: Text{
				Now:   "Probe {name}{in} is due to be compared again.{detail}",
				First: "Compare it in melting ice or beside a thermometer you trust, and enter what it read.",
				Over:  "Probe {name}{in} has been compared.",
			},
			Why:  "Sensors age. A year is common practice; you may set another date with each calibration.",
			Mark: CommonPractice,
		},
		{
			Code: "door-open", Title: "Door open", About: ContactSubject,
			Severity: Warning, Empty: "",
			OnDelay: 10 * time.Minute, OffDelay: 10 * time.Second,
			Text: Text{
				Now:   "{Name} has been open for {for}.{detail}",
				First: "Shut it; leave the thermostat as it is.",
				Over:  "{Name} is shut again; it was open for {for}.",
			},
			Why: "Looking after boxes takes less than ten minutes. Critical once something behind it is 2 " +
				"degrees under its setpoint. Rules that settle wait for half an hour after a door was " +
				"opened; those of runaway and deadly heat do not.",
			Mark: Judgement,
		},
		{
			Code: "enclosure-open", Title: "Enclosure open", About: ContactSubject,
			Severity: Warning, Empty: Warning,
			OnDelay: 5 * time.Minute, OffDelay: 10 * time.Second,
			Text: Text{
				Now:   "{Name} has been open for {for}: an animal can leave.",
				First: "Shut it, and look whether the animal is in.",
				Over:  "{Name} is shut again; it was open for {for}.",
			},
			Why:  "Feeding and cleaning take a few minutes with somebody there; five are a door forgotten.",
			Mark: Judgement,
		},
		{
			Code: "leak", Title: "Water", About: ContactSubject,
			Severity: Critical, Empty: Critical,
			OnDelay: 5 * time.Second, OffDelay: time.Minute,
			Maintained: Always,
			Text: Text{
				Now:   "Water: {name}{in} has been wet for {for}.",
				First: "Touch nothing wet. Cut the power at the breaker first, if you can reach it dry.",
				Over:  "{Name}{in} is dry again after {for}.",
			},
			Why: "Water beside mains heaters can kill and burn. Its reader waits out a drop that bounces; " +
				"this waits for a second look.",
			Mark: Judgement,
		},
		{
			Code: "on-battery", Title: "Power cut", About: ContactSubject,
			Severity: Warning, Empty: Info,
			OnDelay: time.Minute, OffDelay: 2 * time.Minute,
			Text: Text{
				Now: "Mains power has been off for {for}.{detail}",
				First: "Keep it shut and wrap it up; bottles of warm water beside the boxes, none on the eggs. " +
					"Nothing electrical improvised.",
				Over: "Mains power is back after {for}.{detail} See that each heater works, the coldest first; " +
					"let thermostats warm them, do not reheat hard.",
			},
			Why: "Counted by each incubator's own cooling, once it was seen, down to 26 °C, the lowest " +
				"constant temperature with published hatching (Viets et al. 1993), or to 2 under its setpoint " +
				"if that is lower. A spell under it mostly delays. Critical once less than half an hour is left. " +
				"That it should warm again slowly is common practice, no source.",
			Mark: Derived,
		},
		{
			Code: "contact-silent", Title: "Silent contact", About: ContactSubject,
			Severity: Warning, Empty: Warning,
			Limit: Limit{Base: Given}, Unit: "seconds",
			OffDelay:   time.Minute,
			Maintained: Always,
			Text: Text{
				Now:   "The {name}{in} has told nothing for {value}: nobody knows what it watches.{detail}",
				First: "Check its wires.",
				Over:  "The {name}{in} speaks again; it was silent for {worst}.",
			},
			Why: "A contact tells its state every few seconds; five minutes are no hiccup. One that " +
				"fails is neither open nor shut, and mains are neither there nor gone. A door is a notice.",
			Mark: Judgement,
		},
		{
			Code: "away", Title: "Nobody was watching", About: SystemSubject,
			Severity: Warning, Empty: Warning, Event: true,
			Limit: Limit{Base: Fixed, Above: 600}, Unit: "seconds",
			Text: Text{
				Now:   "Nothing was watched or recorded for {value} before this start.{detail}",
				First: "See what each place reads now.",
			},
			Why: "A restart takes seconds; after ten minutes the power or the program failed. " +
				"Critical only when eggs came back outside their limits. \"Without heat\" is said where a place " +
				"was at its setpoint, is 2 degrees under it, and fell no faster than a cabinet does by itself.",
			Mark: Judgement,
		},
		{
			Code: "flood", Title: "Many alerts at once", About: SystemSubject,
			Severity: Warning, Empty: Warning,
			OnDelay: time.Minute, OffDelay: time.Minute,
			Text: Text{
				Now:   "More alerts at once than anybody can read.{detail}",
				First: "Critical ones still come by themselves; all of them are on the pages.",
				Over:  "Alerts come singly again after {for}.{detail}",
			},
			Why: "More than ten within ten minutes, until ten minutes bring fewer than five: the numbers of " +
				"ISA-18.2 and EEMUA 191, at second hand. They have one cause as a rule, and one message " +
				"serves it better. The minute is there to count first.",
			Mark: Published,
		},
		{
			Code: "clock", Title: "Clock not set", About: SystemSubject,
			Severity: Info, Empty: Info,
			OnDelay: 10 * time.Minute, OffDelay: time.Second,
			Text: Text{
				Now:   "The clock has not been right for {for}. Readings are kept and dated later.{detail}",
				First: "Open the pages on a phone to offer its time, or mend the network.",
				Over:  "The clock is right again.",
			},
			Why:  "This computer has no clock of its own; on a network the time comes within minutes.",
			Mark: Judgement,
		},
		{
			Code: "store", Title: "Store not writable", About: SystemSubject,
			Severity: Warning, Empty: Warning,
			OnDelay: 30 * time.Second, OffDelay: 5 * time.Minute,
			Text: Text{
				Now: "Nothing could be stored for {for}.{detail}",
				First: "Check the card's room and health. Alerts still go out; readings are lost if " +
					"the power goes.",
				Over: "Storing works again after {for}.",
			},
			Why:  "A slow card may take seconds; half a minute means full, read-only or dying.",
			Mark: Judgement,
		},
		{
			Code: "undelivered", Title: "Messages do not get through", About: SystemSubject,
			Severity: Warning, Empty: Warning, OnDelay: 15 * time.Minute, OffDelay: time.Minute,
			Text: Text{
				Now:   "Messages do not reach {name}: none got through for {for}.{detail}",
				First: "Look at the alerts page; the test message there says where the way ends.",
				Over:  "Messages reach {name} again after {for}; what waited is being sent.",
			},
			Why:  "A router or a service may be away for minutes; what is owed is kept and sent later.",
			Mark: Judgement,
		},
		{
			Code: "damage", Title: "Something stored was damaged", About: SystemSubject,
			Severity: Warning, Empty: Warning, Event: true, OnDelay: time.Second,
			Text: Text{
				Now:   "Part of what was stored could not be read any more.{detail}",
				First: "See whether places and eggs are still in the book: only those are watched.",
			},
			Why: "A book that lost its places is judged by no rule, and looks calm. The damaged file " +
				"is kept beside the new one. Critical when the book knows no place any more.",
			Mark: Judgement,
		},
		{
			Code: "tsp-open", Title: "Sex is being set", About: EggSubject,
			Severity: Info, Empty: Info,
			OnDelay: time.Hour, OffDelay: time.Hour,
			Text: Text{
				Now:   "Egg {name}{in}: from now on its temperature sets its sex.{detail}",
				First: "Check the setpoint, and calibrate if you have not.",
				Over: "Egg {name}{in}: its sex is set, as far as temperature goes. Only looking at the " +
					"animal tells it.",
			},
			Why: "Much of the first half of development, not its middle third (Bull 1987); the " +
				"fractions follow from it. Told within two days of the opening or not at all: then " +
				"it is no news.",
			Mark: Derived,
		},
		{
			Code: "hatch-near", Title: "Hatch near", About: EggSubject,
			Severity: Info, Empty: Info, Event: true,
			OnDelay: time.Hour, OffDelay: 24 * time.Hour,
			Text: Text{
				Now:   "Egg {name}{in} may hatch from now on.{detail}",
				First: "Look daily. Once it has pipped let it rest: never cut, never pull.",
			},
			Why: "From the earliest likely day of the egg's own record. That a pipped egg may rest for a " +
				"day or two is common practice, no source.",
			Mark: Derived,
		},
		{
			Code: "hatch-overdue", Title: "Hatch overdue", About: EggSubject,
			Severity: Warning, Empty: Warning, Event: true,
			OnDelay: time.Hour, OffDelay: 24 * time.Hour,
			Text: Text{
				Now: "Egg {name}{in} is past its hatch window.{detail}",
				First: "Look, and wait. Candle it: cool light, briefly, not turned; vessels or movement " +
					"mean it lives; unsure: wait. Never cut, never pull.",
			},
			Why: "Past the latest likely day of the egg's own record; a cool spell that was not " +
				"recorded delays it too. How to candle is common practice, no source.",
			Mark: Derived,
		},
	}
}
