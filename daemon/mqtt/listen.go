package mqtt

import (
	"context"
	"errors"
)

// listen is one connection's life: devices and commands are heard over it.
func (c *Client) listen(ctx context.Context, up func()) error {
	plan := c.plan("listen")
	plan.receive = c.receive
	l, err := open(ctx, plan)
	if err != nil {
		return err
	}
	defer l.part()
	refused, err := l.subscribe(ctx, c.filters())
	if err != nil {
		return err
	}
	up()
	if len(refused) > 0 {
		c.log.Warn("broker refuses reading topics: check its access list", "topics", refused)
	}
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-l.lost:
		return l.cause()
	}
}

// filters gives what to subscribe to, with the QoS: a lost reading is followed
// by the next, a lost command is not.
func (c *Client) filters() map[string]byte {
	filters := map[string]byte{}
	for topic := range c.devices {
		filters[topic] = 0
	}
	if c.opt.OnCommand != nil {
		filters[c.site.command("+")] = 1
	}
	return filters
}

// receive sorts a message into its queue. It is called by the library and must
// not block: what finds its queue full is dropped.
func (c *Client) receive(m message) {
	queue := c.heard
	if _, ok := c.site.commandAlert(m.topic); ok && c.opt.OnCommand != nil {
		queue = c.asked
	}
	select {
	case queue <- m:
	default:
		if c.overflow.Add(1) == 1 {
			c.log.Warn("too many messages at once: some are dropped", "topic", m.topic)
		}
	}
}

// handle works a queue off, one message after the other.
func (c *Client) handle(ctx context.Context, queue <-chan message, do func(message)) {
	for {
		select {
		case <-ctx.Done():
			return
		case m := <-queue:
			do(m)
		}
	}
}

// device hands on what a message says of each probe that is fed by its topic.
func (c *Client) device(m message) {
	for _, d := range c.devices[m.topic] {
		if outcome, ok := d.Receive(m.payload, m.retained, m.at); ok && c.opt.OnOutcome != nil {
			c.opt.OnOutcome(outcome)
		}
	}
}

// errReplayed refuses a command that the broker kept: it was meant for
// whatever stood when it was given.
var errReplayed = errors.New("it is retained: commands must not be")

// command hands a command to the door and logs what became of it.
func (c *Client) command(m message) {
	alert, _ := c.site.commandAlert(m.topic)
	log := c.log.With("alert", alert)
	command, err := ParseCommand(m.payload)
	if m.retained {
		err = errReplayed
	}
	if err != nil {
		log.Warn("command ignored", "cause", err)
		return
	}
	log = log.With("do", command.Do, "occurrence", command.Occurrence, "by", command.By)
	if err := c.opt.OnCommand(command.Change(alert)); err != nil {
		log.Warn("command refused", "cause", err)
		return
	}
	log.Info("command taken")
}
