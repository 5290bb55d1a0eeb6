package photo

import (
	"image"
	"image/color"
)

// shrink gives the picture at most long on its longer side, each pixel the
// mean of those that it stands for, over white where it is transparent. A row
// at a time: the kernels of x/image/draw hold 32 bytes for each column of the
// small and row of the large picture, hundreds of megabytes here.
func shrink(src image.Image, long int) *image.RGBA {
	b := src.Bounds()
	w, h := fit(b.Dx(), b.Dy(), long)
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	line := make([]uint8, 3*b.Dx())
	flat, sum := make([]float32, 3*w), make([]float32, 3*w)
	across, down := float64(b.Dx())/float64(w), float64(b.Dy())/float64(h)
	have := -1
	for j := range h {
		clear(sum)
		from, to := float64(j)*down, float64(j+1)*down
		for y := int(from); y < b.Dy() && float64(y) < to; y++ {
			if y != have {
				row(src, b.Min.Y+y, line)
				squeeze(line, flat, across)
				have = y
			}
			share := float32((min(to, float64(y+1)) - max(from, float64(y))) / down)
			for i, v := range flat {
				sum[i] += v * share
			}
		}
		for i := range w {
			p := out.Pix[out.PixOffset(i, j):]
			p[0], p[1], p[2], p[3] = level(sum[3*i]), level(sum[3*i+1]), level(sum[3*i+2]), 255
		}
	}
	return out
}

func level(f float32) uint8 { return uint8(min(255, max(0, f+0.5))) }

// fit gives the sides of a picture that is at most long, at least 1.
func fit(w, h, long int) (int, int) {
	most := max(w, h)
	if most <= long {
		return w, h
	}
	return max(1, (w*long+most/2)/most), max(1, (h*long+most/2)/most)
}

// squeeze gives the means of a row, across pixels of it to one.
func squeeze(line []uint8, flat []float32, across float64) {
	n := len(line) / 3
	for i := range len(flat) / 3 {
		from, to := float64(i)*across, float64(i+1)*across
		var r, g, b float32
		for x := int(from); x < n && float64(x) < to; x++ {
			share := float32((min(to, float64(x+1)) - max(from, float64(x))) / across)
			r += float32(line[3*x]) * share
			g += float32(line[3*x+1]) * share
			b += float32(line[3*x+2]) * share
		}
		flat[3*i], flat[3*i+1], flat[3*i+2] = r, g, b
	}
}

// row reads one row of a picture as red, green, blue.
func row(src image.Image, y int, line []uint8) {
	b := src.Bounds()
	switch m := src.(type) {
	case *image.YCbCr:
		for x := range b.Dx() {
			luma, chroma := m.YOffset(b.Min.X+x, y), m.COffset(b.Min.X+x, y)
			line[3*x], line[3*x+1], line[3*x+2] = color.YCbCrToRGB(m.Y[luma], m.Cb[chroma], m.Cr[chroma])
		}
	case *image.RGBA: // ours: opaque
		for x := range b.Dx() {
			copy(line[3*x:3*x+3], m.Pix[m.PixOffset(b.Min.X+x, y):])
		}
	default:
		for x := range b.Dx() {
			r, g, bl, a := src.At(b.Min.X+x, y).RGBA()
			paper := 0xffff - a
			line[3*x], line[3*x+1], line[3*x+2] = uint8((r+paper)>>8), uint8((g+paper)>>8), uint8((bl+paper)>>8)
		}
	}
}

// turn sets a picture upright that was taken with the camera held otherwise,
// as Exif numbers it.
func turn(m *image.RGBA, orientation int) *image.RGBA {
	if orientation <= 1 || orientation > 8 {
		return m
	}
	w, h := m.Rect.Dx(), m.Rect.Dy()
	to := image.Rect(0, 0, w, h)
	if orientation >= 5 {
		to = image.Rect(0, 0, h, w)
	}
	out := image.NewRGBA(to)
	for y := range to.Dy() {
		for x := range to.Dx() {
			sx, sy := x, y
			switch orientation {
			case 2:
				sx = w - 1 - x
			case 3:
				sx, sy = w-1-x, h-1-y
			case 4:
				sy = h - 1 - y
			case 5:
				sx, sy = y, x
			case 6:
				sx, sy = y, h-1-x
			case 7:
				sx, sy = w-1-y, h-1-x
			case 8:
				sx, sy = w-1-y, x
			}
			copy(out.Pix[out.PixOffset(x, y):][:4], m.Pix[m.PixOffset(sx, sy):])
		}
	}
	return out
}
