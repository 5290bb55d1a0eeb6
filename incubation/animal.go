package incubation

import "time"

// An Animal is a gecko that the keeper knows by name or number.
type Animal struct {
	ID   string
	Name string
	// Sex is Male, Female or "" for not known.
	Sex string
	// Hatched is the day, month or year it hatched, as far as that is known:
	// "2023-05-14", "2023-05" or "2023"; "": not known.
	Hatched string
	// AgeClass is how old it looked when its hatching is not known.
	AgeClass  AgeClass
	Dam, Sire string // ids of its parents; "": not known
	Egg       string // id of the egg it hatched from, if that was here
	Note      string
	Since     time.Time // first written down
	// Stays says which enclosure it lived in and when. In order.
	Stays []Stay
	// Quarantine is until when it is kept apart; zero: it is not.
	Quarantine time.Time
	Weights    []Weight
	Checks     []Check
	Treatments []Treatment
	Photos     []Photo
	// Retired says why it no longer breeds or is no longer here; nil: it does.
	Retired *Retirement
}

// AgeClass is an age as it is seen.
type AgeClass string

// The classes of age.
const (
	Young    AgeClass = "young"
	Subadult AgeClass = "subadult"
	Adult    AgeClass = "adult"
)

// A Weight is one weighing. Seq is the entry it stands in.
type Weight struct {
	At    time.Time
	Seq   uint64
	Grams float64
}

// A Treatment is what was given or done to an animal, until a day if it goes on.
type Treatment struct {
	At    time.Time
	Seq   uint64
	What  string
	Until time.Time // zero: done once
}

// A Photo is a picture of an animal, kept under File.
type Photo struct {
	At   time.Time
	Seq  uint64
	File string
}

// A Retirement is the end of an animal's breeding, or of its time here.
type Retirement struct {
	At   time.Time
	Seq  uint64
	Why  Leaving
	Note string
}

// Leaving is why an animal no longer breeds here.
type Leaving string

// The reasons; only Resting leaves it in its enclosure as before.
const (
	Resting Leaving = "resting" // from breeding, for good or for a season
	Sold    Leaving = "sold"
	Given   Leaving = "given"
	Died    Leaving = "died"
)

// Here reports whether the animal still lives here.
func (a *Animal) Here() bool { return a.Retired == nil || a.Retired.Why == Resting }

// Breeds reports whether it lives here and is not at rest.
func (a *Animal) Breeds() bool { return a.Retired == nil }

// Last gives the newest check; nil: there is none.
func (a *Animal) Last() *Check {
	if len(a.Checks) == 0 {
		return nil
	}
	return &a.Checks[len(a.Checks)-1]
}
