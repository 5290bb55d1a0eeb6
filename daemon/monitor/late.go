package monitor

import (
	"context"
	"fmt"
	"slices"
	"time"

	"clutchd/incubation"
)

// importSpan is how much of a file's time is written at once: some two dozen
// syncs of a disk, a second or two on a slow card, so that neither alerts nor
// the keeper's entries wait for the end of a long file.
const importSpan = 24 * time.Hour

// Import brings readings of a probe, which are in order, into its history, and
// the eggs they speak for up to date with them. Readings of seconds that are
// stored already are replaced by themselves: a second import changes nothing,
// and one that failed midway is done again as a whole. Readings that are still
// to come are refused: after the next start they would make the clock look
// wrong.
func (m *Monitor) Import(ctx context.Context, probe string, readings []incubation.Reading) error {
	if len(readings) == 0 {
		return nil
	}
	s := spanOf(readings)
	if err := m.past(s); err != nil {
		return err
	}
	defer m.touched(probe, s)
	for len(readings) > 0 {
		end := readings[0].Time.Add(importSpan)
		n := slices.IndexFunc(readings, func(r incubation.Reading) bool { return !r.Time.Before(end) })
		if n < 0 {
			n = len(readings)
		}
		if err := m.importPart(ctx, readings[:n]); err != nil {
			return fmt.Errorf("import into probe %s: %w", probe, err)
		}
		readings = readings[n:]
	}
	return nil
}

func (m *Monitor) importPart(ctx context.Context, readings []incubation.Reading) error {
	written := m.commit.ask("import", func(ctx context.Context) error {
		return m.opt.Store.Append(ctx, readings)
	})
	select {
	case err := <-written:
		return err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// spanOf gives the span of readings in any order.
func spanOf(readings []incubation.Reading) span {
	s := span{from: readings[0].Time, to: readings[0].Time}
	for _, r := range readings {
		if r.Time.Before(s.from) {
			s.from = r.Time
		}
		s.to = later(s.to, r.Time)
	}
	s.to = s.to.Add(time.Second) // its end is not part of it
	return s
}

// past refuses a span that has not passed, or of which nobody knows.
func (m *Monitor) past(s span) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	switch {
	case !m.clock.trusted:
		return &Refusal{Field: "time", Text: "the clock is not set yet: " +
			"nobody can say whether these readings are of the past"}
	case s.to.After(m.clock.now.Add(time.Minute)):
		return &Refusal{Field: "time", Text: fmt.Sprintf(
			"a reading of %s has not come yet: check the time zone of the file",
			s.to.UTC().Format("2006-01-02 15:04 UTC"))}
	}
	return nil
}

// touched has the eggs replayed that a probe spoke for in a span.
func (m *Monitor) touched(probe string, s span) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for id, egg := range m.book.Eggs {
		if slices.Contains(speakers(m.book, egg, s), probe) {
			m.eggs.want(id)
		}
	}
}
