package review

import (
	"time"

	"clutchd/incubation"
)

// An Egg is one egg of the clutch and what became of it.
type Egg struct {
	ID     string              `json:"id"`
	Mark   string              `json:"mark"`
	State  incubation.EggState `json:"state"`
	Record int                 `json:"record"` // index into Review.Records
	// Pipped is when the shell was first seen open, Ended when it hatched or
	// was given up; absent: not written down, or not yet.
	Pipped  time.Time `json:"pipped,omitzero"`
	Ended   time.Time `json:"ended,omitzero"`
	AliveAt time.Time `json:"alive_at,omitzero"` // last seen alive before that
	Days    float64   `json:"days"`              // from the middle of the laying to Ended or Made
	Cause   string    `json:"cause,omitempty"`   // why it failed
	// Sex is of its hatchling: "male", "female" or absent. SexHow says how it
	// was told; "temperature" is no sexing.
	Sex     string              `json:"sex,omitempty"`
	SexHow  incubation.SexedHow `json:"sex_how,omitempty"`
	SexTime time.Time           `json:"sex_time,omitzero"`

	// Estimate is what the whole record said at the end, or says now; nil: there
	// is none. Of an egg that ended it is made without what came of it.
	Estimate *incubation.Estimate `json:"estimate,omitempty"`
	// TSP is when the temperature-sensitive period opened and closed, each with
	// its 5 % and 95 % points; nil: not known.
	TSP *TSPSpan `json:"tsp_span,omitempty"`
	// Course is what would have been said on the way, from the readings up to
	// each time and the plan in force then; in order. The last is Estimate's.
	Course []Forecast `json:"course"`
	// Against is the hatch held against Estimate; nil: it did not hatch, or
	// there is none.
	Against *Against `json:"against,omitempty"`
	// Doubts are how much surer the estimate would be without each doubt, the
	// weightiest first; those that would narrow nothing are left out.
	Doubts []Doubt `json:"doubts"`

	Candlings []Candling `json:"candlings"`
	Looks     []Look     `json:"looks"`
	Weights   []Weight   `json:"weights"` // of the egg
	// Young are the weights of the hatchling, from the day it hatched on.
	Young      []Weight    `json:"hatchling_weights"`
	Milestones []Milestone `json:"milestones"`
}

// Live reports whether the egg can still hatch.
func (e *Egg) Live() bool {
	return e.State == incubation.Incubating || e.State == incubation.Pipped
}

// A TSPSpan is the temperature-sensitive period with its band.
type TSPSpan struct {
	Opens  TimeSpan `json:"opens"`
	Closes TimeSpan `json:"closes"`
}

// A TimeSpan is a time with its 5 % and 95 % points; a zero one does not come
// within a year as things stand.
type TimeSpan struct {
	Likely time.Time `json:"likely,omitzero"`
	Low    time.Time `json:"low,omitzero"`
	High   time.Time `json:"high,omitzero"`
}

// A Forecast is what would have been said of an egg at a time.
type Forecast struct {
	Time        time.Time            `json:"time"`
	Day         float64              `json:"day"` // after the middle of the laying
	Development incubation.Span      `json:"development"`
	Male        float64              `json:"male_probability"`
	Low         float64              `json:"male_low"`
	High        float64              `json:"male_high"`
	Words       string               `json:"words"`
	Hatch       incubation.HatchSpan `json:"hatch"`
	Basis       incubation.Basis     `json:"basis"`
}

// Against is a hatch held against the estimate.
type Against struct {
	// LateDays is how many days after the likeliest time it was found; below 0:
	// before. CalendarDays is the same by the room's calendar, whole days.
	LateDays     float64 `json:"late_days"`
	CalendarDays int     `json:"calendar_days"`
	Inside       bool    `json:"inside"` // by the calendar, within the window
	// Male is the chance that was said of a male.
	Male float64 `json:"male_probability"`
	// Sex and How are as seen on the animal; absent: it was not looked at.
	Sex string              `json:"sex,omitempty"`
	How incubation.SexedHow `json:"how,omitempty"`
	// Expected is the chance that was said of the sex that came; 0: not seen.
	Expected float64 `json:"expected,omitzero"`
}

// A Doubt is one reason why an estimate is not surer: how many of a hundred
// points its sex interval, and how many days its hatch window, would be
// narrower without it.
type Doubt struct {
	Without incubation.Doubt `json:"without"`
	Points  float64          `json:"sex_points"`
	Days    float64          `json:"hatch_days"`
}

// A Candling is what the light showed.
type Candling struct {
	Time  time.Time `json:"time"`
	Seen  string    `json:"seen"`            // "alive", "unsure" or "dead"
	Shows string    `json:"shows,omitempty"` // "veins", "ring", "clear" or "dark"
}

// A Look is how an egg, or a box, was found.
type Look struct {
	Time  time.Time `json:"time"`
	Dents string    `json:"dents,omitempty"` // "slight" or "deep"
	Wet   bool      `json:"wet,omitzero"`
	Mould bool      `json:"mould,omitzero"`
	Aired bool      `json:"aired,omitzero"` // the lid was lifted
	Note  string    `json:"note,omitempty"`
}

// A Milestone is a first of a hatchling.
type Milestone struct {
	Time time.Time `json:"time"`
	What string    `json:"what"` // "yolk" taken in, first "shed", first "meal"
	Days float64   `json:"days"` // since it hatched
}
