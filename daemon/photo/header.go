package photo

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"

	"golang.org/x/image/webp"
)

// A head is what a picture says about itself before any of it is decoded.
type head struct {
	width, height int
	bytes         int // that decoding takes
	orientation   int // of Exif, 1 to 8; 1: upright
	decode        func(io.Reader) (image.Image, error)
}

// header reads what a picture claims, and refuses one that would take too much
// memory: a small file may unfold to any size.
func header(text []byte) (head, error) {
	var h head
	var ok bool
	switch {
	case bytes.HasPrefix(text, []byte("\xff\xd8\xff")):
		h, ok = jpegHead(text)
	case bytes.HasPrefix(text, []byte("\x89PNG\r\n\x1a\n")):
		h, ok = pngHead(text)
	case len(text) > 12 && string(text[:4]) == "RIFF" && string(text[8:12]) == "WEBP":
		h, ok = webpHead(text)
	default:
		return head{}, refuse("this is no JPEG, PNG or WebP picture")
	}
	switch {
	case !ok || h.width < 1 || h.height < 1:
		return head{}, refuse("the picture is damaged and cannot be read")
	case h.width > maxSide || h.height > maxSide || h.bytes > maxDecoded:
		return head{}, refuse("the picture of %d × %d would take too much memory here: send a smaller one",
			h.width, h.height)
	}
	return h, nil
}

// pngHead reckons with what image/png makes: one to eight bytes a pixel, and
// as much again for one that is interlaced.
func pngHead(text []byte) (head, bool) {
	c, err := png.DecodeConfig(bytes.NewReader(text))
	if err != nil {
		return head{}, false
	}
	each := 4
	switch c.ColorModel {
	case color.GrayModel:
		each = 1
	case color.RGBA64Model, color.NRGBA64Model, color.Gray16Model:
		each = 8
	}
	const interlace = 28 // of IHDR, which comes first
	if len(text) > interlace && text[interlace] != 0 {
		each *= 2
	}
	return head{c.Width, c.Height, sides(c.Width, c.Height) * each, 1, png.Decode}, true
}

// webpHead reckons with the lossless kind, which is held twice.
func webpHead(text []byte) (head, bool) {
	c, err := webp.DecodeConfig(bytes.NewReader(text))
	if err != nil {
		return head{}, false
	}
	return head{c.Width, c.Height, sides(c.Width, c.Height) * 8, 1, webp.Decode}, true
}

// sides multiplies without overflow on a 32-bit machine.
func sides(w, h int) int {
	if w < 0 || h < 0 || w > maxSide || h > maxSide {
		return maxDecoded + 1
	}
	return min(w*h, maxDecoded+1)
}

// jpegHead walks the segments up to the frame's header. A progressive picture
// is held as coefficients of four bytes beside its samples.
func jpegHead(text []byte) (head, bool) {
	h := head{orientation: 1, decode: jpeg.Decode}
	for at := 2; at+4 <= len(text); {
		if text[at] != 0xff {
			return head{}, false
		}
		marker := text[at+1]
		if marker == 0xff { // filling
			at++
			continue
		}
		size := int(binary.BigEndian.Uint16(text[at+2:]))
		if size < 2 || at+2+size > len(text) {
			return head{}, false
		}
		body := text[at+4 : at+2+size]
		switch {
		case marker == 0xe1:
			if o := exifOrientation(body); o != 0 {
				h.orientation = o
			}
		case marker >= 0xc0 && marker <= 0xc2:
			return h, h.frame(body, marker == 0xc2)
		case marker == 0xda || marker == 0xd9:
			return head{}, false // data before its frame
		}
		at += 2 + size
	}
	return head{}, false
}

// frame reads a frame's header: precision, height, width, then id, sampling
// and table of each component.
func (h *head) frame(body []byte, progressive bool) bool {
	if len(body) < 6 || len(body) < 6+3*int(body[5]) {
		return false
	}
	h.height, h.width = int(binary.BigEndian.Uint16(body[1:])), int(binary.BigEndian.Uint16(body[3:]))
	n := int(body[5])
	most, sum := 1, 0
	for i := range n {
		a, b := int(body[7+3*i]>>4), int(body[7+3*i]&15)
		most, sum = max(most, a*b), sum+a*b
	}
	each := 1
	if progressive {
		each += 4
	}
	if n == 4 {
		each += 4 // CMYK is turned into a picture of its own
	}
	h.bytes = int(min(int64(sides(h.width, h.height))*int64(sum*each)/int64(most), maxDecoded+1))
	return n > 0
}
