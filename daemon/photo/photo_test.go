package photo_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"clutchd/daemon/photo"
)

// quarters is a picture whose four corners are told apart: red, green, blue
// and white from the top left on, row by row.
func quarters(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	corners := [4]color.RGBA{{220, 30, 30, 255}, {30, 200, 30, 255}, {30, 30, 220, 255}, {250, 250, 250, 255}}
	for y := range h {
		for x := range w {
			m.SetRGBA(x, y, corners[2*(2*y/h)+2*x/w])
		}
	}
	return m
}

func asJPEG(t testing.TB, m image.Image) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := jpeg.Encode(&out, m, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func asPNG(t testing.TB, m image.Image) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := png.Encode(&out, m); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

const secret = "Invented Street 7, 52.5200 N"

// withExif puts a segment into a JPEG as a camera does: an orientation, the
// maker, and a GPS directory that holds where it was taken.
func withExif(t testing.TB, text []byte, orientation uint16, order binary.AppendByteOrder) []byte {
	t.Helper()
	tiff := []byte("MM\x00*")
	if order.String() == binary.LittleEndian.String() {
		tiff = []byte("II*\x00")
	}
	tiff = order.AppendUint32(tiff, 8)
	entry := func(tag, kind uint16, n, value uint32) {
		tiff = order.AppendUint16(order.AppendUint16(tiff, tag), kind)
		tiff = order.AppendUint32(tiff, n)
		if kind == 3 { // a short stands at the front of its four bytes
			tiff = order.AppendUint16(order.AppendUint16(tiff, uint16(value)), 0)
			return
		}
		tiff = order.AppendUint32(tiff, value)
	}
	const gps = 8 + 2 + 2*12 + 4
	tiff = order.AppendUint16(tiff, 2)
	entry(0x0112, 3, 1, uint32(orientation))
	entry(0x8825, 4, 1, gps)
	tiff = order.AppendUint32(tiff, 0)
	tiff = order.AppendUint16(tiff, 1)
	entry(0x001c, 2, uint32(len(secret)), gps+2+12+4)
	tiff = order.AppendUint32(tiff, 0)
	tiff = append(tiff, secret...)
	body := append([]byte("Exif\x00\x00"), tiff...)
	out := append([]byte{}, text[:2]...)
	out = append(out, 0xff, 0xe1)
	out = binary.BigEndian.AppendUint16(out, uint16(len(body)+2))
	return append(append(out, body...), text[2:]...)
}

// kept keeps a picture in a new album and gives it and its thumbnail back.
func kept(t *testing.T, text []byte) (large, small image.Image, raw []byte) {
	t.Helper()
	a := photo.New(filepath.Join(t.TempDir(), "photos"))
	name, err := a.Keep(context.Background(), bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	var out [2]image.Image
	for i, thumbnail := range []bool{false, true} {
		f, err := a.Open(name, thumbnail)
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(f)
		if err := errors.Join(err, f.Close()); err != nil {
			t.Fatal(err)
		}
		raw = append(raw, b...)
		if out[i], err = jpeg.Decode(bytes.NewReader(b)); err != nil {
			t.Fatal(err)
		}
	}
	return out[0], out[1], raw
}

// corner says which of the four colours stands nearest to a corner.
func corner(m image.Image, right, bottom bool) string {
	b := m.Bounds()
	x, y := b.Dx()/8, b.Dy()/8
	if right {
		x = b.Dx() - 1 - x
	}
	if bottom {
		y = b.Dy() - 1 - y
	}
	r, g, bl, _ := m.At(x, y).RGBA()
	switch {
	case r > 0xc000 && g > 0xc000:
		return "white"
	case r > 0xa000:
		return "red"
	case g > 0xa000:
		return "green"
	case bl > 0xa000:
		return "blue"
	}
	return "none of the four"
}

func corners(m image.Image) string {
	return strings.Join([]string{
		corner(m, false, false), corner(m, true, false),
		corner(m, false, true), corner(m, true, true),
	}, " ")
}

func TestPictureIsTurnedUpright(t *testing.T) {
	upright := "red green blue white"
	for _, c := range []struct {
		sentence    string
		orientation uint16
		want        string // corners, row by row
		tall        bool
	}{
		{"upright stays", 1, upright, false},
		{"mirrored", 2, "green red white blue", false},
		{"on its head", 3, "white blue green red", false},
		{"mirrored on its head", 4, "blue white red green", false},
		{"mirrored and on its side", 5, "red blue green white", true},
		{"held upright, the phone's usual way", 6, "blue red white green", true},
		{"mirrored on its other side", 7, "white green blue red", true},
		{"held upright the other way", 8, "green white red blue", true},
		{"what no camera writes is left alone", 9, upright, false},
	} {
		for _, order := range []binary.AppendByteOrder{binary.BigEndian, binary.LittleEndian} {
			large, small, _ := kept(t, withExif(t, asJPEG(t, quarters(120, 60)), c.orientation, order))
			if got := corners(large); got != c.want {
				t.Errorf("%s: corners %s, want %s", c.sentence, got, c.want)
			}
			if got := corners(small); got != c.want {
				t.Errorf("%s: the thumbnail's corners %s, want %s", c.sentence, got, c.want)
			}
			if b := large.Bounds(); (b.Dy() > b.Dx()) != c.tall {
				t.Errorf("%s: it is %v", c.sentence, b)
			}
		}
	}
}

func TestNothingTheCameraNotedSurvives(t *testing.T) {
	text := withExif(t, asJPEG(t, quarters(300, 200)), 6, binary.BigEndian)
	if !bytes.Contains(text, []byte(secret)) {
		t.Fatal("the picture does not say where it was taken")
	}
	_, _, raw := kept(t, text)
	for _, trace := range []string{secret, "Exif", "GPS", "http", "Photoshop"} {
		if bytes.Contains(raw, []byte(trace)) {
			t.Errorf("what is kept holds %q", trace)
		}
	}
	for i := 0; i+1 < len(raw); i++ {
		if raw[i] == 0xff && raw[i+1] >= 0xe1 && raw[i+1] <= 0xef {
			t.Errorf("what is kept holds an application segment %x", raw[i+1])
		}
	}
}

func TestPictureIsMadeSmaller(t *testing.T) {
	for _, c := range []struct {
		sentence     string
		text         []byte
		large, small image.Point
	}{
		{"wide", asJPEG(t, quarters(1700, 1275)), image.Pt(1600, 1200), image.Pt(320, 240)},
		{"tall", asPNG(t, quarters(360, 1800)), image.Pt(320, 1600), image.Pt(64, 320)},
		{"small stays small", asPNG(t, quarters(40, 20)), image.Pt(40, 20), image.Pt(40, 20)},
		{"a thread", asPNG(t, quarters(4000, 1)), image.Pt(1600, 1), image.Pt(320, 1)},
	} {
		large, small, _ := kept(t, c.text)
		if large.Bounds().Size() != c.large || small.Bounds().Size() != c.small {
			t.Errorf("%s: kept as %v and %v, want %v and %v", c.sentence,
				large.Bounds().Size(), small.Bounds().Size(), c.large, c.small)
		}
		if got := corners(large); c.large.Y > 1 && got != "red green blue white" {
			t.Errorf("%s: corners %s", c.sentence, got)
		}
	}
}

// A fine chequer's mean is grey; taking every third pixel of it would give black
// and white bands.
func TestSmallerIsTheMean(t *testing.T) {
	m := image.NewGray(image.Rect(0, 0, 1000, 700))
	for y := range 700 {
		for x := range 1000 {
			m.SetGray(x, y, color.Gray{Y: uint8(255 * ((x + y) % 2))})
		}
	}
	_, small, _ := kept(t, asPNG(t, m))
	for y := range small.Bounds().Dy() {
		for x := range small.Bounds().Dx() {
			if r, _, _, _ := small.At(x, y).RGBA(); r>>8 < 100 || r>>8 > 155 {
				t.Fatalf("a pixel of a fine chequer is %d, want about 128", r>>8)
			}
		}
	}
}

func TestTransparentIsPaper(t *testing.T) {
	large, _, _ := kept(t, asPNG(t, image.NewNRGBA(image.Rect(0, 0, 8, 8))))
	if r, _, _, _ := large.At(4, 4).RGBA(); r>>8 < 250 {
		t.Errorf("what is transparent became %d", r>>8)
	}
}

func TestWebPIsRead(t *testing.T) {
	text, err := base64.StdEncoding.DecodeString("UklGRiIAAABXRUJQVlA4IBYAAAAwAQCdASoBAAEADsD+JaQAA3AAAAAA")
	if err != nil {
		t.Fatal(err)
	}
	if large, _, _ := kept(t, text); large.Bounds().Size() != image.Pt(1, 1) {
		t.Errorf("it is %v", large.Bounds())
	}
}

// claims is the beginning of a JPEG of some size, without its picture.
func claims(sof byte, w, h uint16, sampling byte) []byte {
	b := []byte{0xff, 0xd8, 0xff, sof, 0, 17, 8}
	b = binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint16(b, h), w)
	return append(b, 3, 1, sampling, 0, 2, 0x11, 0, 3, 0x11, 0)
}

// pngClaims is a PNG that says it is so large.
func pngClaims(t testing.TB, w, h uint32) []byte {
	b := asPNG(t, image.NewNRGBA(image.Rect(0, 0, 1, 1)))
	head := b[12:29]
	binary.BigEndian.PutUint32(head[4:], w)
	binary.BigEndian.PutUint32(head[8:], h)
	binary.BigEndian.PutUint32(b[29:], crc(head))
	return b
}

func crc(b []byte) uint32 {
	c := ^uint32(0)
	for _, x := range b {
		c ^= uint32(x)
		for range 8 {
			c = c>>1 ^ 0xedb88320&-(c&1)
		}
	}
	return ^c
}

func TestRefusedPictures(t *testing.T) {
	good := asJPEG(t, quarters(200, 100))
	overflows := "would take too much"
	if strconv.IntSize == 32 {
		overflows = "damaged" // the library itself takes it for that there
	}
	for _, c := range []struct {
		sentence string
		text     []byte
		says     string
	}{
		{"a text", []byte("this is a text, not a picture at all"), "no JPEG, PNG or WebP"},
		{"nothing", nil, "no JPEG, PNG or WebP"},
		{"a JPEG that ends early", good[:len(good)/2], "damaged"},
		{"a JPEG that ends in its header", good[:30], "damaged"},
		{"a JPEG of nothing", claims(0xc0, 0, 100, 0x11), "damaged"},
		{"a PNG that unfolds to 400 MB", pngClaims(t, 10000, 10000), "10000 × 10000 would take too much memory"},
		{"a side that no camera has", pngClaims(t, 30000, 10), "30000 × 10 would"},
		{"a PNG whose sides multiply to nothing on 32 bits", pngClaims(t, 65536, 65536), overflows},
		{"a progressive JPEG of 50 megapixels", claims(0xc2, 8165, 6124, 0x22), "8165 × 6124 would"},
		{"a JPEG of 50 megapixels with all its colour", claims(0xc0, 8165, 6124, 0x11), "8165 × 6124 would"},
		{"a JPEG of 50 megapixels as a phone writes it is read, and found damaged", claims(0xc0, 8165, 6124, 0x22), "damaged"},
		{"too long a file", append(good, make([]byte, photo.MaxUpload)...), "larger than 12 MB"},
	} {
		folder := filepath.Join(t.TempDir(), "photos")
		name, err := photo.New(folder).Keep(context.Background(), bytes.NewReader(c.text))
		r, ok := errors.AsType[*photo.Refusal](err)
		if !ok || name != "" || !strings.Contains(r.Text, c.says) {
			t.Errorf("%s: %q, %v, want a refusal that says %q", c.sentence, name, err, c.says)
		}
		if left, _ := os.ReadDir(folder); len(left) > 0 {
			t.Errorf("%s: leaves %v behind", c.sentence, left)
		}
	}
}

func TestKeptOnceUnderItsContent(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "photos")
	a := photo.New(folder)
	text := asJPEG(t, quarters(500, 300))
	one, err1 := a.Keep(context.Background(), bytes.NewReader(text))
	two, err2 := a.Keep(context.Background(), bytes.NewReader(text))
	other, err3 := a.Keep(context.Background(), bytes.NewReader(asJPEG(t, quarters(300, 500))))
	if err := errors.Join(err1, err2, err3); err != nil || one != two || one == other || len(one) != 32 {
		t.Fatalf("names %q, %q and %q, %v", one, two, other, err)
	}
	if files, _ := os.ReadDir(folder); len(files) != 4 {
		t.Errorf("%d files are kept, want 4", len(files))
	}
	for _, name := range []string{"", "..", "../book.db", one + ".jpg", strings.ToUpper(one), strings.Repeat("0", 32)} {
		if _, err := a.Open(name, false); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("picture %q: %v", name, err)
		}
	}
}

func TestWriteThatFailsLeavesNothing(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "photos")
	if err := os.WriteFile(folder, nil, 0o600); err != nil { // a file where the folder should be
		t.Fatal(err)
	}
	_, err := photo.New(folder).Keep(context.Background(), bytes.NewReader(asJPEG(t, quarters(50, 30))))
	if _, refused := errors.AsType[*photo.Refusal](err); err == nil || refused {
		t.Errorf("a disk that cannot be written gives %v", err)
	}
}

func TestOnePictureAtATime(t *testing.T) {
	a := photo.New(t.TempDir())
	hold, write := io.Pipe()
	first := make(chan error)
	go func() {
		_, err := a.Keep(context.Background(), hold)
		first <- err
	}()
	if _, err := write.Write([]byte{0xff}); err != nil { // it is being read now
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := a.Keep(ctx, bytes.NewReader(nil)); !errors.Is(err, context.Canceled) {
		t.Errorf("a second picture beside it: %v", err)
	}
	_ = write.Close()
	if err := <-first; err == nil {
		t.Error("half a picture was kept")
	}
}

func FuzzKeep(f *testing.F) {
	f.Add(withExif(f, asJPEG(f, quarters(20, 10)), 6, binary.LittleEndian))
	f.Add(asPNG(f, quarters(9, 9)))
	f.Add(claims(0xc2, 300, 300, 0x22))
	a := photo.New(f.TempDir())
	f.Fuzz(func(t *testing.T, text []byte) {
		name, err := a.Keep(context.Background(), bytes.NewReader(text))
		if _, refused := errors.AsType[*photo.Refusal](err); err != nil && (!refused || name != "") {
			t.Errorf("%q, %v", name, err)
		}
	})
}

// The largest picture that is taken: B/op is what the README states.
func BenchmarkKeepFiftyMegapixels(b *testing.B) {
	m := image.NewYCbCr(image.Rect(0, 0, 8160, 6120), image.YCbCrSubsampleRatio420)
	for i := range m.Y {
		m.Y[i] = uint8(i>>4 + i/8160)
	}
	text := asJPEG(b, m)
	b.Logf("a file of %d MB", len(text)>>20)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := photo.New(b.TempDir()).Keep(context.Background(), bytes.NewReader(text)); err != nil {
			b.Fatal(err)
		}
	}
}
