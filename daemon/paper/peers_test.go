package paper_test

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"clutchd/incubation/handout"
)

// peer finds a program that reads what we print, or skips the test.
func peer(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	const hint = "install poppler-utils and zbar-tools to run this test"
	if os.Getenv("CLUTCHD_PEERS") == "required" {
		t.Fatalf("%s is not here: %s", name, hint)
	}
	t.Skipf("%s is not here: %s", name, hint)
	return ""
}

// A printed is a PDF that other programs read.
type printed struct {
	t    *testing.T
	file string
}

func onPaper(t *testing.T, pdf []byte) printed {
	t.Helper()
	file := filepath.Join(t.TempDir(), "printed.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	return printed{t: t, file: file}
}

func (p printed) run(name string, args ...string) string {
	p.t.Helper()
	var complaints bytes.Buffer
	c := exec.Command(peer(p.t, name), args...)
	c.Stderr = &complaints
	out, err := c.Output()
	if err != nil {
		p.t.Fatalf("%s %v: %v\n%s", name, args, err, complaints.String())
	}
	if text := complaints.String(); strings.Contains(text, "Syntax") {
		p.t.Errorf("%s complains: %s", name, text)
	}
	return string(out)
}

// text gives what pdftotext reads, white space made single spaces.
func (p printed) text() string {
	p.t.Helper()
	return strings.Join(strings.Fields(p.run("pdftotext", p.file, "-")), " ")
}

// holds fails for each text that is not on the paper.
func (p printed) holds(texts ...string) {
	p.t.Helper()
	all := p.text()
	for _, want := range texts {
		if !strings.Contains(all, want) {
			p.t.Errorf("%q is not on the paper; it says:\n%s", want, all)
		}
	}
}

func (p printed) pages() int {
	p.t.Helper()
	for line := range strings.Lines(p.run("pdfinfo", p.file)) {
		n := 0
		if _, err := fmt.Sscanf(line, "Pages: %d", &n); err == nil {
			return n
		}
	}
	p.t.Fatal("pdfinfo tells no number of pages")
	return 0
}

// A word is where one stands on a page, from 0, mm.
type word struct {
	page int
	text string
	at   handout.Rect
}

// words gives every word with its box, as pdftotext measures it.
func (p printed) words() []word {
	p.t.Helper()
	var doc struct {
		Pages []struct {
			Words []struct {
				XMin float64 `xml:"xMin,attr"`
				YMin float64 `xml:"yMin,attr"`
				XMax float64 `xml:"xMax,attr"`
				YMax float64 `xml:"yMax,attr"`
				Text string  `xml:",chardata"`
			} `xml:"word"`
		} `xml:"body>doc>page"`
	}
	d := xml.NewDecoder(strings.NewReader(p.run("pdftotext", "-bbox", p.file, "-")))
	d.Strict, d.Entity = false, xml.HTMLEntity
	if err := d.Decode(&doc); err != nil {
		p.t.Fatal(err)
	}
	const mm = 25.4 / 72
	var out []word
	for i, page := range doc.Pages {
		for _, w := range page.Words {
			out = append(out, word{i, w.Text, handout.Rect{
				X: w.XMin * mm, Y: w.YMin * mm, Width: (w.XMax - w.XMin) * mm, Height: (w.YMax - w.YMin) * mm,
			}})
		}
	}
	if len(out) == 0 {
		p.t.Fatal("pdftotext finds no word")
	}
	return out
}

// codes gives what an independent reader makes of the QR code in each part of
// a page, from 1; "" where it finds none.
func (p printed) codes(page, dpi int, parts []handout.Rect) []string {
	p.t.Helper()
	k, dir := p.ink(page, dpi), p.t.TempDir()
	args := []string{"--nodbus", "--quiet", "--xml", "-Sdisable", "-Sqrcode.enable"}
	for i, r := range parts {
		file := filepath.Join(dir, fmt.Sprintf("%03d.pgm", i))
		if err := os.WriteFile(file, k.part(r), 0o600); err != nil {
			p.t.Fatal(err)
		}
		args = append(args, file)
	}
	out, err := exec.Command(peer(p.t, "zbarimg"), args...).Output() // fails where one part has no code
	var found struct {
		Sources []struct {
			File  string   `xml:"href,attr"`
			Codes []string `xml:"index>symbol>data"`
		} `xml:"source"`
	}
	if bad := xml.Unmarshal(out, &found); bad != nil {
		p.t.Fatalf("zbarimg: %v, %v\n%s", err, bad, out)
	}
	codes := make([]string, len(parts))
	for _, s := range found.Sources {
		i := 0
		if _, err := fmt.Sscanf(filepath.Base(s.File), "%d.pgm", &i); err != nil {
			p.t.Fatal(err)
		}
		codes[i] = strings.Join(s.Codes, " ")
	}
	return codes
}

// An inked is a page as a printer would have it, a byte a dot, 0 black.
type inked struct {
	dots       []byte
	wide, high int
	dotsPerMM  float64
}

func (p printed) ink(page, dpi int) inked {
	p.t.Helper()
	n, root := fmt.Sprint(page), filepath.Join(p.t.TempDir(), "ink")
	p.run("pdftoppm", "-r", fmt.Sprint(dpi), "-f", n, "-l", n, "-singlefile", "-gray", p.file, root)
	raw, err := os.ReadFile(root + ".pgm")
	if err != nil {
		p.t.Fatal(err)
	}
	k := inked{dotsPerMM: float64(dpi) / 25.4}
	var most int
	if _, err := fmt.Sscanf(string(raw[:40]), "P5\n%d %d\n%d\n", &k.wide, &k.high, &most); err != nil || most != 255 {
		p.t.Fatalf("pdftoppm wrote no grey picture: %v", err)
	}
	k.dots = raw[len(raw)-k.wide*k.high:]
	return k
}

// outside counts the dots that are darker than paper and lie in none of the
// rectangles, with half a dot of grace.
func (k inked) outside(rects []handout.Rect) int {
	free := make([]bool, len(k.dots))
	for _, r := range rects {
		for y := max(0, int(r.Y*k.dotsPerMM-0.5)); y < min(k.high, int((r.Y+r.Height)*k.dotsPerMM+1.5)); y++ {
			for x := max(0, int(r.X*k.dotsPerMM-0.5)); x < min(k.wide, int((r.X+r.Width)*k.dotsPerMM+1.5)); x++ {
				free[y*k.wide+x] = true
			}
		}
	}
	n := 0
	for i, d := range k.dots {
		if d < 250 && !free[i] {
			n++
		}
	}
	return n
}

// part cuts a picture out, as a file.
func (k inked) part(r handout.Rect) []byte {
	x, y := int(r.X*k.dotsPerMM), int(r.Y*k.dotsPerMM)
	wide := min(int(r.Width*k.dotsPerMM)+1, k.wide-x)
	high := min(int(r.Height*k.dotsPerMM)+1, k.high-y)
	out := fmt.Appendf(nil, "P5\n%d %d\n255\n", wide, high)
	for row := y; row < y+high; row++ {
		out = append(out, k.dots[row*k.wide+x:row*k.wide+x+wide]...)
	}
	return out
}
