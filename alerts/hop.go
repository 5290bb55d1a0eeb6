package alerts

import "context"

// A Hop is one step of a message on its way and what became of it. Err is nil
// if it passed, else its text is a sentence for a person.
type Hop struct {
	Name string
	Err  error
}

// A Tester is a publisher that can send one notice at once, beside whatever
// waits, and reports each hop up to the first that failed.
type Tester interface {
	Publisher
	Trial(ctx context.Context, n Notice) []Hop
}
