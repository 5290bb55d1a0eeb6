package season

import "clutchd/incubation"

// An Assumption is a starting value: what is gone by until the book knows
// better.
type Assumption struct {
	Key   string // one of the constants below
	Title string // for the page: "Between two clutches"
	Value float64
	// Low and High are where most fall: the 5 % and 95 % points of what it is
	// taken for.
	Low, High float64
	Unit      string // "days", "months", "grams", "ratio", "eggs", "clutches", "day of the year"
	Mark      incubation.Mark
	// Source is the paper, or what it was judged from; Common has none.
	Source string
	// Replaced says what takes its place: "her own intervals", "your gates".
	Replaced string
	// Says is the value as a sentence.
	Says string
}

// The keys of the starting values.
const (
	CycleUnbred      = "cycle-unbred"
	BetweenClutches  = "between-clutches"
	EggsPerClutch    = "eggs-per-clutch"
	ClutchesInSeason = "clutches-in-season"
	SmallAgain       = "small-again"
	FlushAfter       = "flush-after-pairing"
	PairingToClutch  = "pairing-to-clutch"
	ShellingToLaying = "shelling-to-laying"
	GravidToLaying   = "gravid-to-laying"
	GravidTooLong    = "gravid-too-long"
	SeasonOpens      = "season-opens"
	LookEarlier      = "look-earlier"
	AfterResorption  = "after-resorption"
	CheckInSeason    = "check-in-season"
	CheckAtRest      = "check-at-rest"
	CheckLarge       = "check-large"
	CheckAfterLaying = "check-after-laying"
	CandleFrom       = "candle-from"
	CandleAgain      = "candle-again"
	AirEvery         = "air-every"
	WeighBoxEvery    = "weigh-box-every"
	WeighEvery       = "weigh-every"
	SpermKept        = "sperm-kept"
	MinMonths        = "min-months"
	MinGrams         = "min-grams"
	MaxLoss          = "max-loss"
	MaxClutches      = "max-clutches"
	RestDays         = "rest-days"
	HatchShare       = "hatch-share"
	IncubationDays   = "incubation-days"
	PauseInLaying    = "pause-in-laying"
)

// Assumptions gives every starting value, in the order of a female's year and
// then of an egg's.
func Assumptions() []Assumption {
	out := append(rhythmValues(), checkValues()...)
	out = append(out, gateValues()...)
	return append(out, eggValues()...)
}

func common(key, title string, v, low, high float64, unit, replaced, says string) Assumption {
	return Assumption{
		Key: key, Title: title, Value: v, Low: low, High: high, Unit: unit,
		Mark: incubation.Common, Replaced: replaced, Says: says,
	}
}

func judged(key, title string, v, low, high float64, unit, from, replaced, says string) Assumption {
	a := common(key, title, v, low, high, unit, replaced, says)
	a.Mark, a.Source = incubation.Judgement, from
	return a
}

func rhythmValues() []Assumption {
	memory := judged(ShellingToLaying, "From shelling to laying", 17, 11, 24, "days",
		"two to three weeks from ovulation to laying; keepers' pages say 15 to 25 and 21 to 35 days",
		"her own, then the herd's",
		"From ovulation to laying take about two to three weeks.")
	memory.Mark = incubation.FromMemory
	return []Assumption{
		common(SeasonOpens, "The season opens", 15, -20, 65, "day of the year", "the start of her own past years",
			"In the northern hemisphere the season mostly opens in mid-winter, in the southern half a year "+
				"later; some lay all year."),
		common(LookEarlier, "Look earlier than last year", 14, 7, 28, "days", "",
			"A female tends to open in the same month as last year; begin to look two weeks earlier."),
		common(CycleUnbred, "Between two cycles, unbred", 30, 21, 42, "days", "her own cycles, then the herd's",
			"About a month lies between two cycles of a female that is not bred."),
		common(PairingToClutch, "From the first pairing to the first clutch", 28, 15, 42, "days",
			"her own, then the herd's", "Two to six weeks pass from the first pairing to the first clutch."),
		common(FlushAfter, "Follicles go after a pairing", 7, 3, 14, "days", "",
			"Follicles that were large at the pairing flush within the week after it."),
		memory,
		common(GravidToLaying, "From white eggs to laying", 7, 1, 15, "days", "her own, then the herd's",
			"Opaque white eggs mean that laying is near."),
		judged(GravidTooLong, "White eggs for too long", 21, 14, 28, "days",
			"longer than all of the two to three weeks from ovulation to laying", "",
			"White eggs that have shown for three weeks are shown to a vet."),
		common(BetweenClutches, "Between two clutches", 21, 14, 28, "days", "her own intervals, then the herd's",
			"Two to four weeks lie between two clutches of a female that lays."),
		judged(PauseInLaying, "No interval but a pause", 45, 35, 60, "days",
			"more than twice the usual interval: a clutch was missed, or she paused", "",
			"Two layings more than 45 days apart teach nothing of her interval."),
		common(EggsPerClutch, "Eggs in a clutch", 2, 1, 2, "eggs", "the herd's own clutches",
			"Two eggs are the rule; a single one happens early and late in a season."),
		common(ClutchesInSeason, "Clutches in a season", 6, 3, 9, "clutches", "the herd's past seasons",
			"Most females lay five to eight times in a season."),
		common(AfterResorption, "After a resorption", 75, 30, 150, "days", "her own, then the herd's",
			"After follicles went back without eggs it may be months until the next."),
		judged(SpermKept, "Stored sperm", 365, 60, 460, "days",
			"keepers' and zoo pages say three clutches, 36 weeks, 12 and 15 months", "",
			"A pairing of this season or the last may have given a clutch its sire: none is needed for each."),
	}
}

func checkValues() []Assumption {
	return []Assumption{
		common(CheckInSeason, "Look again in the season", 7, 5, 10, "days", "",
			"In the season a belly is looked at every week."),
		common(CheckAtRest, "Look again out of the season", 30, 21, 45, "days", "",
			"Out of the season a look a month is enough; some lay all year."),
		common(SmallAgain, "Small follicles: look again", 5, 3, 7, "days", "",
			"Refusal while follicles are small is common: look again in some days."),
		common(CheckLarge, "Large follicles: look again", 4, 3, 7, "days", "",
			"Large follicles are looked at again within the week."),
		common(CheckAfterLaying, "After a laying: look again", 8, 6, 12, "days", "",
			"A week after a laying the next follicles may show."),
		judged(WeighEvery, "Weigh a female that breeds", 14, 10, 21, "days",
			"as often as a loss should be seen", "", "A female that breeds is weighed every two weeks."),
	}
}

func gateValues() []Assumption {
	const yours = "your own gates"
	return []Assumption{
		common(MinMonths, "Old enough to be paired", 12, 9, 24, "months", yours,
			"A female is not paired before she is a year old."),
		common(MinGrams, "Heavy enough to be paired", 45, 35, 55, "grams", yours,
			"A female is not paired under 45 g."),
		common(MaxLoss, "Too much weight lost", 0.15, 0.10, 0.20, "ratio", yours,
			"A female that lost 15 % of her heaviest weight this season rests."),
		common(MaxClutches, "Enough for one season", 7, 4, 9, "clutches", yours,
			"After seven clutches in a season a female is not paired again."),
		common(RestDays, "Left alone after an accepted pairing", 7, 3, 14, "days", yours,
			"After a pairing that was accepted she is left alone for a week."),
	}
}

func eggValues() []Assumption {
	hatch := judged(IncubationDays, "From laying to hatch", 55, 42, 72, "days",
		"about 50 to 60 days at 28 °C, fewer where it is warmer; only for eggs that have no estimate",
		"each egg's own estimate; the room's own hatches", "Eggs lie for six to ten weeks.")
	return []Assumption{
		common(CandleFrom, "Candle the first time", 10, 7, 14, "days", "",
			"From a week or two after the laying a cool light shows vessels."),
		common(CandleAgain, "Not sure: candle again", 7, 5, 10, "days", "",
			"Where the light left it open, it is used again a week later."),
		common(AirEvery, "Air a box", 7, 5, 10, "days", "",
			"A box of eggs is opened for a moment every week."),
		judged(WeighBoxEvery, "Weigh a box again", 14, 10, 21, "days",
			"as often as lost water should be seen", "", "A box that was weighed once is weighed every two weeks."),
		judged(HatchShare, "Eggs that hatch", 0.7, 0.45, 0.9, "ratio", "no figure was found", "the room's own eggs",
			"Of ten eggs laid about seven hatch."),
		hatch,
	}
}

// A Receptiveness is how many females accepted a male at a stage, as a paper
// gives it.
type Receptiveness struct {
	Stage incubation.Stage
	Size  string // of follicles: incubation.Small or Large; "" for the rest
	Share float64
	// Paper is the stage as the paper names it. That what shows through the
	// skin is that stage is judgement.
	Paper string
}

// RhenSource names the paper behind Receptivity.
const RhenSource = "Rhen, Sakata, Zeller, Crews 2000, Gen. Comp. Endocrinol. 118:322-331, abstract"

// Receptivity gives the published receptivity by stage, in the order of a
// cycle.
func Receptivity() []Receptiveness {
	return []Receptiveness{
		{Stage: incubation.Quiet, Share: 0, Paper: "previtellogenic"},
		{Stage: incubation.Follicular, Size: incubation.Small, Share: 0.2, Paper: "early vitellogenic"},
		{Stage: incubation.Follicular, Size: incubation.Large, Share: 0.8, Paper: "late vitellogenic"},
		{Stage: incubation.Shelling, Share: 0, Paper: "after ovulation"},
		{Stage: incubation.Gravid, Share: 0, Paper: "after ovulation"},
	}
}

// A Difference is where keepers' practice and a paper do not say the same.
type Difference struct {
	About    incubation.Stage
	Practice string
	Paper    string
	Source   string
}

// Differences gives them all; a page shows those about the stage it speaks of.
func Differences() []Difference {
	return []Difference{
		{
			About:    incubation.Follicular,
			Practice: "Keepers bring a male as soon as follicles show, and again every few days until she accepts.",
			Paper: "With small (early) follicles about one female in five was receptive, with large (late) ones " +
				"four in five.",
			Source: RhenSource,
		},
		{
			About:    incubation.Shelling,
			Practice: "Some keepers leave the male with her until eggs show.",
			Paper:    "After ovulation no female was receptive.",
			Source:   RhenSource,
		},
		{
			About:    incubation.Quiet,
			Practice: "Some keepers pair by the calendar, whatever the belly shows.",
			Paper:    "Without growing follicles no female was receptive.",
			Source:   RhenSource,
		},
	}
}
