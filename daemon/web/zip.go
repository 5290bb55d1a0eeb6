package web

import (
	"bytes"
	"compress/gzip"
	"net/http"
	"strconv"
	"strings"
)

// zipFrom is the shortest answer that is worth packing: less fits one packet
// anyway.
const zipFrom = 1200

// zipLevel packs nearly as small as the best, at a third of the time.
const zipLevel = 6

// A zipper packs the text that a handler writes, if who asked takes gzip. It
// decides at the first write: what comes in small pieces, such as the event
// stream, goes out as it is.
//
// A packed page that holds a secret beside what a stranger chose tells of it by
// its length. No stranger can choose: another site's requests come without our
// cookie.
type zipper struct {
	http.ResponseWriter
	takes bool
	begun bool
	code  int
	out   *gzip.Writer
}

func zipped(w http.ResponseWriter, r *http.Request) *zipper {
	// A handler that packs by itself, as the metrics' does, has its own way.
	return &zipper{ResponseWriter: w, takes: r.Method != http.MethodHead && takesGzip(r.Header.Get("Accept-Encoding"))}
}

// Unwrap lets a http.ResponseController reach the connection.
func (z *zipper) Unwrap() http.ResponseWriter { return z.ResponseWriter }

// WriteHeader waits for the first write, which decides.
func (z *zipper) WriteHeader(code int) {
	if z.begun || z.code != 0 {
		return
	}
	if code < 200 { // not the answer yet
		z.ResponseWriter.WriteHeader(code)
		return
	}
	z.code = code
}

// Write packs, or passes on.
func (z *zipper) Write(p []byte) (int, error) {
	z.begin(p)
	if z.out != nil {
		return z.out.Write(p)
	}
	return z.ResponseWriter.Write(p)
}

// FlushError sends what was written so far.
func (z *zipper) FlushError() error {
	z.begin(nil)
	if z.out != nil {
		if err := z.out.Flush(); err != nil {
			return err
		}
	}
	return http.NewResponseController(z.ResponseWriter).Flush()
}

func (z *zipper) begin(first []byte) {
	if z.begun {
		return
	}
	z.begun = true
	h := z.Header()
	if first != nil && h.Get("Content-Type") == "" {
		h.Set("Content-Type", http.DetectContentType(first))
	}
	if packable(h) {
		h.Add("Vary", "Accept-Encoding")
		if z.takes && len(first) >= zipFrom && z.code != http.StatusPartialContent {
			h.Set("Content-Encoding", "gzip")
			h.Del("Content-Length")
			z.out, _ = gzip.NewWriterLevel(z.ResponseWriter, zipLevel) // the level is a valid one
		}
	}
	if z.code != 0 {
		z.ResponseWriter.WriteHeader(z.code)
	}
}

// end sends what is still held back. An answer without a body has only its
// status.
func (z *zipper) end() {
	if !z.begun && z.code != 0 {
		z.begun = true
		z.ResponseWriter.WriteHeader(z.code)
	}
	if z.out != nil {
		_ = z.out.Close()
	}
}

// packable reports whether an answer is text that nobody has packed yet.
func packable(h http.Header) bool {
	if h.Get("Content-Encoding") != "" || h.Get("Content-Range") != "" {
		return false
	}
	kind, _, _ := strings.Cut(h.Get("Content-Type"), ";")
	switch kind {
	case "application/json", "image/svg+xml", "text/javascript":
		return true
	}
	return strings.HasPrefix(kind, "text/") && kind != "text/event-stream"
}

// takesGzip reads an Accept-Encoding header. "*" and a quality above zero
// count (RFC 9110, 12.5.3).
func takesGzip(accept string) bool {
	any := false
	for part := range strings.SplitSeq(accept, ",") {
		name, quality, _ := strings.Cut(part, ";")
		q := 1.0
		if _, text, ok := strings.Cut(quality, "="); ok {
			var err error
			if q, err = strconv.ParseFloat(strings.TrimSpace(text), 64); err != nil {
				continue
			}
		}
		switch strings.ToLower(strings.TrimSpace(name)) {
		case "gzip", "x-gzip":
			return q > 0
		case "*":
			any = q > 0
		}
	}
	return any
}

// pack gives text packed as small as it goes, for what is sent often.
func pack(text []byte) []byte {
	var out bytes.Buffer
	z, _ := gzip.NewWriterLevel(&out, gzip.BestCompression)
	_, _ = z.Write(text)
	_ = z.Close()
	return out.Bytes()
}
