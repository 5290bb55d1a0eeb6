// Package photo keeps pictures of animals beside the store: made smaller,
// turned upright and written anew, so that nothing a camera noted about place,
// time or owner survives.
//
// It knows no animals and serves no pages: which picture is whose stands in
// the book. Sizes are in pixels and bytes. Sources: ITU-T T.81 (JPEG markers),
// CIPA DC-008 (Exif orientation), RFC 2083 (PNG header).
package photo

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime/debug"
)

const (
	// MaxUpload is the largest file that is taken.
	MaxUpload = 12 << 20
	// longSide and smallSide are the longer sides of what is kept.
	longSide, smallSide = 1600, 320
	// maxDecoded bounds what a picture may take up in memory while it is read:
	// 50 megapixels as a phone writes them (baseline, 4:2:0) are 75 MB. One is
	// read at a time.
	maxDecoded = 100_000_000
	maxSide    = 20_000
	// generous is a picture after which its memory goes back to the system at
	// once: the daemon's own share is small.
	generous = 32 << 20
	quality  = 85
)

// A Refusal says in one sentence for the keeper why a picture is not taken.
type Refusal struct{ Text string }

// Error gives the sentence.
func (r *Refusal) Error() string { return r.Text }

func refuse(format string, args ...any) error { return &Refusal{fmt.Sprintf(format, args...)} }

// An Album is a folder of pictures, each named by the hash of what is in it.
// Its methods may be called from several goroutines.
type Album struct {
	folder string
	one    chan struct{} // holds one: a picture is being read
}

// New gives the album in a folder, which is made with the first picture.
func New(folder string) *Album { return &Album{folder: folder, one: make(chan struct{}, 1)} }

// Keep reads a JPEG, PNG or WebP, writes it and its thumbnail durably and
// gives the name it is kept under: 32 hexadecimal digits. The same picture
// twice has one name. The error is a *Refusal where the picture is to blame.
func (a *Album) Keep(ctx context.Context, from io.Reader) (string, error) {
	text, err := io.ReadAll(io.LimitReader(from, MaxUpload+1))
	if err != nil {
		return "", fmt.Errorf("read a picture: %w", err)
	}
	if len(text) > MaxUpload {
		return "", refuse("the picture is larger than %d MB: send a smaller one", MaxUpload>>20)
	}
	select {
	case a.one <- struct{}{}:
		defer func() { <-a.one }()
	case <-ctx.Done():
		return "", fmt.Errorf("keep a picture: %w", ctx.Err())
	}
	whole, err := read(text)
	if err != nil {
		return "", err
	}
	large, err := encode(whole)
	if err != nil {
		return "", err
	}
	small, err := encode(shrink(whole, smallSide))
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(large)
	name := hex.EncodeToString(sum[:16])
	// The thumbnail first: where the large one is, both are.
	if err := errors.Join(a.write(file(name, true), small), a.write(file(name, false), large)); err != nil {
		return "", fmt.Errorf("keep a picture: %w", err)
	}
	return name, nil
}

// read decodes a picture within the bounds of memory, upright and at most
// longSide long.
func read(text []byte) (*image.RGBA, error) {
	h, err := header(text)
	if err != nil {
		return nil, err
	}
	whole, err := h.decode(bytes.NewReader(text))
	if err != nil {
		return nil, refuse("the picture is damaged and cannot be read")
	}
	out := turn(shrink(whole, longSide), h.orientation)
	if h.bytes > generous {
		whole = nil
		debug.FreeOSMemory()
	}
	return out, nil
}

func encode(m image.Image) ([]byte, error) {
	var out bytes.Buffer
	if err := jpeg.Encode(&out, m, &jpeg.Options{Quality: quality}); err != nil {
		return nil, fmt.Errorf("write a picture: %w", err)
	}
	return out.Bytes(), nil
}

func file(name string, small bool) string {
	if small {
		return name + "-small.jpg"
	}
	return name + ".jpg"
}

// Open gives a kept picture or its thumbnail; fs.ErrNotExist if there is none.
// The caller closes it.
func (a *Album) Open(name string, small bool) (*os.File, error) {
	if b, err := hex.DecodeString(name); err != nil || len(b) != 16 || hex.EncodeToString(b) != name {
		return nil, fmt.Errorf("open picture %q: %w", name, fs.ErrNotExist)
	}
	f, err := os.Open(filepath.Join(a.folder, file(name, small)))
	if err != nil {
		return nil, fmt.Errorf("open a picture: %w", err)
	}
	return f, nil
}

// write makes a file durable under its name, or leaves none of that name.
func (a *Album) write(name string, text []byte) error {
	path := filepath.Join(a.folder, name)
	if _, err := os.Stat(path); err == nil {
		return nil // the name is the content's
	}
	if err := os.MkdirAll(a.folder, 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(a.folder, ".new-*")
	if err != nil {
		return err
	}
	defer func() { _ = os.Remove(f.Name()) }() // gone once renamed
	_, err = f.Write(text)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	return syncFolder(a.folder)
}

// syncFolder makes a rename durable.
func syncFolder(folder string) error {
	d, err := os.Open(folder)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
