package monitor

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"clutchd/alerts"
)

// logPast hands on what the log of past occurrences is to say of a state that
// has changed: none of one that was never told.
func logPast(s alerts.State) []alerts.State {
	if past, ok := s.AsPast(); ok {
		return []alerts.State{past}
	}
	return nil
}

// dropOld has the log forget what is older than it keeps, once a day. A clock
// that may be wrong drops nothing. Caller holds mu.
func (m *Monitor) dropOld(now time.Time) {
	if !m.clock.trusted || m.quiet || now.Sub(m.droppedOld) < 24*time.Hour {
		return
	}
	m.droppedOld = now
	m.commit.told(nil, alerts.Changes{DropPast: now.AddDate(0, -alerts.KeptPast, 0)})
}

// Past gives the occurrences raised in [from, to) as they last were, told of
// still or over, in order of when they were raised; what waits for the disk
// is among them. It reads the disk: it is for a page, never for the tick.
func (m *Monitor) Past(ctx context.Context, from, to time.Time) ([]alerts.State, error) {
	waits := m.commit.pastWaiting() // first: what is written meanwhile is then in both
	stored, err := m.opt.Store.Past(ctx, from, to)
	if err != nil {
		return nil, fmt.Errorf("read past alerts: %w", err)
	}
	all := map[string]alerts.State{}
	for _, s := range stored {
		all[s.Occurrence] = s
	}
	maps.Copy(all, waits)
	out := slices.DeleteFunc(slices.Collect(maps.Values(all)), func(s alerts.State) bool {
		return s.Raised.Before(from) || !s.Raised.Before(to)
	})
	slices.SortFunc(out, func(a, b alerts.State) int {
		return cmp.Or(a.Raised.Compare(b.Raised), cmp.Compare(a.Occurrence, b.Occurrence))
	})
	return out, nil
}
