//go:build race

package incubation_test

// raced says that the race detector runs, which makes simulations eight times
// as slow and has nothing to find in them.
const raced = true
