// Package days holds the keeper's days in a real browser, and no code: its
// tests start the whole daemon on an invented room, take a phone in hand and do
// what a day asks for, then look into the book.
//
// A test taps what a person would tap, and fails over what a browser complains
// of: an error, a dropped script, an answer that did not come. It proves nothing
// about how a page reads: that was looked at.
package days
