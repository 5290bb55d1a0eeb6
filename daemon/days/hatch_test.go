package days_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"clutchd/daemon/browser"
	"clutchd/incubation/book"
)

// hatched writes down a pip and two hatches, and prints what goes with the
// animals.
func hatched(t *testing.T, b *browser.Browser) {
	s := stable()
	tell := s.tell
	s.tell = func(write teller) {
		tell(write)
		clutch(write, "k0", "clove", 52, "box-3", "box-3")
	}
	h := begin(t, s)
	p := b.Tab(t, browser.Phone())
	p.Open(h.url + "/clutches/k0")
	p.Follow(`a[href*="kind=pip&egg=k0-a"]`)
	send(t, p)
	for _, egg := range []string{"k0-a", "k0-b"} {
		p.Follow(`a[href*="kind=hatch&egg=` + egg + `"]`)
		send(t, p)
	}
	var out []string
	for _, e := range h.entries(book.KindHatch) {
		out = append(out, data[book.HatchData](t, e).Egg)
	}
	if strings.Join(out, " ") != "k0-a k0-b" || data[book.EggEvent](t, one(t, "pips", h.entries(book.KindPip))).Egg != "k0-a" {
		t.Errorf("the book holds hatches of %q", out)
	}
	desk := b.Tab(t, browser.Desk())
	desk.Open(h.url + "/clutches/k0")
	desk.Follow(`main a[href$="/clutches/k0/review"]`)
	if !desk.Until(`!document.querySelector("[data-waits]")`) {
		t.Errorf("the review waits: %s", desk.Text("main"))
	}
	desk.Open(h.url + "/clutches/k0/review")
	text, pages := readPDF(t, desk.Print())
	for _, part := range []string{"k0", "Clove", "atched"} {
		if !strings.Contains(text, part) {
			t.Errorf("the print does not say %q:\n%s", part, text)
		}
	}
	for _, part := range []string{"Log out", "Write it down", "°F"} {
		if strings.Contains(text, part) {
			t.Errorf("the print says %q, which nobody can press on paper", part)
		}
	}
	if pages < 1 || pages > 2 {
		t.Errorf("the review takes %d pages of paper", pages)
	}
}

// readPDF gives the text of a PDF and how many pages it has.
func readPDF(t *testing.T, pdf []byte) (text string, pages int) {
	t.Helper()
	if !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Fatalf("what was printed begins with %.20q", pdf)
	}
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		if os.Getenv("CLUTCHD_PEERS") == "required" {
			t.Fatal("no pdftotext on PATH: apt-get install poppler-utils")
		}
		t.Skip("no pdftotext on PATH: apt-get install poppler-utils")
	}
	file := filepath.Join(t.TempDir(), "print.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-layout", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out), bytes.Count(out, []byte{'\f'})
}
