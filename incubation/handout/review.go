package handout

import "clutchd/incubation/review"

// A Review is the review of a clutch on paper: told by the caller in the words
// of its pages, with the numbers behind them for the charts.
type Review struct {
	Look  Look
	Paper Paper
	URL   string // of the clutch's page, absolute; "": no code is printed
	Of    review.Review

	Title    string
	About    string // one line: room, species, day
	Note     string // what must be known before anything else; may be empty
	Facts    []Fact // of the clutch: dam, possible sires, laying
	Marks    []string
	Rows     []Row // of the eggs, a cell for each of Marks
	Lain     []Lain
	Courses  []Course
	Written  []Line
	Said     []string // how to read it
	Cautions []string
}

// A Fact is something known under a name.
type Fact struct{ Name, Text string }

// A Row is one fact of every egg; Alike is what holds of all, "" if they
// differ.
type Row struct {
	Name  string
	Cells []string
	Alike string
}

// A Lain tells one of Of.Records, under the same index.
type Lain struct {
	Title      string
	Sums       string // lowest, mean, highest
	Excursions []Excursion
	More       string // what is not listed; may be empty
	Stays      []Line
	Probes     []Line
	Gaps       []Line
}

// An Excursion is a stretch outside a limit.
type Excursion struct{ When, Lasted, Worst, Limit string }

// A Line is something with when it was.
type Line struct{ When, What, Note string }

// A Course is how the estimate went for an egg of Of.Eggs, and for those that
// were told the same on the way.
type Course struct {
	Title string
	Egg   int   // index into Of.Eggs: whose course is drawn
	Ends  []int // indexes of all the eggs whose end is marked
}
