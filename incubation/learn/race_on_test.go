//go:build race

package learn_test

// Under the race detector one keeper stands for all: nothing here runs beside
// anything else.
const keepers, clutches, raced = 1, 10, true
