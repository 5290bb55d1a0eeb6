package incubation

// Caution is said wherever an estimate is shown: on every page and in every
// file that leaves. The first half is a finding: no sexes of leopard geckos
// that hatched under swinging temperatures were found in print.
const Caution = "No sexes of this species under fluctuating temperature have been published; " +
	"the estimate is an extrapolation. Only looking at the animal tells its sex."

// Unpriced is said beside time outside the limits.
const Unpriced = "No published figure says what a spell of this length costs."

// Overdue is what to do about an egg past its window, in order. Common
// practice, no source.
const Overdue = "Look at it, and wait. " +
	"Candle it with a cool light, briefly, without turning it: vessels or movement mean that it " +
	"lives. Dark or clear, collapsed, mouldy or smelling, it has probably died. Unsure: wait, and " +
	"look again in a few days. Never cut it open, never pull a hatchling out."

// DueMatters is from where on the chance that eggs of a record have hatched
// by now is worth a word. Judgement.
const DueMatters = 0.05
