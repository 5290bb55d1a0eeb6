package web_test

import (
	"flag"
	"net/http"
	"syscall"
	"testing"
	"time"

	"clutchd/incubation/book"
)

// herdSize is the herd of the benchmark; a plain run of it takes a minute to
// build three seasons of two hundred.
var herdSize = flag.Int("herd", 200, "females of the benchmark's herd")

// spent is the processor time of this process so far: what a page costs when
// others use the machine too.
func spent(b *testing.B) time.Duration {
	b.Helper()
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		b.Fatal(err)
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}

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
			from := spent(b)
			for b.Loop() {
				if w := s.ask("GET", page.path, ""); w.Code != http.StatusOK {
					b.Fatal(w.Code)
				}
			}
			b.ReportMetric(1000*(spent(b)-from).Seconds()/float64(b.N), "cpu-ms/op")
		})
	}
	b.Run("list-after-an-entry", func(b *testing.B) { // nothing is remembered
		from := spent(b)
		defer func() { b.ReportMetric(1000*(spent(b)-from).Seconds()/float64(b.N), "cpu-ms/op") }()
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
