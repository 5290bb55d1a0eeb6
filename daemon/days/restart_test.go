package days_test

import (
	"os"
	"path/filepath"
	"testing"

	"clutchd/daemon"
	"clutchd/daemon/browser"
	"clutchd/incubation/book"
)

// restartAtNight locks no phone out, and forgets no name. A cookie knows no
// port, so that the daemon may come back on another one.
func restartAtNight(t *testing.T, b *browser.Browser) {
	s := stable()
	s.locked = true
	h := begin(t, s)
	p := b.Tab(t, browser.Phone())
	h.login(p, "Ines")
	p.Open("about:blank") // the phone lies in a pocket
	h.end()
	kept := filepath.Join(h.folder, daemon.AccessFile)
	if info, err := os.Stat(kept); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("what is kept of the sessions: %v, %v", info, err)
	}

	s.tell, s.before, s.folder = nil, nil, h.folder
	h = begin(t, s)
	p.Open(h.url + "/entries")
	if at := p.At(); at != "/entries" {
		t.Fatalf("after a restart the phone is led to %s", at)
	}
	p.Follow(`main a[href*="kind=note&"]`)
	p.Type("#f-text", "woke up, all is well")
	send(t, p)
	if e := one(t, "notes", h.entries(book.KindNote)); e.By != "Ines" {
		t.Errorf("the note is by %q", e.By)
	}
}
