package monitor

import (
	"context"
	"iter"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors"
)

// A Sampler gives what the probes said since it was last asked.
//
// Sample must not wait for a sensor: it returns what has arrived, each outcome
// with its own time, oldest first. now is the time of the tick, for samplers
// that live in virtual time. Probes lists every probe it knows, placed or not.
type Sampler interface {
	Probes() []sensors.Probe
	Sample(ctx context.Context, now time.Time) []sensors.Outcome
}

// A Store keeps the book, the alerts, the outbox and the readings. Every
// method may block on a disk; the monitor calls none of them from the tick.
// Methods may be called from several goroutines.
type Store interface {
	// Entries gives the book's entries in order of their sequence.
	Entries(ctx context.Context) ([]book.Entry, error)
	// States gives the stored alert states in order of their Alert.
	States(ctx context.Context) ([]alerts.State, error)
	// Outbox gives the notices not yet delivered everywhere, oldest first,
	// and by destination the last id delivered.
	Outbox(ctx context.Context) ([]alerts.Notice, map[string]uint64, error)
	// Reserve sets n ids aside for ever and returns the first.
	Reserve(ctx context.Context, n uint64) (first uint64, err error)
	// Past gives the occurrences raised in [from, to) as they last were, in
	// order of when they were raised.
	Past(ctx context.Context, from, to time.Time) ([]alerts.State, error)
	// CommitBook writes the change in one transaction and returns when it is
	// on the disk. Writing the same notice or entry id again is no error and
	// changes nothing (a commit whose answer came too late is tried again).
	CommitBook(ctx context.Context, entries []book.Entry, told alerts.Changes) error
	// Backup lays a copy of the book beside it, unless there is one younger
	// than every.
	Backup(ctx context.Context, now time.Time, every time.Duration) error
	// Delivered moves a destination's cursor past notice id, and drops the
	// notices that every destination in dests has passed.
	Delivered(ctx context.Context, destination string, id uint64, dests []string) error
	// Append stores readings: in any order, from several probes. A reading of
	// a probe and second already stored replaces it.
	Append(ctx context.Context, readings []incubation.Reading) error
	// Stage stores readings whose true time is not known.
	Stage(ctx context.Context, readings []incubation.Untimed) error
	// Settle gives the staged readings of a boot their true time and returns
	// how many there were.
	Settle(ctx context.Context, boot string, booted time.Time) (int, error)
	// Newest is the time of the newest stored reading, zero if there is none.
	Newest(ctx context.Context) (time.Time, error)
	// Range gives a probe's readings in [from, to), oldest first, those still
	// staged by minute included. A damaged block is yielded as an error and
	// the range goes on behind it.
	Range(ctx context.Context, probe string, from, to time.Time) iter.Seq2[incubation.Reading, error]
}
