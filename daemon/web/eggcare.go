package web

// What keepers hold to with eggs, a sentence each: common practice, no source.
// Pages that show one say so beside it.
const (
	careMarked   = "Mark the top of an egg before you lift it, and never turn it after its first day."
	careStuck    = "Eggs that stick to each other stay so: never pull them apart."
	careMould    = "An egg is never thrown out for mould alone: look again in days, and keep it apart if the mould spreads."
	careDents    = "Dents early on mean that it is dry: add water to the substrate beside the egg, never on it."
	careWet      = "Drops on the shell, or a soggy substrate: air the box and let it dry."
	careCandled  = "Candle with a cool light, briefly, the egg as it lies, not turned."
	carePipped   = "Pipped: never cut the shell, never pull the hatchling out, and least of all off its yolk. It may rest in the shell for a day or two."
	careSmell    = "It is surely dead only when it smells, has collapsed or leaks."
	careDentLate = "Dents in the last days before the hatch are usual."
)

// practice is what stands behind them.
const practice = " (Common practice, no source.)"

var eggCare = []string{
	careMarked, careStuck, careCandled, careDents, careDentLate, careWet, careMould, careSmell, carePipped,
}
