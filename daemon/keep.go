package daemon

import (
	"errors"
	"os"
	"path/filepath"
)

// AccessFile holds hashes of tokens, links and sessions, in the state folder.
const AccessFile = "access.json"

// An accessFile is where the pages keep who may come in.
type accessFile string

// Load gives what the file holds; nil if there is none.
func (f accessFile) Load() ([]byte, error) {
	text, err := os.ReadFile(string(f))
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	return text, err
}

// Save replaces the file.
func (f accessFile) Save(text []byte) error { return ReplaceFile(string(f), text) }

// ReplaceFile puts text in a file that only its owner reads, whole or not at
// all. It returns once the disk has it.
func ReplaceFile(path string, text []byte) error {
	folder := filepath.Dir(path)
	f, err := os.CreateTemp(folder, ".new-*") // with mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(text)
	if err == nil {
		err = f.Sync()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	d, err := os.Open(folder)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}
