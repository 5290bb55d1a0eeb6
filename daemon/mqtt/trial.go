package mqtt

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"clutchd/alerts"
)

// A Hop is one step of a trial and what became of it.
type Hop = alerts.Hop

var _ alerts.Tester = (*Client)(nil)

// errRefused says that the broker turned a subscription down.
var errRefused = errors.New("the broker refuses it: check its access list")

// errNotHeard says that a message was confirmed but reached nobody.
var errNotHeard = errors.New("confirmed by the broker, but not delivered: its access list lets " +
	"this user not write the topic, or not read it")

// Trial sends a notice the whole way round, over a connection of its own, and
// reports each hop up to the first that failed. It hears its own message:
// a broker confirms also what its access list then throws away.
func (c *Client) Trial(ctx context.Context, n alerts.Notice) []Hop {
	ctx, cancel := context.WithTimeout(ctx, connectTimeout+ackTimeout)
	defer cancel()
	var hops []Hop
	passed := func(name string, err error) bool {
		hop := Hop{Name: name}
		if err != nil {
			hop.Err = errors.New(why(err))
		}
		hops = append(hops, hop)
		return err == nil
	}
	payload, err := json.Marshal(n.Payload())
	if !passed("write the message", err) {
		return hops
	}
	heard := make(chan struct{}, 1)
	plan := c.plan("trial")
	plan.receive = func(m message) {
		if bytes.Equal(m.payload, payload) {
			signal(heard)
		}
	}
	l, err := open(ctx, plan)
	if !passed("connect to "+c.broker.URL, err) {
		return hops
	}
	defer l.part()
	topic := c.site.notice()
	if !passed("listen on "+topic, c.listenTo(ctx, l, topic)) {
		return hops
	}
	sent := l.publish(ctx, message{topic: topic, payload: payload})
	if passed("publish, confirmed by the broker", sent) {
		passed("hear it back from the broker", echo(ctx, heard))
	}
	return hops
}

func (c *Client) listenTo(ctx context.Context, l *link, topic string) error {
	refused, err := l.subscribe(ctx, map[string]byte{topic: 1})
	if err == nil && len(refused) > 0 {
		return errRefused
	}
	return err
}

// echoTimeout is how long a confirmed message may take to come back.
const echoTimeout = 3 * time.Second

func echo(ctx context.Context, heard <-chan struct{}) error {
	timer := time.NewTimer(echoTimeout)
	defer timer.Stop()
	select {
	case <-heard:
		return nil
	case <-timer.C:
		return errNotHeard
	case <-ctx.Done():
		return fmt.Errorf("%w: %w", errNotHeard, ctx.Err())
	}
}
