package incubation

import "time"

// A Wish is the sex that a keeper wants of an egg.
type Wish string

// The wishes.
const (
	AnySex     Wish = "any"
	WantFemale Wish = "female"
	WantMale   Wish = "male"
)

// odds is the chance of the wanted sex by the edge of the interval that
// speaks against it: what is sure, not what is hoped. 0 without a wish.
func (w Wish) odds(s Sex) float64 {
	switch w {
	case WantMale:
		return s.Low
	case WantFemale:
		return 1 - s.High
	}
	return 0
}

// chance is that of the wanted sex, not by an edge; 0 without a wish.
func (w Wish) chance(s Sex) float64 {
	switch w {
	case WantMale:
		return s.MaleProbability
	case WantFemale:
		return 1 - s.MaleProbability
	}
	return 0
}

// A Spot is a place that an egg could lie in.
type Spot struct {
	Place string
	// Course is the temperatures to come there, in order of From, the first
	// from the time asked at on. Empty: as in the egg's last day, which is of
	// use for the place that it lies in only.
	Course []Step
}

// A Choice is what a keeper has to choose from.
type Choice struct {
	Want Wish
	// Home is the place that the egg lies in; "": none yet. If it is not among
	// the spots, it is taken to go on as in the egg's last day.
	Home  string
	Spots []Spot
}

// A Reason says why a proposal is on the list.
type Reason string

// The reasons, the first that is true.
const (
	ForOdds    Reason = "best"    // none gives the wanted sex better odds
	ForStaying Reason = "stay"    // what doing nothing gives
	ForMoves   Reason = "fewer"   // fewer moves than any above it
	ForWaiting Reason = "wait"    // nothing is to be done before a later day
	ForAnother Reason = "another" // another place, should one above it be full
	ForShowing Reason = "show"    // no sex is wanted: what this place gives
)

// A Proposal is where an egg could lie from now on, and what that would give.
type Proposal struct {
	Stays []Stay // in order, the first from the time asked at; the last has no end
	Steps []Step // the temperatures that makes
	Moves int
	// Odds are of the wanted sex by the edge of the interval against it, in
	// whole percents, and Behind how far they lie under the first proposal's; 0
	// without a wish.
	Odds, Behind float64
	chance       float64 // of the wanted sex
	Why          Reason
	Warnings     []Warning
	Outcome
}

// A LeftOut is a place that no proposal moves the egg to.
type LeftOut struct {
	Place string
	Why   Warning // "": it is as warm as another
	As    string  // that one
}

// Proposals are the answer to a choice.
type Proposals struct {
	Answer // as the book has it now
	Want   Wish
	// List has the best odds first; of equal ones the best chance, then the
	// fewest moves, then the earliest hatch. Staying is always on it. Empty: nothing is known to go by.
	List    []Proposal
	LeftOut []LeftOut
}

const (
	// sameOdds is how near to each other odds are no reason for a move: under
	// what the paper's eggs can tell. Judgement.
	sameOdds = 0.02
	// mostProposals is how long the list is: what a person compares. Judgement.
	mostProposals = 6
)

// Propose makes plans of the choice, asks the track about all of them and
// gives the few that are worth a look. Days of a change are at noon by the
// zone of the question's Now. It does not change the track.
func (t *Track) Propose(q Question, c Choice) Proposals {
	q.Holds = true
	out := Proposals{Want: c.Want, Answer: t.Ask(q)}
	p := newPlanner(t.ensemble.Profile.Limits, c)
	out.LeftOut = p.leftOut
	if out.TSP.State == "" && len(p.spots) > 0 && len(p.spots[0].Course) > 0 {
		q.Plan = p.spots[0].Course // neither a record nor a plan: the first place stands in
		out.Answer = t.Ask(q)
	}
	if out.TSP.State == "" {
		return out
	}
	all := p.candidates(q.Now, changeDays(q.Now, out.TSP))
	plans := make([][]Step, len(all))
	for i := range all {
		plans[i] = all[i].Steps
	}
	q.Holds = false
	for i, o := range t.Ask(q, plans...).Plans {
		all[i].Outcome = o
		all[i].Odds, all[i].chance = points(c.Want.odds(o.Sex)), c.Want.chance(o.Sex)
		all[i].Warnings = t.ensemble.Profile.Limits.Warn(all[i].Steps)
	}
	out.List = c.Want.shortlist(all)
	return out
}

// changeDays are days on which a change may be planned: noons from tomorrow to
// half as long again as the TSP goes on as things stand, at most six of them.
// None once it has closed.
func changeDays(now time.Time, tsp TSP) []time.Time {
	const most, longest, whenNever = 6, 60, 40
	if tsp.State == TSPClosed {
		return nil
	}
	days := whenNever
	if !tsp.Closes.IsZero() {
		days = int(tsp.Closes.Sub(now).Hours() / 24 * 1.5)
	}
	days = min(max(days, 1), longest)
	step := (days + most - 1) / most
	var out []time.Time
	for d := step; d <= days; d += step {
		out = append(out, time.Date(now.Year(), now.Month(), now.Day()+d, 12, 0, 0, 0, now.Location()))
	}
	return out
}

// Profile gives the species that an answer is about; the zero one if nothing
// was asked.
func (a Answer) Profile() Profile {
	if a.ensemble == nil {
		return Profile{}
	}
	return a.ensemble.Profile
}
