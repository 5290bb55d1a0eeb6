//go:build race

package store_test

// Under the race detector the tests that open thousands of folders, one after
// the other in one goroutine, try every sixteenth only.
const sampled = 16
