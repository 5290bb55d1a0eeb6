package mqtt

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"clutchd/alerts"
)

// Destination names the broker for the outbox's cursor.
func (c *Client) Destination() string { return "mqtt:" + c.broker.Name }

// Publish sends a notice and returns nil only when the broker has confirmed
// it. That proves that the broker has it, not that its access list lets
// anybody read it: see Trial.
func (c *Client) Publish(ctx context.Context, n alerts.Notice) error {
	payload, err := json.Marshal(n.Payload())
	if err != nil {
		return fmt.Errorf("write notice %d: %w", n.ID, err)
	}
	l, err := c.connected(ctx)
	if err != nil {
		return fmt.Errorf("publish notice %d: %w", n.ID, err)
	}
	if err := l.publish(ctx, message{topic: c.site.notice(), payload: payload}); err != nil {
		return fmt.Errorf("publish notice %d: %w", n.ID, err)
	}
	c.overdue.Store(false)
	return nil
}

// Connected gives a channel that is closed while there is a connection.
func (c *Client) Connected() <-chan struct{} {
	_, up := c.current()
	return up
}

// connected waits a while for a connection, and has one tried at once.
func (c *Client) connected(ctx context.Context) (*link, error) {
	timer := time.NewTimer(ackTimeout)
	defer timer.Stop()
	for {
		l, up := c.current()
		if l != nil {
			return l, nil
		}
		c.overdue.Store(true)
		signal(c.wanted)
		select {
		case <-up:
		case <-timer.C:
			return nil, ErrOffline
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
}

// current gives the link that notices go over, or what is closed when there
// is one.
func (c *Client) current() (*link, <-chan struct{}) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.link != nil && c.link.isLost() {
		c.link, c.up = nil, make(chan struct{})
	}
	return c.link, c.up
}

// use makes a link the one that notices go over.
func (c *Client) use(l *link) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.link == nil {
		close(c.up)
	}
	c.link = l
	signal(c.rejoin)
	select {
	case <-c.wanted:
	default:
	}
}
