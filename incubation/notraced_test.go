//go:build !race

package incubation_test

const raced = false
