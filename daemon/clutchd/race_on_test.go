//go:build race

package main

// racing: the race detector makes everything ten times slower.
const racing = true
