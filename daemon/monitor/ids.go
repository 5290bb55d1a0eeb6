package monitor

import "context"

// idBlock is how many ids are set aside on the disk at a time: more than a room
// uses in years, so that an alert never waits for the disk to give it one, and
// a disk that stays broken is worn out by no chatter.
const idBlock = 1 << 20

// ids gives out ids from a block that is reserved on the disk. The next block
// is asked for when half of this one is used.
type ids struct {
	next, end uint64
	spare     uint64 // the first of the next block; zero: there is none yet
	asked     bool
}

// takeID gives an id that was never given before, greater than all of them.
// Caller holds mu.
func (m *Monitor) takeID() uint64 {
	i := &m.ids
	if i.next >= i.end && i.spare != 0 {
		i.next, i.end, i.spare = max(i.spare, i.next), i.spare+m.opt.IDs, 0
	}
	if i.end-min(i.next, i.end) <= m.opt.IDs/2 && i.spare == 0 && !i.asked {
		i.asked = true
		m.commit.ask("ids", m.reserve)
	}
	id := i.next
	i.next++
	return id
}

// reserve sets the next block aside. It is asked for again if it fails: half a
// block outlasts whatever runs on a disk that cannot be written.
func (m *Monitor) reserve(ctx context.Context) error {
	first, err := m.opt.Store.Reserve(ctx, m.opt.IDs)
	m.mu.Lock()
	defer m.mu.Unlock()
	m.ids.asked = false
	if err == nil {
		m.ids.spare = first
	}
	return err
}
