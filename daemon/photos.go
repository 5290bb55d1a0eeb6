package daemon

import (
	"context"
	"errors"
	"io"
	"path/filepath"

	"clutchd/daemon/monitor"
	"clutchd/daemon/photo"
	"clutchd/daemon/web"
)

// PhotosFolder holds the pictures of animals, in the state folder.
const PhotosFolder = "photos"

// album is where the pages keep pictures; a refusal of theirs is one for the
// keeper.
type album struct{ *photo.Album }

var _ web.Photos = album{}

func photosIn(folder string) album { return album{photo.New(filepath.Join(folder, PhotosFolder))} }

// Keep is photo.Album.Keep.
func (a album) Keep(ctx context.Context, from io.Reader) (string, error) {
	name, err := a.Album.Keep(ctx, from)
	if refusal, ok := errors.AsType[*photo.Refusal](err); ok {
		return "", &monitor.Refusal{Field: "photo", Text: refusal.Text}
	}
	return name, err
}
