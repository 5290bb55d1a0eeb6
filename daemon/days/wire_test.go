package days_test

import (
	"testing"

	"clutchd/daemon/browser"
)

// firstPage is how much may come over the wire before the room is seen: what a
// phone at the far end of the house gets in a second or two.
const firstPage = 100 << 10

// firstPageIsSmall counts what a browser that was never here is sent.
func firstPageIsSmall(t *testing.T, b *browser.Browser) {
	s := breeder()
	s.before = fever
	h := begin(t, s)
	p := b.Tab(t, browser.Phone())
	p.Open(h.url + "/")
	var files []string
	p.Ask(`[location.pathname, ...performance.getEntriesByType("resource").map(r => new URL(r.name).pathname)]`, &files)
	sent := p.Wire()
	if sent > firstPage || sent < 2000 || len(files) < 3 {
		t.Errorf("%d bytes came over the wire for %q, at most %d may", sent, files, firstPage)
	}
	t.Logf("%d bytes, headers included, for %q", sent, files)
	p.Open(h.url + "/clutches")
	if again := p.Wire(); again > sent/2 {
		t.Errorf("the second page costs %d bytes: what it shares with the first was sent again", again)
	}
}
