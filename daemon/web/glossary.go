package web

// A term is one word that pages use, as a keeper would explain it.
type term struct{ Word, Means string }

// glossary is every word that a page explains, in the order of a season.
func glossary() []term {
	return []term{
		{"Room", "All that this program watches: incubators, boxes, enclosures and the air around them."},
		{"Place", "An incubator, an egg box, a lay box, an enclosure or the room: what probes and limits belong to."},
		{"Incubator", "The heated cabinet that egg boxes stand in. This program reads it and never heats it."},
		{"Egg box", "The tub that holds eggs in an incubator."},
		{"Lay box", "The damp box in her enclosure where a female lays."},
		{"Enclosure", "Where an animal lives. One with a rack and a slot has its turn in the round."},
		{"Probe", "One point that measures, with a place of its own. A new one waits until you give it a place."},
		{"Reading", "One value that can be believed, at one time, from one probe."},
		{"Contact", "A yes or no from the room: mains present, door open, water on the floor."},
		{"Offset", "What a calibration adds to a probe's value, or how much warmer or cooler a box is than its incubator."},
		{"Setpoint", "What the thermostat aims at. It is written down here and set there."},
		{"Limit", "A temperature or humidity that must not be passed for long. Behind it stands an alert."},
		{"Range", "Where a value lies between its two limits. The short line is the setpoint."},
		{"Gap", "A stretch without readings. It is shown as one, and guessed across with more doubt the longer it is."},
		{"Alert", "Something worth being told of. It stays until it is over and you have acknowledged it."},
		{"Acknowledge", "You have seen it. It is told no more until it comes anew."},
		{"Shelve", "You do not want to be told of it for a time you choose, seven days at most."},
		{"Out of service", "A place that is not judged for a time, because you are working on it."},
		{"Check", "A look at a female's belly, with the stage that was seen."},
		{"Stage", "What shows through the skin: quiet, follicular, shelling, gravid, laid, resorbed."},
		{"Follicular", "Round, pink, veined shapes, left and right at different levels: egg yolks growing."},
		{"Shelling", "After ovulation, while shells form: the shapes lose their pink."},
		{"Gravid", "Carrying shelled eggs: long, opaque and white, two as a rule."},
		{"Resorbed", "Follicles that went back without becoming eggs. It may take months until the next."},
		{"Round", "A walk along the racks in their order, one female after the other."},
		{"Slot", "The place of an enclosure in its rack, counted as you count it."},
		{"Due", "What the book and the females' own rhythm say is worth doing, with the reason beside it."},
		{"Rhythm", "How long one female takes from cycle to cycle and from clutch to clutch, learned from her own dates " +
			"and from the others while hers are few."},
		{"Pairing", "A female and a male brought together, with what came of it."},
		{"Gate", "What you want of a female before she is paired: age, weight, rest."},
		{"Clutch", "The eggs of one laying, two as a rule."},
		{"Laying", "Day 0 of the eggs. It lies between when you last looked and when you found them."},
		{"Candle", "To hold a cool light behind an egg and look at what it shows."},
		{"Development", "How far an egg has come from laying to hatching, worked out from its recorded temperature."},
		{"TSP", "The stretch of development in which the temperature decides the sex."},
		{"CTE", "The steady temperature that would have had the same effect as all that was recorded."},
		{"Estimate", "What the record says about sex and hatch, with how sure it is. It is not a sexing."},
		{"Hatch window", "From the earliest to the latest day that hatching is likely; nine in ten fall inside it."},
		{"Plan", "Setpoints and moves to come. Nothing here carries them out: you do, and write it down."},
		{"Pip", "The first hole in the shell. A hatchling may rest in it for a day or two (common practice, no source)."},
		{"Band", "Where most of the worked-out futures lie: nine in ten of an egg’s, 8 of 10 of the season’s. The line in it is the middle one."},
		{"Entry", "One dated line of the book. It is never rubbed out: a mistake is taken back by another line."},
	}
}

// spoken names the words that a page needs, by the page's own name.
func spoken(page string) []string {
	return map[string][]string{
		"room":         {"Place", "Probe", "Setpoint", "Limit", "Range", "Contact", "Hatch window", "Due"},
		"place":        {"Place", "Probe", "Setpoint", "Limit", "Offset", "Gap", "Out of service"},
		"clutches":     {"Clutch", "Laying", "Estimate", "Hatch window"},
		"clutch":       {"Laying", "Development", "TSP", "CTE", "Estimate", "Hatch window", "Gap", "Candle"},
		"review":       {"Laying", "Development", "TSP", "CTE", "Estimate", "Hatch window", "Gap", "Offset"},
		"eggplan":      {"Plan", "TSP", "CTE", "Estimate", "Hatch window"},
		"hindsight":    {"Estimate", "Hatch window", "CTE"},
		"why":          {"Estimate", "Gap", "CTE", "TSP", "Offset"},
		"alerts":       {"Alert", "Acknowledge", "Shelve", "Out of service", "Limit"},
		"alerthistory": {"Alert", "Acknowledge", "Shelve", "Limit"},
		"rules":        {"Alert", "Limit", "Setpoint"},
		"tune":         {"Alert", "Limit", "Setpoint"},
		"entries":      {"Entry", "Laying", "Setpoint", "Pip"},
		"form":         {"Entry"},
		"today":        {"Due", "Rhythm", "Check", "Stage", "Hatch window"},
		"round":        {"Round", "Stage", "Follicular", "Shelling", "Gravid", "Resorbed"},
		"roundstart":   {"Round", "Slot", "Check"},
		"slot":         {"Slot", "Enclosure", "Round"},
		"season":       {"Band", "Rhythm", "Laying", "Egg box", "Gate"},
		"labels":       {"Clutch", "Laying", "Egg box", "Hatch window", "Slot"},
		"sheet":        {"Room", "Place", "Alert", "Limit"},
		"settings":     {"Gate", "Entry"},
		"herd":         {"Check", "Stage", "Rhythm", "Slot"},
		"animal":       {"Check", "Stage", "Rhythm", "Pairing", "Gate"},
	}[page]
}

// explain gives the words of a page with what they mean.
func explain(page string) []term {
	var out []term
	for _, word := range spoken(page) {
		for _, t := range glossary() {
			if t.Word == word {
				out = append(out, t)
			}
		}
	}
	return out
}
