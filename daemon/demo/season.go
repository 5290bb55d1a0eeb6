package demo

import "time"

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
}

// A fate is what becomes of an egg: the box it is set in, and what else is
// done or happens. When it hatches follows from how warm it lies.
type fate struct {
	box   string
	sex   string  // as seen on the hatchling; "": not known
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
	{106, "saffron", night, []fate{{box: "box-1", sex: "female"}}, "First of the season, one egg."},
	{103, "pumice", weekend, both(fate{box: "box-1", sex: "female"}), ""},
	{99, "marzipan", night, both(fate{box: "box-6", sex: "male"}), ""},
	{94, "thistle", night, []fate{
		{box: "box-2", day: 16, cause: "collapsed, mould on the shell"},
		{box: "box-2"},
	}, ""},
	{
		90, "juniper", weekend,
		[]fate{{box: "box-2"}, {box: "box-6", sex: "male"}},
		"One cool, one warm, to have a pair from her.",
	},
	{84, "ember", night, both(fate{box: "box-7", moved: "box-3", day: 20}), ""},
	{80, "mica", night, both(fate{box: "box-3"}), ""},
	{75, "saffron", glance, both(fate{box: "box-8"}), "Watched her cover them."},
	{69, "sorrel", weekend, both(fate{box: "box-3"}), ""},
	{63, "pumice", night, both(fate{box: "box-4"}), ""},
	{57, "tansy", night, both(fate{box: "box-4"}), ""},
	{52, "biscuit", night, both(fate{box: "box-1"}), ""},
	{
		46, "fennel", weekend, both(fate{box: "box-5"}),
		"No probe in this box: it goes by the cabinet's air.",
	},
	{
		30, "cricket", night,
		[]fate{{box: "box-2"}, {box: "box-6"}},
		"Split between the cabinets.",
	},
	{24, "juniper", night, both(fate{box: "box-8"}), ""},
	{
		12, "ember", night, both(fate{box: "box-7", moved: "box-3", day: 20, plan: true}),
		"32 to day 20, then 28, as in spring.",
	},
	{5, "mica", weekend, both(fate{box: "box-4"}), ""},
	{1, "saffron", night, both(fate{box: "box-1"}), ""},
}
