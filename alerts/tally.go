package alerts

import (
	"cmp"
	"maps"
	"slices"
	"time"
)

const (
	// Fleeting is ISA-18.2's word for an alarm that clears too fast for anybody
	// to act on it. The standard gives no time; two minutes is judgement: a
	// phone is not in the hand before.
	fleetingUnder = 2 * time.Minute
	// Chattering is its word for one that goes in and out repeatedly. Raised
	// three times within an hour is judgement: delays are minutes here, so three
	// in a minute, the rule of thumb of a control room, cannot happen.
	chatterWithin = time.Hour
	chatterTimes  = 3
	// standingOver is how long one must be told for to count as standing; the
	// standard calls that stale, which is a word for readings here.
	standingOver = 24 * time.Hour
	// A flood is more than ten in ten minutes.
	floodWithin = 10 * time.Minute
	floodOver   = 10
	// topMost is how many alerts the top contributors are.
	topMost = 10
)

// A Counted is how often something was told, and how.
type Counted struct {
	Raised       int
	Night        int // of them raised at night; see AtNight
	Acknowledged int
	Fleeting     int // ended before anybody could act; an event never does
	Chattering   int // raised three times or more within an hour, all of those
	Standing     int // told for more than 24 hours; notices are not counted
}

// A Tally is what was told in a stretch of time.
type Tally struct {
	From, To time.Time
	Counted
	Critical, Warning, Notice int
	Rules                     []RuleTally // most often raised first
	Top                       []Top       // at most ten, most often raised first
	Busiest                   int         // most raised in one stretch of ten minutes
	Floods                    int         // stretches of ten minutes with more than ten
	StandingMost              int         // most that were standing at one time
	Restless                  int         // fleeting or chattering, or both
}

// A RuleTally is one rule's part.
type RuleTally struct {
	Rule string
	Counted
}

// A Top is one alert's part.
type Top struct {
	Alert, Rule string
	Subject     Subject
	Raised      int
}

// Count tallies the occurrences raised in [from, to). Those that go on are
// taken as they are at to. zone is the room's; nil: UTC.
func Count(past []State, from, to time.Time, zone *time.Location) Tally {
	t := Tally{From: from, To: to}
	rules := map[string]*Counted{}
	events := map[string]bool{}
	for _, r := range Rules() {
		events[r.Code] = r.Event
	}
	past = within(past, from, to)
	chatters := chattering(past)
	for _, s := range past {
		one := Counted{
			Raised: 1, Night: ones(AtNight(s.Raised, zone)), Acknowledged: ones(!s.Acknowledged.IsZero()),
			Fleeting:   ones(!events[s.Rule] && s.fleeting()),
			Chattering: ones(chatters[s.Occurrence]),
			Standing:   ones(s.standing(to)),
		}
		if rules[s.Rule] == nil {
			rules[s.Rule] = &Counted{}
		}
		rules[s.Rule].add(one)
		t.add(one)
		t.Restless += max(one.Fleeting, one.Chattering)
		switch s.Severity {
		case Critical:
			t.Critical++
		case Warning:
			t.Warning++
		default:
			t.Notice++
		}
	}
	for rule, n := range rules {
		t.Rules = append(t.Rules, RuleTally{rule, *n})
	}
	slices.SortFunc(t.Rules, func(a, b RuleTally) int {
		return cmp.Or(cmp.Compare(b.Raised, a.Raised), cmp.Compare(a.Rule, b.Rule))
	})
	t.Top = top(past)
	t.Busiest, t.Floods = floods(past)
	t.StandingMost = standing(past, to)
	return t
}

// Of gives a rule's part; zero if it never spoke.
func (t Tally) Of(rule string) Counted {
	for _, r := range t.Rules {
		if r.Rule == rule {
			return r.Counted
		}
	}
	return Counted{}
}

// Days is how long the stretch is, at least one.
func (t Tally) Days() float64 { return max(1, t.To.Sub(t.From).Hours()/24) }

func (c *Counted) add(o Counted) {
	c.Raised += o.Raised
	c.Night += o.Night
	c.Acknowledged += o.Acknowledged
	c.Fleeting += o.Fleeting
	c.Chattering += o.Chattering
	c.Standing += o.Standing
}

func ones(is bool) int {
	if is {
		return 1
	}
	return 0
}

// within gives the occurrences raised in a stretch, each once, oldest first.
func within(past []State, from, to time.Time) []State {
	seen := map[string]bool{}
	var out []State
	for _, s := range past {
		if s.Raised.IsZero() || s.Raised.Before(from) || !s.Raised.Before(to) || seen[s.Occurrence] {
			continue
		}
		seen[s.Occurrence] = true
		out = append(out, s)
	}
	slices.SortStableFunc(out, func(a, b State) int { return a.Raised.Compare(b.Raised) })
	return out
}

// toldUntil is when an occurrence was told no longer, or now.
func (s State) toldUntil(now time.Time) time.Time {
	if s.Cleared.IsZero() {
		return now
	}
	return s.Cleared
}

// standing reports whether an alert that asks for something was told for more
// than a day.
func (s State) standing(now time.Time) bool {
	return s.Severity != Info && s.toldUntil(now).Sub(s.Raised) > standingOver
}

// fleeting reports whether what was told had gone before anybody could act.
func (s State) fleeting() bool {
	end := s.Ended
	if end.IsZero() {
		end = s.Cleared
	}
	return !end.IsZero() && end.Sub(s.Raised) < fleetingUnder
}

// chattering gives the occurrences of alerts that were raised several times
// within an hour.
func chattering(past []State) map[string]bool {
	out := map[string]bool{}
	for _, all := range byAlert(past) {
		for i := range all {
			j := i + chatterTimes - 1
			if j >= len(all) || all[j].Raised.Sub(all[i].Raised) > chatterWithin {
				continue
			}
			for _, s := range all[i : j+1] {
				out[s.Occurrence] = true
			}
		}
	}
	return out
}

func byAlert(past []State) map[string][]State {
	out := map[string][]State{}
	for _, s := range past {
		out[s.Alert] = append(out[s.Alert], s)
	}
	return out
}

func top(past []State) []Top {
	var out []Top
	for _, all := range byAlert(past) {
		last := all[len(all)-1]
		out = append(out, Top{last.Alert, last.Rule, last.Subject, len(all)})
	}
	slices.SortFunc(out, func(a, b Top) int {
		return cmp.Or(cmp.Compare(b.Raised, a.Raised), cmp.Compare(a.Alert, b.Alert))
	})
	return out[:min(len(out), topMost)]
}

// floods looks at stretches of ten minutes, one after the other.
func floods(past []State) (busiest, many int) {
	in := map[int64]int{}
	for _, s := range past {
		in[s.Raised.Unix()/int64(floodWithin/time.Second)]++
	}
	for n := range maps.Values(in) {
		busiest = max(busiest, n)
		many += ones(n > floodOver)
	}
	return busiest, many
}

// standing is how many were told for more than a day at one time.
func standing(past []State, to time.Time) int {
	type edge struct {
		at time.Time
		by int
	}
	var edges []edge
	for _, s := range past {
		if s.standing(to) {
			edges = append(edges, edge{s.Raised.Add(standingOver), 1}, edge{s.toldUntil(to), -1})
		}
	}
	slices.SortFunc(edges, func(a, b edge) int { return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.by, b.by)) })
	n, most := 0, 0
	for _, e := range edges {
		n += e.by
		most = max(most, n)
	}
	return most
}
