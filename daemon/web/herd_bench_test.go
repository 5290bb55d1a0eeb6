package web_test

import (
	"flag"
	"net/http"
	"testing"

	"clutchd/incubation/book"
)

// herdSize is the herd of the benchmark; a plain run of it takes a minute to
// build three seasons of two hundred.
var herdSize = flag.Int("herd", 200, "females of the benchmark's herd")

func BenchmarkHerdPages(b *testing.B) {
	entries := many(b, *herdSize)
	s := openHerd(b)
	next := *s.snap
	next.Book = book.Fold(entries)
	s.snap = &next
	if len(next.Book.Problems) > 0 {
		b.Fatal(next.Book.Problems[0])
	}
	b.Logf("%d entries, %d clutches", len(next.Book.Entries), len(next.Book.Clutches))
	for _, page := range []struct{ name, path string }{
		{"list", "/females"},
		{"animal", "/females/f-7"},
		{"check", "/entries/new?kind=checked&animal=f-7"},
		{"pair", "/entries/new?kind=paired&female=f-7"},
		{"book", "/entries"},
		{"api", "/api/animals"},
	} {
		b.Run(page.name, func(b *testing.B) {
			for b.Loop() {
				if w := s.ask("GET", page.path, ""); w.Code != http.StatusOK {
					b.Fatal(w.Code)
				}
			}
		})
	}
	b.Run("list-after-an-entry", func(b *testing.B) { // nothing is remembered
		for b.Loop() {
			fresh := *next.Book
			again := next
			again.Book = &fresh
			s.snap = &again
			if w := s.ask("GET", "/females", ""); w.Code != http.StatusOK {
				b.Fatal(w.Code)
			}
		}
	})
}
