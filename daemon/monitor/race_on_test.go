//go:build race

package monitor_test

const underRace = true
