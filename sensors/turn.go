package sensors

import (
	"context"
	"fmt"
	"time"

	"clutchd/incubation"
)

// A slot is a sensor's place on the bus and its next turn.
type slot struct {
	probe  Probe
	sensor Sensor
	serial int // of the sensor in this slot, for it may be replaced
	due    time.Time
}

// advance sets the next turn an interval on. On a bus that cannot keep up it
// is now at the earliest, so that every sensor comes round before one does
// twice.
func (s *slot) advance(now time.Time) {
	s.due = s.due.Add(s.probe.Interval)
	if s.due.Before(now) {
		s.due = now
	}
}

// A turn is one Read to be made, and what came of it.
type turn struct {
	slot    *slot
	sensor  Sensor
	serial  int
	probe   Probe
	reading incubation.Reading
	err     error
	at      time.Time // when Read returned
}

// own makes the calls. Each gets the deadline as its context's; most drivers
// cannot be cancelled and take no notice.
func own(ctx context.Context, turns <-chan turn, done chan<- turn) {
	for t := range turns {
		limited, cancel := context.WithTimeout(ctx, deadline)
		t.reading, t.err = call(limited, t.sensor)
		cancel()
		t.probe, t.at = withInterval(t.sensor.Probe()), time.Now().UTC()
		done <- t
	}
}

// call turns a driver's panic into an error: it must not take the watch over
// the eggs with it.
func call(ctx context.Context, s Sensor) (r incubation.Reading, err error) {
	defer func() {
		if p := recover(); p != nil {
			r, err = incubation.Reading{}, fmt.Errorf("the driver panicked: %v", p)
		}
	}()
	return s.Read(ctx)
}
