//go:build !race

package store_test

const sampled = 1
