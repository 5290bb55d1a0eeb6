// Package review gathers what is known of a clutch, from the laying to what
// became of its eggs, into one value: what a page, a sheet of paper or a file
// about the clutch is made from.
//
// It is pure and makes no page: words for people stand in Said and Cautions,
// everything else is numbers. Temperatures are °C, differences K, shares
// ratios 0 to 1, masses grams, lengths of time seconds or days as the name
// says, times UTC (RFC 3339 in JSON); Zone says in which zone its days are
// counted. A JSON of it carries Schema; a field is never given another
// meaning under the same number.
package review

import (
	"time"

	"clutchd/incubation"
)

// Schema is the number of this shape.
const Schema = 1

// A Review is a clutch from the laying to the time it was made.
type Review struct {
	Schema  int       `json:"schema"`
	Site    string    `json:"site,omitempty"` // the room's name
	Clutch  string    `json:"clutch"`
	Species string    `json:"species,omitempty"` // scientific name
	Made    time.Time `json:"made"`
	Zone    string    `json:"zone"` // IANA name: a day of it begins at its midnight
	// Over: no egg of the clutch lives any more.
	Over  bool   `json:"over"`
	Dam   Animal `json:"dam"`
	Sires []Sire `json:"possible_sires"`
	Laid  Laid   `json:"laid"`
	Eggs  []Egg  `json:"eggs"` // in the order of their marks
	// Records are what the eggs lay at. Eggs that always lay together share one:
	// Egg.Record is an index into these.
	Records []Record `json:"records"`
	// Mixed are hatchlings sexed without knowing their eggs; nil: none.
	Mixed *Mixed `json:"mixed,omitempty"`
	// Said is what a reader must know to take the numbers for what they are,
	// Cautions what holds of every estimate. Whole sentences, no temperatures.
	Said     []string `json:"said"`
	Cautions []string `json:"cautions"`
}

// An Animal is one of the herd, as the book has it.
type Animal struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	// Hatched is a year, a month or a day: "2023", "2023-05", "2023-05-14"; "":
	// not known.
	Hatched  string `json:"hatched,omitempty"`
	AgeClass string `json:"age_class,omitempty"` // "young", "subadult" or "adult"
	Dam      string `json:"dam,omitempty"`       // name or id
	Sire     string `json:"sire,omitempty"`      // name or id
	// Weights are the weighings from half a year before the laying to two months
	// behind it.
	Weights []Weight `json:"weights"`
}

// A Sire is a male that the dam was with before the laying. She may store
// sperm: the latest is not always the father.
type Sire struct {
	Animal
	Paired  time.Time            `json:"paired"`  // the latest time
	Outcome incubation.Reception `json:"outcome"` // of that time: "accepted" or "unseen"
	Times   int                  `json:"times"`   // how often within SpermKeeps
	// DaysBefore the middle of the laying.
	DaysBefore float64 `json:"days_before"`
}

// Laid is the laying: some time between the last look that found nothing and
// the look that found the eggs.
type Laid struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
	// Day is the date of the middle of the interval in the room's zone.
	Day   string `json:"day"`
	Place string `json:"place,omitempty"` // name of where they were laid
}

// Middle is day 0.
func (l Laid) Middle() time.Time { return l.From.Add(l.To.Sub(l.From) / 2) }

// DayOf is how many days after the middle of the laying t is.
func (l Laid) DayOf(t time.Time) float64 { return t.Sub(l.Middle()).Hours() / 24 }

// Mixed are animals of which nobody knows any more which egg each came from.
type Mixed struct {
	Males   int       `json:"males"`
	Females int       `json:"females"`
	At      time.Time `json:"at"`
	// How is incubation.ByAnatomy or incubation.ByTemperature.
	How incubation.SexedHow `json:"how"`
}

// A Weight is one weighing.
type Weight struct {
	Time  time.Time `json:"time"`
	Grams float64   `json:"grams"`
}

// Egg gives the egg with that mark, nil if there is none.
func (r *Review) Egg(mark string) *Egg {
	for i := range r.Eggs {
		if r.Eggs[i].Mark == mark {
			return &r.Eggs[i]
		}
	}
	return nil
}
