//go:build !race

package fit_test

const raced = false
