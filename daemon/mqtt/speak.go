package mqtt

import (
	"context"
	"encoding/json"
	"sync/atomic"
	"time"

	"clutchd/alerts"
)

// heartbeat is how often a status is due.
const heartbeat = time.Minute

// speak is one connection's life: notices go over it, the room is mirrored
// and the status kept. It returns why the connection ended.
func (c *Client) speak(ctx context.Context, up func()) error {
	plan := c.plan("speak")
	will := c.saying(Status{Status: Offline})
	plan.will = &will
	s := &speech{Client: c, mirror: newMirror(c.site, c.log)}
	plan.receive = s.receive
	l, err := open(ctx, plan)
	if err != nil {
		return err
	}
	up()
	c.use(l)
	s.link, s.since = l, time.Now()
	err = s.run(ctx)
	if ctx.Err() != nil {
		s.farewell()
	} else {
		l.abandon(err)
	}
	return err
}

// A speech is what one connection has said so far.
type speech struct {
	*Client
	link     *link
	mirror   *mirror
	since    time.Time // of the connection
	said     time.Time // when the last status was sent
	silent   bool      // heartbeats are withheld, and that was logged
	sweeping bool      // leftovers of an earlier run are looked for
	denied   atomic.Bool
}

// receive takes what the broker has of ours. An offline that comes while we
// are online is the last will of an earlier connection, which the broker took
// for alive until now: it is put right at once, not at the next heartbeat.
func (s *speech) receive(m message) {
	switch {
	case m.topic != s.site.status():
		s.mirror.leftover(m)
	case m.retained || !offline(m.payload):
		return
	default:
		s.denied.Store(true)
	}
	s.stir()
}

func offline(payload []byte) bool {
	var s Status
	return json.Unmarshal(payload, &s) == nil && s.Status == Offline
}

func (s *speech) run(ctx context.Context) error {
	if err := s.sweep(ctx); err != nil {
		return err
	}
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		if err := s.say(ctx, false); err != nil {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-s.link.lost:
			return s.link.cause()
		case <-s.wake:
		case <-beat.C:
			if err := s.say(ctx, true); err != nil {
				return err
			}
			if err := s.endSweep(ctx); err != nil {
				return err
			}
		}
	}
}

// say sends what is new in the newest snapshot, and a status if it is due.
func (s *speech) say(ctx context.Context, due bool) error {
	newest := s.newest.Load()
	if newest == nil {
		return nil
	}
	if s.denied.Swap(false) || due || time.Since(s.said) >= heartbeat {
		if err := s.beat(ctx, newest); err != nil {
			return err
		}
	}
	return s.mirror.sync(ctx, s.link, newest.snapshot)
}

// beat sends a status, but only while ticks come: a process that lives on
// without judging anything must not look well.
func (s *speech) beat(ctx context.Context, newest *handed) error {
	now := time.Now()
	if now.Sub(newest.at) >= heartbeat {
		if !s.silent {
			s.log.Warn("heartbeat withheld: no tick has finished lately")
		}
		s.silent = true
		return nil
	}
	s.silent = false
	// By elapsed time, as the clock may have been set since.
	since := now.Add(-now.Sub(s.since))
	status := statusOnline(since, now.Add(heartbeat), newest.snapshot.Trusted)
	err := s.link.publish(ctx, s.saying(status))
	if err == nil {
		s.said = now
	}
	return err
}

// sweep asks for the retained topics of ours that an earlier run left, and
// for our own status.
func (s *speech) sweep(ctx context.Context) error {
	filters := map[string]byte{s.site.status(): 0}
	for _, f := range s.mirrored() {
		filters[f] = 0
	}
	s.sweeping = true
	refused, err := s.link.subscribe(ctx, filters)
	if len(refused) > 0 {
		s.log.Warn("broker refuses reading our own topics: old ones may stay", "topics", refused)
	}
	return err
}

// endSweep stops hearing our own words, once.
func (s *speech) endSweep(ctx context.Context) error {
	if !s.sweeping {
		return nil
	}
	s.sweeping = false
	return s.link.unsubscribe(ctx, s.mirrored()...)
}

func (s *speech) mirrored() []string {
	return []string{s.site.reading("+"), s.site.contact("+"), s.site.alert("+"), s.site.clutch("+")}
}

func (s *speech) hush(ctx context.Context) error {
	return s.link.unsubscribe(ctx, append(s.mirrored(), s.site.status())...)
}

// farewell leaves an offline status behind, with the time, as far as the
// broker is willing to wait.
func (s *speech) farewell() {
	ctx, cancel := context.WithTimeout(context.Background(), partingTimeout)
	defer cancel()
	gone := Status{Status: Offline}
	if newest := s.newest.Load(); newest != nil && newest.snapshot.Trusted {
		gone.Since = alerts.Moment(time.Now())
	}
	// Unheard, our own word cannot meet a closed connection and make the
	// broker take the parting for a failure.
	if s.hush(ctx) == nil && s.link.publish(ctx, s.saying(gone)) == nil {
		s.link.part()
	}
}

// saying makes the retained message of a status: words and times, which can
// always be written.
func (c *Client) saying(s Status) message {
	text, _ := json.Marshal(s)
	return message{topic: c.site.status(), payload: text, retained: true}
}
