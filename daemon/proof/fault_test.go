package proof_test

import "time"

// A fault is one thing that goes wrong in a room that was well, and what is
// asked of the program.
type fault struct {
	name  string // for the table: what goes wrong
	bytes string // and as which bytes it comes to the daemon
	begin func(h *house)
	end   func(h *house) // mends it; nil: the model does, at the end of watch
	watch time.Duration  // how long to wait for what is told
	beat  time.Duration  // of the daemon; zero: half a minute
	// within is how soon it must be told, with generous room; zero: it is not
	// told, and why says whether that is right.
	within   time.Duration
	rules    []string // the first notice is by one of them; none: by any
	most     int      // announcements, at most: one cause, one message
	why      string
	quick    bool // part of the short form
	contacts bool // its house has contacts
}

// faults lists all of them.
func faults() []fault {
	var all []fault
	for _, some := range [][]fault{
		faultsOfHeat(), faultsOfPlaces(), faultsOfValues(), faultsOfWires(), faultsOfDevices(), faultsOfMachine(),
		faultsOfContacts(),
	} {
		all = append(all, some...)
	}
	return all
}

// bumped is a constant error that a probe got, K.
func bumped(kelvin float64) func(time.Time) (float64, float64) {
	return func(time.Time) (float64, float64) { return kelvin, 0 }
}

// creeping is an error that grows from now on, K and ratio a day.
func creeping(kelvin, ratio float64) func(time.Time) (float64, float64) {
	from := time.Now()
	return func(at time.Time) (float64, float64) {
		days := at.Sub(from).Hours() / 24
		return kelvin * days, ratio * days
	}
}
