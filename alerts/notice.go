package alerts

import (
	"context"
	"errors"
	"time"
)

// NewNotice is the message that something about an alert changed. The id must
// be greater than that of every notice before it.
func NewNotice(id uint64, s State, r Reason, now time.Time) Notice {
	s.Text, s.Lead = s.Lead+s.Text, ""
	return Notice{ID: id, Reason: r, Time: now.Round(0).UTC(), State: s}
}

// A Publisher brings notices to one destination, a broker or a webhook.
//
// Destination is a name that stays the same over restarts: the cursor is kept
// under it. Publish returns nil only once the far side has confirmed that it
// has the notice, and an error in every other case; then the same notice is
// handed to it again. It must return soon after ctx ends. It is called from
// one goroutine at a time.
//
// A publisher that keeps a connection may be a Connector too.
type Publisher interface {
	Destination() string
	Publish(ctx context.Context, n Notice) error
}

// A Connector is a publisher that knows when its far side can be reached.
//
// Connected gives a channel that is closed while there is a connection. A
// notice that failed with ErrUnreachable is tried again as soon as it is, not
// only when the wait between tries is over.
type Connector interface {
	Connected() <-chan struct{}
}

// ErrUnreachable is wrapped by the error of a Connector's Publish when there
// was no connection to publish over.
var ErrUnreachable = errors.New("no connection")

// A Keeper makes a destination's cursor durable.
//
// Delivered says that destination has every notice up to id; notices that
// all of dests have passed are no longer needed. It may block on a disk and
// is called from one goroutine at a time. An error, or not returning, delays
// no delivery: the newest cursor is offered again later.
type Keeper interface {
	Delivered(ctx context.Context, destination string, id uint64, dests []string) error
}
