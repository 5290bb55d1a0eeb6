package web

import (
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"clutchd/incubation"
)

// A walk is one round as its address tells it: nothing of it is kept here, so
// that a reload loses nothing and two phones may share it. What was looked at
// stands in the book.
type walk struct {
	day     time.Time // its first midnight, in the room's zone
	rack    string    // "": all of them
	skip    []string  // animals passed over on this phone
	at      string    // who stands there; "": the next
	fromEnd bool      // this phone walks towards the other
}

// walkOf reads an address's query; a day that is none is today.
func (v *visit) walkOf(q url.Values) walk {
	w := walk{rack: q.Get("rack"), at: q.Get("at"), fromEnd: q.Get("from") == "end"}
	today := v.say.dayStart(v.snap.Time)
	now := v.say.in(v.snap.Time)
	day, err := time.ParseInLocation(time.DateOnly, q.Get("day"), now.Location())
	// One that was left open for longer than a night begins anew.
	if err != nil || day.After(today) || today.Sub(day) > 36*time.Hour {
		day = today
	}
	w.day = day
	for id := range strings.SplitSeq(q.Get("skip"), ",") {
		if id != "" && !slices.Contains(w.skip, id) {
			w.skip = append(w.skip, id)
		}
	}
	return w
}

// href is the address of the walk as it stands.
func (w walk) href() string {
	q := url.Values{"day": {w.day.Format(time.DateOnly)}}
	if w.rack != "" {
		q.Set("rack", w.rack)
	}
	if len(w.skip) > 0 {
		q.Set("skip", strings.Join(w.skip, ","))
	}
	if w.fromEnd {
		q.Set("from", "end")
	}
	if w.at != "" {
		q.Set("at", w.at)
	}
	return "/round?" + q.Encode()
}

// past is the walk with one more animal passed over.
func (w walk) past(id string) walk {
	w.at, w.skip = "", append(slices.Clone(w.skip), id)
	return w
}

// standing is the walk with somebody standing there, whoever would be next.
func (w walk) standing(id string) walk {
	w.at = id
	return w
}

// A stand is where a walk has got to.
type stand struct {
	turns    []turn
	here     *turn  // nil: all were looked at or passed over
	done     int    // looked at since the day began
	passed   []turn // passed over and not looked at
	upcoming *turn  // who comes behind her
}

// stand looks up where a walk has got to.
func (v *visit) stand(w walk) stand {
	s := stand{turns: v.turns(w.rack)}
	order := slices.Clone(s.turns)
	if w.fromEnd {
		slices.Reverse(order)
	}
	var open []turn
	for _, t := range order {
		switch {
		case t.seenSince(w.day) != nil:
			s.done++
		case slices.Contains(w.skip, t.animal.ID):
			s.passed = append(s.passed, t)
		default:
			open = append(open, t)
		}
	}
	for i, t := range order {
		if t.animal.ID == w.at {
			s.here = &order[i]
		}
	}
	if s.here == nil && len(open) > 0 {
		s.here, open = &open[0], open[1:]
	}
	for i, t := range open {
		if s.here != nil && t.animal.ID != s.here.animal.ID {
			s.upcoming = &open[i]
			break
		}
	}
	return s
}

// tally counts what was seen in a round, by stage, in the order of a cycle.
func (s stand) tally(since time.Time) []fact {
	counts := map[incubation.Stage]int{}
	for _, t := range s.turns {
		if c := t.seenSince(since); c != nil {
			counts[c.Stage]++
		}
	}
	var out []fact
	for _, stage := range []incubation.Stage{
		incubation.Quiet, incubation.Follicular, incubation.Shelling, incubation.Gravid, incubation.Laid,
		incubation.Resorbed, incubation.Unsure,
	} {
		if counts[stage] > 0 {
			out = append(out, fact{capital(stageWord(stage)), strconv.Itoa(counts[stage])})
		}
	}
	return out
}
