package incubation

import "time"

// An Estimate is what the record says of one egg. Probabilities and shares are
// ratios 0 to 1; low and high are the 5 % and 95 % points of the ensemble.
// Times are rounded up to the minute. It is one egg's object in
// /api/clutches/{id}.
type Estimate struct {
	Development Span `json:"development"`
	TSP         TSP  `json:"tsp"`
	// CTE is absent until the TSP has opened, unless a plan tells it.
	CTE   *CTE      `json:"cte_celsius,omitempty"`
	Sex   Sex       `json:"sex"`
	Hatch HatchSpan `json:"hatch"`
	Basis Basis     `json:"basis"`
	// Harm is absent while nothing was read outside the species' limits.
	Harm        *Harm  `json:"harm,omitempty"`
	HoldFromNow []Hold `json:"hold_from_now,omitempty"`
}

// A Span is a fraction with its interval.
type Span struct {
	Fraction float64 `json:"fraction"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
}

// TSPState says where development stands to the temperature-sensitive period.
type TSPState string

// The states of the TSP, by the ensemble's median.
const (
	TSPBefore TSPState = "before"
	TSPOpen   TSPState = "open"
	TSPClosed TSPState = "closed"
)

// TSP is the stretch of development in which temperature sets sex.
type TSP struct {
	State TSPState `json:"state"`
	Done  float64  `json:"done"` // share of the TSP's development that lies behind
	// Opens and Closes are the ensemble's medians, past or to come. Absent:
	// not within a year as things stand.
	Opens  time.Time `json:"opens,omitzero"`
	Closes time.Time `json:"closes,omitzero"`
	// LastChange is the last time at which a change of temperature, held from
	// then on, still moves the estimate by ten points, by its early edge: 19 of
	// 20 members of the ensemble that can be moved at all still are. Absent:
	// not asked for, or no change matters any more.
	LastChange time.Time `json:"last_change,omitzero"`
}

// CTE is the constant temperature with the same effect on sex.
type CTE struct {
	Value Celsius `json:"value"`
	Low   Celsius `json:"low"`
	High  Celsius `json:"high"`
}

// Sex is the chance of a male, with words that follow the interval. The chance
// is for an egg of an average clutch; that clutches differ shows in males.
type Sex struct {
	MaleProbability float64 `json:"male_probability"`
	Low             float64 `json:"low"`
	High            float64 `json:"high"`
	Words           string  `json:"words,omitempty"` // absent from what is only compared
}

// HatchSpan is the hatch window: earliest and latest likely hatch and the
// probability that the hatch lies between them. A time is absent where it does
// not come within a year as things stand.
type HatchSpan struct {
	Earliest    time.Time `json:"earliest,omitzero"`
	Likely      time.Time `json:"likely,omitzero"`
	Latest      time.Time `json:"latest,omitzero"`
	Probability float64   `json:"probability"` // 0 when overdue: nobody knows
	// Due is the chance that an egg of this record has hatched by now, whatever
	// is known of this one.
	Due float64 `json:"due"`
	// Overdue says that the window has passed and nobody has seen a hatch; the
	// times are then a guess from now on.
	Overdue bool `json:"overdue,omitempty"`
}

// Basis says what the sex estimate rests on, as shares of the TSP's
// development: measured, filled across a gap, and still to come. They add to 1.
type Basis struct {
	Measured  float64 `json:"measured"`
	Gap       float64 `json:"gap"`
	Projected float64 `json:"projected"`
}

// A Hold is the estimate if the egg were kept at one temperature from now on.
type Hold struct {
	Celsius         Celsius   `json:"celsius"`
	MaleProbability float64   `json:"male_probability"`
	Low             float64   `json:"low"`
	High            float64   `json:"high"`
	HatchLikely     time.Time `json:"hatch_likely,omitzero"`
}

// An Outcome is what a plan would give.
type Outcome struct {
	Sex   Sex       `json:"sex"` // without words
	Hatch HatchSpan `json:"hatch"`
}
