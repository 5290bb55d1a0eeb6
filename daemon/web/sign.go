package web

import "clutchd/daemon/monitor"

// sign puts the asker's name on a change that nobody put a name on: pages and
// programs write who and program where they know no better.
func (a asker) sign(c monitor.Change) monitor.Change {
	put := func(by *string) {
		if a.name != "" && (*by == "" || *by == who || *by == program) {
			*by = a.name
		}
	}
	if c.Entry != nil {
		put(&c.Entry.By)
	}
	if c.Acknowledge != nil {
		put(&c.Acknowledge.By)
	}
	if c.Shelve != nil {
		put(&c.Shelve.By)
	}
	if c.Unshelve != nil {
		put(&c.Unshelve.By)
	}
	if c.ClockOffer != nil {
		put(&c.ClockOffer.By)
	}
	return c
}
