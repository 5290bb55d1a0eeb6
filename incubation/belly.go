package incubation

import "time"

// Stage is what shows through the skin of a female's belly.
type Stage string

// The stages of a check, in the order of a cycle.
const (
	Quiet      Stage = "quiet"      // nothing but fat pads
	Follicular Stage = "follicular" // vascular, pink, left and right at different levels
	Shelling   Stage = "shelling"   // after ovulation: shells form
	Gravid     Stage = "gravid"     // two opaque white eggs as a rule
	Laid       Stage = "laid"       // she was gravid and is no longer
	Resorbed   Stage = "resorbed"   // follicles that went back without eggs
	Unsure     Stage = "unsure"
)

// Sides says on how many sides follicles are seen; Size how large they are.
const (
	NoSide   = "none"
	OneSide  = "one"
	BothSide = "both"

	Small = "small"
	Large = "large"
)

// Sign is what else was seen at a check; some are a vet's matter.
type Sign string

// The signs.
const (
	Straining Sign = "straining"
	Weak      Sign = "weak"
	Thin      Sign = "thin"
	RedBelly  Sign = "red-belly" // a burn looks so too
	Digging   Sign = "digging"
	NotEating Sign = "not-eating"
)

// A Check is one look at a female's belly. Seq is the entry it stands in.
type Check struct {
	At    time.Time
	Seq   uint64
	Stage Stage
	Sides string // NoSide, OneSide, BothSide, "" for not noted
	Size  string // Small, Large, "" for not noted
	Signs []Sign
	Note  string
}

// Reception is how a pairing went.
type Reception string

// The outcomes of a pairing.
const (
	Accepted Reception = "accepted" // a mating was seen
	Refused  Reception = "refused"
	Unseen   Reception = "unseen" // they were together and nobody saw what came of it
)

// A Pairing is a female and a male brought together.
type Pairing struct {
	At           time.Time
	Seq          uint64
	Female, Male string
	Outcome      Reception
	Until        time.Time // taken apart; zero: the same day
	Note         string
}
