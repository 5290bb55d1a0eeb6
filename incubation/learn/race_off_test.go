//go:build !race

package learn_test

// keepers are tried in each test, with so many clutches to learn from.
const keepers, clutches, raced = 3, 20, false
