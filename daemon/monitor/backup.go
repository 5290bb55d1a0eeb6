package monitor

import (
	"context"
	"time"
)

// backUp asks for a copy of the book: soon after the start, and then whenever
// one may be due. The store knows how old the newest is. Caller holds mu.
func (m *Monitor) backUp(now time.Time) {
	if !m.clock.trusted || m.quiet || now.Sub(m.backedUp) < time.Hour {
		return
	}
	m.backedUp = now
	m.commit.ask("backup", func(ctx context.Context) error {
		return m.opt.Store.Backup(ctx, now, backupEvery)
	})
}
