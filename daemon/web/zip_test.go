package web_test

import (
	"bytes"
	"compress/gzip"
	"io"
	"net/http"
	"testing"
)

func unpack(t *testing.T, packed []byte) string {
	t.Helper()
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestTextIsPackedForWhoTakesIt(t *testing.T) {
	s := open(t)
	for _, c := range []struct {
		sentence, path, accept string
		packed                 bool
	}{
		{"a page", "/", "gzip, deflate, br", true},
		{"a page for a program that takes anything", "/", "*", true},
		{"JSON", "/api/clutches", "gzip", true},
		{"the style, packed once", "/static/style.css", "gzip", true},
		{"who does not ask gets it plain", "/", "", false},
		{"who refuses it too", "/", "gzip;q=0, *", false},
		{"a quality that is no number counts as not asked", "/", "gzip;q=much", false},
		{"other packings are not known", "/", "br, deflate", false},
		{"a few bytes are not worth it", "/api/nothing", "gzip", false},
	} {
		plain := s.ask("GET", c.path, "")
		w := s.ask("GET", c.path, "", "Accept-Encoding", c.accept)
		if got := w.Header().Get("Content-Encoding") == "gzip"; got != c.packed {
			t.Errorf("%s: packed %v", c.sentence, got)
			continue
		}
		text := w.Body.String()
		if c.packed {
			text = unpack(t, w.Body.Bytes())
		}
		if w.Code != plain.Code || len(text) != plain.Body.Len() {
			t.Errorf("%s: %d with %d bytes, plain %d with %d", c.sentence, w.Code, len(text), plain.Code, plain.Body.Len())
		}
		if w.Header().Get("Vary") != "Accept-Encoding" {
			t.Errorf("%s: a cache between is not told what it depends on: %v", c.sentence, w.Header())
		}
	}
	w := s.ask("HEAD", "/", "", "Accept-Encoding", "gzip")
	if w.Header().Get("Content-Encoding") != "" {
		t.Error("an answer without a body is packed")
	}
	w = s.ask("POST", "/units", "units=C&back=/", "Accept-Encoding", "gzip")
	if w.Code != http.StatusSeeOther {
		t.Errorf("an answer without a body has the status %d", w.Code)
	}
}
