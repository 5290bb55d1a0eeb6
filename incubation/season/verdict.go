package season

// A Verdict says whether a female may be paired with a male now.
type Verdict struct {
	Female, Male string
	// Allowed: no gate stands in the way. It is not advice to pair: see Ready.
	Allowed bool
	// Ready: her last check showed follicles, lately enough.
	Ready bool
	Gates []Gate
	Kin   Kinship
	// Warnings do not forbid: close kin, unknown parents, unknown weight.
	Warnings []string
	// Receptive is the published share of receptive females at her stage; nil:
	// her stage is not one the paper gives.
	Receptive *float64
	Why       string // one sentence: what stands in the way, or that nothing does
}

// A Gate is one thing wanted of a pairing.
type Gate struct {
	Name string // a key of Assumptions, or "quarantine", "stage", "here", "sex", "age-class"
	Pass bool
	// Known is false where the book does not say what is asked; then Pass is
	// true and a warning says so.
	Known bool
	Yours bool // the keeper set it; else the starting value holds
	Says  string
}

// A Kinship is how two animals are related.
type Kinship struct {
	A, B string
	// Relationship is Wright's coefficient: the correlation of their breeding
	// values, 0.5 for parent and child or full siblings. Kinship is half of it
	// where neither is inbred: the inbreeding of their young.
	Relationship float64
	Inbreeding   float64 // of young that they would have
	// Unknown are forebears, up to grandparents, whom nobody wrote down: what
	// is not known counts as unrelated, so the true figure may be higher.
	Unknown int
	Close   bool   // closer than cousins: 0.125 and more
	Says    string // "half siblings (0.25)", "not known: no parents of Ember are in the book"
}

// A Parentage is who may be the sire of a clutch.
type Parentage struct {
	Clutch string
	Sires  []Possible // the likeliest first
	Says   string
}

// A Possible is a male that may be the sire.
type Possible struct {
	Male     string
	Pairings []Mating // newest first
	// Words is how likely, never a number: "likely", "possible", "unlikely".
	Words string
	Why   string
}

// A Mating is a pairing as a clutch sees it.
type Mating struct {
	Seq        uint64
	DaysBefore float64 // before the middle of the laying interval
	Seen       bool    // it was accepted; else nobody saw
	ThisSeason bool
}
