package web

import (
	"context"
	"iter"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/review"
)

// EggRules gives the limits that a clutch's record is held against: those of
// the rules about a place's temperature. That of off-setpoint is left out: it
// follows the estimate, and a smoothed value.
func EggRules() []review.Rule {
	var out []review.Rule
	for _, r := range alerts.Rules() {
		if r.About != alerts.PlaceSubject || r.Unit != "celsius" || r.Code == "off-setpoint" {
			continue
		}
		rule := review.Rule{
			Code: r.Code, Title: r.Title, FromSetpoint: r.Limit.Base == alerts.FromSetpoint,
			Own: review.OwnLimit(r.Limit.Book), OnlyOwn: r.Limit.Base == alerts.Own,
			Deadband: r.Deadband, OnDelay: r.OnDelay, Settles: r.Settles,
		}
		switch {
		case rule.OnlyOwn:
			rule.High = r.Limit.Book == alerts.HighCelsius
			out = append(out, rule)
			continue
		case r.Limit.Above != 0:
			rule.High, rule.Limit = true, r.Limit.Above
			out = append(out, rule)
		}
		if r.Limit.Below != 0 {
			rule.High, rule.Limit = false, r.Limit.Below
			out = append(out, rule)
		}
	}
	return out
}

// ReadFrom gives a history as a review reads it. Once ctx ends nothing more
// comes: whoever asked looks at ctx then.
func ReadFrom(ctx context.Context, h History) review.Readings {
	return func(probe string, from, to time.Time) iter.Seq2[incubation.Reading, error] {
		return func(yield func(incubation.Reading, error) bool) {
			for r, err := range h.Range(ctx, probe, from, to) {
				if ctx.Err() != nil || !yield(r, err) {
					return
				}
			}
		}
	}
}

// asked is a review of a clutch to be asked for, without estimates over time.
func (s *Server) asked(ctx context.Context, snap *monitor.Snapshot, clutch string) review.Asked {
	return AskFor(ctx, s.o, snap, clutch)
}

// AskFor is what a clutch's review is made from, as pages and files have it:
// of the options it takes History, Track, Zone and Profile. Course, which
// takes longest, is left to the caller.
func AskFor(ctx context.Context, o Options, snap *monitor.Snapshot, clutch string) review.Asked {
	a := review.Asked{
		Book: snap.Book, Clutch: clutch, Now: snap.Time, Zone: o.Zone, Rules: EggRules(),
		Interval: func(probe string) time.Duration { return intervalOf(snap, probe) },
		Accuracy: func(probe string) float64 { return accuracyOf(snap, probe) },
		Estimate: estimates(snap, clutch), Track: o.Track,
		Site: snap.Site, Species: o.Profile.Species,
	}
	if o.History != nil {
		a.Readings = ReadFrom(ctx, o.History)
	}
	return a
}

// estimates gives what the last tick says of a clutch's eggs.
func estimates(snap *monitor.Snapshot, clutch string) func(string) *incubation.Estimate {
	return func(egg string) *incubation.Estimate {
		if c := clutchOf(snap, clutch); c != nil {
			for _, e := range c.Eggs {
				if e.ID == egg {
					return e.Estimate
				}
			}
		}
		return nil
	}
}

// review makes a review; the error is that of ctx, or missing for a clutch
// that is not in the book.
func (s *Server) review(ctx context.Context, a review.Asked) (review.Review, error) {
	key, keep := keyOf(a)
	if r, ok := s.reviews.get(key); ok && keep {
		r.Made = a.Now.UTC()
		return r, nil
	}
	r, err := review.Of(a)
	if ctx.Err() != nil {
		return review.Review{}, ctx.Err()
	}
	if err != nil {
		return review.Review{}, missing{"clutch " + a.Clutch}
	}
	if keep {
		s.reviews.put(key, r)
	}
	return r, nil
}

// accuracyOf is how far a probe's maker says that it may be off, K; 0: not
// known.
func accuracyOf(snap *monitor.Snapshot, probe string) float64 {
	for _, p := range snap.Probes {
		if p.ID == probe {
			return p.Accuracy
		}
	}
	return 0
}
