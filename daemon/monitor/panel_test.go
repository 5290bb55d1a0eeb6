package monitor_test

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"sync"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/sensors"
)

// panel is a ContactSampler in which a test says what each contact says.
type panel struct {
	mu  sync.Mutex
	all []sensors.Contact
	say map[string]sensors.ContactOutcome // repeated at every sample
}

var _ monitor.ContactSampler = (*panel)(nil)

func (p *panel) Contacts() []sensors.Contact {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.all)
}

func (p *panel) SampleContacts(_ context.Context, now time.Time) []sensors.ContactOutcome {
	p.mu.Lock()
	defer p.mu.Unlock()
	var out []sensors.ContactOutcome
	for _, id := range slices.Sorted(maps.Keys(p.say)) {
		o := p.say[id]
		o.Time = now
		out = append(out, o)
	}
	return out
}

// says has a contact say a state's word from now on, "fault" and its cause, or
// be "silent".
func (p *panel) says(id string, kind incubation.ContactKind, word ...string) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !slices.ContainsFunc(p.all, func(c sensors.Contact) bool { return c.ID == id }) {
		p.all = append(p.all, sensors.Contact{ID: id, Kind: kind, Source: "test", Interval: 10 * time.Second})
	}
	if p.say == nil {
		p.say = map[string]sensors.ContactOutcome{}
	}
	o := sensors.ContactOutcome{Contact: id}
	switch word[0] {
	case "silent":
		delete(p.say, id)
		return nil
	case "fault":
		o.Fault = &sensors.Fault{Probe: id, Cause: sensors.Cause(word[1])}
	case kind.State(true):
		o.On = true
	case kind.State(false):
	default:
		return fmt.Errorf("a %s contact is never %q", kind, word[0])
	}
	p.say[id] = o
	return nil
}
