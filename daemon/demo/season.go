package demo

import (
	"time"

	"clutchd/incubation"
)

// females of the invented room, and the enclosure each lives in.
var females = []struct{ id, name, pen string }{
	{"saffron", "Saffron", "1"},
	{"pumice", "Pumice", "1"},
	{"marzipan", "Marzipan", "1"},
	{"thistle", "Thistle", "2"},
	{"juniper", "Juniper", "2"},
	{"ember", "Ember", "2"},
	{"mica", "Mica", "3"},
	{"sorrel", "Sorrel", "3"},
	{"tansy", "Tansy", "3"},
	{"biscuit", "Biscuit", "4"},
	{"fennel", "Fennel", "4"},
	{"cricket", "Cricket", "4"},
}

// A clutch of the season, found so many days before the story's present.
type clutch struct {
	ago    float64
	female string
	since  time.Duration // from the last look to the find
	eggs   []fate
	note   string
	// mixed: the hatchlings were raised together, and counted by sex.
	mixed bool
}

// A fate is what becomes of an egg: the box it is set in, and what else is
// done or happens. When it hatches follows from how warm it lies.
type fate struct {
	box   string
	sex   string // of its hatchling; "": not known yet
	how   incubation.SexedHow
	moved string  // the box it is moved to
	day   float64 // the day of the move, or of the failure
	cause string  // it fails
	plan  bool    // the move was planned, and is still to come
}

// How long ago the keeper had looked.
const (
	glance  = 25 * time.Minute // seen digging, then eggs
	night   = 11 * time.Hour
	weekend = 47 * time.Hour
)

func both(f fate) []fate { return []fate{f, f} }

// season is what was laid, oldest first.
var season = []clutch{
	{
		ago: 109, female: "marzipan", since: night, note: "First of the season.",
		eggs: both(fate{box: "box-6", sex: incubation.Male, how: incubation.ByAnatomy}),
	},
	{
		ago: 106, female: "pumice", since: weekend, mixed: true,
		eggs: []fate{{box: "box-6", sex: incubation.Male}, {box: "box-6", sex: incubation.Female}},
	},
	{ago: 103, female: "saffron", since: night, eggs: []fate{{box: "box-6"}}},
	{ago: 94, female: "thistle", since: night, eggs: []fate{
		{box: "box-2", day: 16, cause: "collapsed, mould on the shell"},
		{box: "box-2", sex: incubation.Female, how: incubation.ByTemperature},
	}},
	{
		ago: 90, female: "juniper", since: weekend,
		eggs: []fate{{box: "box-2"}, {box: "box-6", sex: incubation.Male, how: incubation.AtHatch}},
		note: "One cool, one warm, to have a pair from her.",
	},
	{ago: 84, female: "ember", since: night, eggs: both(fate{box: "box-7", moved: "box-3", day: 20})},
	{ago: 80, female: "mica", since: night, eggs: both(fate{box: "box-3"})},
	{ago: 75, female: "saffron", since: glance, eggs: both(fate{box: "box-8"}), note: "Watched her cover them."},
	{ago: 69, female: "sorrel", since: weekend, eggs: both(fate{box: "box-3"})},
	{ago: 63, female: "pumice", since: night, eggs: both(fate{box: "box-4"})},
	{ago: 57, female: "tansy", since: night, eggs: both(fate{box: "box-4"})},
	{ago: 52, female: "biscuit", since: night, eggs: both(fate{box: "box-1"})},
	{
		ago: 46, female: "fennel", since: weekend, eggs: both(fate{box: "box-5"}),
		note: "No probe in this box: it goes by the cabinet's air.",
	},
	{
		ago: 30, female: "cricket", since: night,
		eggs: []fate{{box: "box-2"}, {box: "box-6"}},
		note: "Split between the cabinets.",
	},
	{ago: 24, female: "juniper", since: night, eggs: both(fate{box: "box-8"})},
	{
		ago: 12, female: "ember", since: night, eggs: both(fate{box: "box-7", moved: "box-3", day: 20, plan: true}),
		note: "32 to day 20, then 28, as in spring.",
	},
	{ago: 5, female: "mica", since: weekend, eggs: both(fate{box: "box-4"})},
	{ago: 1, female: "saffron", since: night, eggs: both(fate{box: "box-1"})},
}
