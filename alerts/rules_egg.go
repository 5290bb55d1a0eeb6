package alerts

import "time"

// eggRules are about eggs, and about the machine that watches them.
func eggRules() []Rule {
	return []Rule{
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
