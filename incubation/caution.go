package incubation

// Caution is said wherever an estimate is shown: on every page and in every
// file that leaves. The first half is a finding: no sexes of leopard geckos
// that hatched under swinging temperatures were found in print.
const Caution = "No sexes of this species under fluctuating temperature have been published; " +
	"the estimate is an extrapolation. Only looking at the animal tells its sex."

// Unpriced is said beside time outside the limits.
const Unpriced = "No published figure says what a spell of this length costs."
