package command

import (
	"clutchd/incubation"
)

func (s *sheet) hatch(q inquiry, h incubation.HatchSpan) {
	given := ""
	if q.flags.unhatched {
		given = ", as they have not hatched yet"
	}
	switch {
	case h.Likely.IsZero():
		s.line("hatch", "not within a year as things stand")
		return
	case h.Overdue:
		s.line("hatch", "overdue; if they hatch, about %s (%s to %s): nobody knows how likely that is",
			h.Likely.Format(date), h.Earliest.Format(date), h.Latest.Format(date))
	case h.Latest.IsZero():
		s.line("hatch", "about %s, at the earliest %s%s; it may not come within a year",
			h.Likely.Format(date), h.Earliest.Format(date), given)
	default:
		s.line("hatch", "about %s, with %.0f %% from %s to %s%s", h.Likely.Format(date), 100*h.Probability,
			h.Earliest.Format(date), h.Latest.Format(date), given)
	}
	if !q.flags.unhatched && !h.Latest.IsZero() && h.Latest.Before(q.last()) {
		s.line("", "that window is over: if the eggs still lay there alive at the last row, say -unhatched")
	}
	if h.Due >= incubation.DueMatters {
		// Of a thousand members never all that lay anywhere.
		s.line("", "%s of such eggs have hatched by now", share(min(h.Due, 0.999)))
	}
	if h.Overdue {
		s.text("", incubation.Overdue+" (common practice, no source)")
	}
}
