package handout

import "clutchd/incubation"

// A Sheet is for whoever looks after the room meanwhile.
type Sheet struct {
	Look  Look
	Paper Paper
	URL   string // of the room's page, absolute; "": no code is printed
	// Call is whom to call, a line each, in the keeper's own words; none: lines
	// to write on are printed.
	Call       []string
	Incubators []Cabinet
	Others     []Kept // enclosures and what else animals live in
	Alerts     []Meaning
}

// A Cabinet is an incubator and what stands in it.
type Cabinet struct {
	Name string
	Plan
	Boxes []Stands
}

// A Stands is a clutch's eggs in a box of an incubator. A box may hold eggs of
// several clutches, and a clutch lie in several boxes.
type Stands struct {
	Name  string // of the box
	Eggs  string // "Pepper A B"
	Hatch Window // of the first to hatch to the last
}

// A Kept is an enclosure and who lives there.
type Kept struct {
	Name, Holds string
	Low, High   *incubation.Celsius // its own limits; nil: none
}

// A Meaning is one alert that could come.
type Meaning struct {
	Title    string
	Severity string // "critical", "warning" or ""
	When     string // the condition, told
	First    string // what to do first
}
