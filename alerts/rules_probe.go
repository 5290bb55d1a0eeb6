package alerts

import (
	"slices"
	"time"
)

// probeRules are about probes, what they are read through, and contacts.
func probeRules() []Rule {
	return []Rule{
		{
			Code: "silent-source", Title: "Silent bus or receiver", About: SystemSubject,
			Severity: Warning, Empty: Warning,
			OnDelay: 30 * time.Second, OffDelay: time.Minute, Flaps: dropsOut(),
			Behind: at(Anywhere, "on-battery"),
			Text: Text{
				Now:   "Probes that are read through {name} have fallen silent together.{detail}",
				First: "Check its plug and cable; a receiver or broker: whether it has power.",
				Over:  "Probes that are read through {name} speak again after {for}.",
			},
			Why: "Two probes that share a bus, receiver or broker, and half or more of all that do, " +
				"seldom fail one by one. Four of a probe's own intervals, one fewer than for a " +
				"single probe: so that this one message comes first. If nothing at all is heard and each " +
				"other was due to speak, one silent probe is enough. In a power cut receivers are silent, " +
				"and the cut is what is told. A second time within a day it is told as one that comes and " +
				"goes, until a day has passed without.",
			Mark: Judgement,
		},
		{
			Code: "stale", Title: "Silent probe", About: ProbeSubject,
			Severity: Warning, Empty: Warning,
			Limit: Limit{Base: Given}, Unit: "seconds",
			OffDelay: time.Minute, Flaps: dropsOut(),
			Behind: slices.Concat(at(ItsPlace, "eggs-unwatched"), at(ItsSource, "silent-source"),
				at(Anywhere, "on-battery")),
			Text: Text{
				Now:   "Probe {name}{in} has been silent for {value}.{detail}",
				First: "Check its cable, battery and receiver.",
				Over:  "Probe {name}{in} speaks again; it was silent for {worst}.",
			},
			Why: "Five of the probe's own intervals, and at least five minutes: a battery sensor " +
				"that speaks every five minutes is not late. One interval and a minute more while nothing else " +
				"read through the same has spoken either: it may be that. Ten while that is told to come and " +
				"go. A second time within a day it is told as one that comes and goes, until a day has " +
				"passed without.",
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
				"or falls to another level while nothing else does, is not in the box. A door that was opened " +
				"is no swing: most of two hours must have one.",
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
	}
}
