package proof_test

import (
	"context"
	"sync"

	"golang.org/x/sys/unix"

	"clutchd/incubation"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation/book"
)

// A disk is the real store until it is full: then its writes answer what the
// kernel does. It is the one fault here that is not bytes, since a full
// filesystem cannot be had without being root.
type disk struct {
	monitor.Store
	mu   sync.Mutex
	full bool
}

func (d *disk) fill(full bool) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.full = full
}

func (d *disk) err() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.full {
		return unix.ENOSPC
	}
	return nil
}

func (d *disk) CommitBook(ctx context.Context, entries []book.Entry, c alerts.Changes) error {
	if err := d.err(); err != nil {
		return err
	}
	return d.Store.CommitBook(ctx, entries, c)
}

func (d *disk) Append(ctx context.Context, rs []incubation.Reading) error {
	if err := d.err(); err != nil {
		return err
	}
	return d.Store.Append(ctx, rs)
}
