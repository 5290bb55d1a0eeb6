package command

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"clutchd/daemon"
)

// exportPhotos copies the kept pictures, but for their thumbnails, and says
// how many; a picture is never changed once it is kept, so a running daemon
// need not be asked.
func exportPhotos(from, to string) (int, error) {
	all, err := filepath.Glob(filepath.Join(from, daemon.PhotosFolder, "*[0-9a-f].jpg"))
	if err != nil || len(all) == 0 {
		return 0, err
	}
	out := filepath.Join(to, daemon.PhotosFolder)
	if err := os.Mkdir(out, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return 0, fmt.Errorf("export pictures: %w", err)
	}
	for _, path := range all {
		err := writeFile(filepath.Join(out, filepath.Base(path)), func(w *bufio.Writer) error {
			f, err := os.Open(path)
			if err != nil {
				return err
			}
			defer func() { _ = f.Close() }()
			_, err = io.Copy(w, f)
			return err
		})
		if err != nil {
			return 0, err
		}
	}
	return len(all), nil
}
