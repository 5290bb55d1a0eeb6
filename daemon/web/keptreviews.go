package web

import (
	"sync"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/review"
)

// keptMost is how many reviews are kept at hand, liveKept for how long one of
// a clutch that goes on. Judgement: pages are opened again within minutes, and
// a minute is no more than a hair on a chart of weeks.
const (
	keptMost = 48
	liveKept = time.Minute
)

// A keptReviews keeps reviews that were made: of a clutch that is over the same is
// read and asked again each time. What is kept is not changed.
type keptReviews struct {
	mu   sync.Mutex
	made map[reviewKey]review.Review
}

// A reviewKey is all that a review depends on. An import of readings has the
// egg's estimate made anew, so that its place in memory tells of it.
type reviewKey struct {
	clutch, egg    string
	points         int
	series, course bool
	track          bool
	seq            uint64
	at             time.Time
	said           [6]*incubation.Estimate
}

// keyOf gives a review's key; false: it is a part of a record, or of more eggs
// than a key tells apart, and not kept.
func keyOf(a review.Asked) (reviewKey, bool) {
	k := reviewKey{
		clutch: a.Clutch, egg: a.Egg, points: a.Points, series: a.Series, course: a.Course,
		track: a.Track != nil, seq: a.Book.LastSeq, at: a.Now.Truncate(liveKept),
	}
	c := a.Book.Clutches[a.Clutch]
	if c == nil || len(c.Eggs) > len(k.said) || a.Estimate == nil || !a.From.IsZero() || !a.To.IsZero() {
		return k, false
	}
	over := true
	for i, e := range c.Eggs {
		over = over && !e.Live()
		k.said[i] = a.Estimate(e.ID)
		over = over && k.said[i] != nil
	}
	if over {
		k.at = time.Time{}
	}
	return k, true
}

func (s *keptReviews) get(k reviewKey) (review.Review, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	r, ok := s.made[k]
	return r, ok
}

// put keeps a review; when they are too many all are let go first.
func (s *keptReviews) put(k reviewKey, r review.Review) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.made == nil || len(s.made) >= keptMost {
		s.made = map[reviewKey]review.Review{}
	}
	s.made[k] = r
}
