package paper

import (
	_ "embed"
	"encoding/binary"
	"strings"
	"unicode"
)

// family is the name under which the typeface goes; font/README.md tells of
// it.
const family = "sans"

//go:embed font/regular.ttf
var regular []byte

//go:embed font/bold.ttf
var bold []byte

// lacking stands for a character that the typeface does not have: it must be
// seen that something stands there.
const lacking = '▯'

// glyphs are the characters that a typeface has, and how far each advances,
// of the type's size.
type glyphs map[rune]float64

// glyphsOf reads a TrueType file's tables cmap, of format 4, and hmtx (ISO/IEC
// 14496-22): what lies outside them the PDF writer cannot draw, and above the
// basic plane it would fail. The file is one of those beside this one: it is
// whole and has them.
func glyphsOf(file []byte) glyphs {
	wide, cmap := advances(file), cmapOf(file)
	segments := word(cmap, 6) / 2
	ends, starts := 14, 16+2*segments
	deltas, offsets := starts+2*segments, starts+4*segments
	has := glyphs{}
	for s := 0; s < 2*segments; s += 2 {
		for c := word(cmap, starts+s); c <= word(cmap, ends+s) && c < 0xffff; c++ {
			glyph, offset := c, word(cmap, offsets+s)
			if offset != 0 {
				glyph = word(cmap, offsets+s+offset+2*(c-word(cmap, starts+s)))
			}
			if offset == 0 || glyph != 0 {
				glyph = (glyph + word(cmap, deltas+s)) & 0xffff
			}
			if glyph != 0 {
				has[rune(c)] = wide[min(glyph, len(wide)-1)]
			}
		}
	}
	return has
}

func word(table []byte, at int) int { return int(binary.BigEndian.Uint16(table[at:])) }

// advances gives how far each glyph advances; those beyond the last do as it
// does.
func advances(file []byte) []float64 {
	em := float64(word(tableOf(file, "head"), 18))
	out := make([]float64, word(tableOf(file, "hhea"), 34))
	hmtx := tableOf(file, "hmtx")
	for i := range out {
		out[i] = float64(word(hmtx, 4*i)) / em
	}
	return out
}

// tableOf gives a table and what follows it in the file; nil: it has none.
func tableOf(file []byte, tag string) []byte {
	for i := range word(file, 4) {
		entry := file[12+16*i:]
		if string(entry[:4]) == tag {
			return file[binary.BigEndian.Uint32(entry[8:]):]
		}
	}
	return nil
}

// cmapOf gives the format 4 table of a TrueType file; nil if it has none.
func cmapOf(file []byte) []byte {
	cmap := tableOf(file, "cmap")
	for k := range word(cmap, 2) {
		table := cmap[binary.BigEndian.Uint32(cmap[4+8*k+4:]):]
		if word(table, 0) == 4 {
			return table
		}
	}
	return nil
}

// clean makes a text that can be drawn: one line, without what has no shape,
// and with a mark for each character that the typeface lacks.
func (p *press) clean(text string) string {
	seen := strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r) && r != '\u00a0' && r != '\u202f', unicode.IsControl(r):
			return ' '
		case p.has(r):
			return r
		case unicode.Is(unicode.Cf, r), unicode.Is(unicode.Variation_Selector, r):
			return -1 // joiners and the like: nothing to see by themselves
		}
		return lacking
	}, text)
	return strings.Trim(collapse(seen), " ")
}

func (p *press) has(r rune) bool {
	_, ok := p.regular[r]
	return ok
}

// collapse makes one space of several.
func collapse(text string) string {
	for strings.Contains(text, "  ") {
		text = strings.ReplaceAll(text, "  ", " ")
	}
	return text
}
