//go:build !race

package days_test

const underRace = false
