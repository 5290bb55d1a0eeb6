//go:build !race

package proof_test

const underRace = false
