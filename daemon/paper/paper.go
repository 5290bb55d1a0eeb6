// Package paper prints what package handout and package review say, as PDF.
//
// It lays out and nothing else: what stands on a sheet is decided by whoever
// fills it in. Lengths are mm from the upper left corner, type sizes points;
// temperatures arrive in °C and are told in °C or °F. The same input gives
// the same bytes: a file's date is the one that it is told it was printed.
// Sources: ISO 32000 (by codeberg.org/go-pdf/fpdf), ISO/IEC 18004 (QR, by
// rsc.io/qr).
package paper

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"codeberg.org/go-pdf/fpdf"

	"clutchd/incubation"
	"clutchd/incubation/handout"
)

// A Printer prints. It keeps nothing: the zero value is ready and may be used
// from several goroutines.
type Printer struct{}

// A press is one document on its way. Text goes through it alone, since what
// it draws are characters that its fonts have.
type press struct {
	*fpdf.Fpdf
	look  handout.Look
	paper handout.Paper
	// What the two weights of the typeface have: the same characters.
	regular, bold glyphs
}

// newPress begins a document without a page.
func newPress(p handout.Paper, look handout.Look, title string) (*press, error) {
	if !(p.Width >= 50 && p.Width <= 1000 && p.Height >= 50 && p.Height <= 1000) {
		return nil, fmt.Errorf("print on paper of %g × %g mm: that is no size of paper", p.Width, p.Height)
	}
	d := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: p.Width, Ht: p.Height}})
	d.SetMargins(0, 0, 0)
	d.SetAutoPageBreak(false, 0)
	d.SetCellMargin(0)
	d.SetCatalogSort(true)
	d.SetCreationDate(look.Printed.UTC())
	d.SetModificationDate(look.Printed.UTC())
	d.SetProducer("clutchd", true)
	d.SetLang("en")
	d.AddUTF8FontFromBytes(family, "", regular)
	d.AddUTF8FontFromBytes(family, "B", bold)
	out := &press{Fpdf: d, look: look, paper: p, regular: glyphsOf(regular), bold: glyphsOf(bold)}
	d.SetTitle(out.clean(title), true)
	return out, d.Error()
}

// send writes the document.
func (p *press) send(w io.Writer) error {
	if err := p.Output(w); err != nil {
		return fmt.Errorf("print: %w", err)
	}
	return nil
}

// degrees tells a temperature with its unit.
func (p *press) degrees(c incubation.Celsius) string { return p.number(c) + "\u00a0" + p.unit() }

// number tells a temperature in the look's unit, without it.
func (p *press) number(c incubation.Celsius) string {
	return minus(strconv.FormatFloat(p.scaled(float64(c)), 'f', 1, 64))
}

// scaled gives a temperature in the look's unit.
func (p *press) scaled(c float64) float64 {
	if p.look.Fahrenheit {
		return c*9/5 + 32
	}
	return c
}

func (p *press) unit() string {
	if p.look.Fahrenheit {
		return "°F"
	}
	return "°C"
}

// minus writes a proper minus sign, and none before a zero.
func minus(s string) string {
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}

// A colour is red, green and blue, 0 to 255. Ink, paper and hairlines; those of
// state are the pages' own, in the light.
type colour [3]int

var (
	ink     = colour{30, 29, 26}
	soft    = colour{98, 93, 84}
	hair    = colour{200, 195, 185}
	danger  = colour{179, 32, 26}
	warning = colour{138, 91, 0}
)

func (p *press) pen(c colour, width float64) {
	p.SetDrawColor(c[0], c[1], c[2])
	p.SetLineWidth(width)
}

func (p *press) fill(c colour) { p.SetFillColor(c[0], c[1], c[2]) }
