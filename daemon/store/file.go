package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"sync/atomic"
	"time"

	"go.etcd.io/bbolt"
)

const (
	// maxFile bounds a file: two hundred probes for a year, and little enough
	// for a 32-bit address space.
	maxFile = 512 << 20
	// allocation is how much a file grows at a time; bbolt's own 16 MiB would
	// be most of a small file.
	allocation = 1 << 20
	lockWait   = time.Second
)

// errBroken is what a file says after a fault: nothing is written to it any
// more.
var errBroken = errors.New("the file is damaged")

// A fault is a panic of bbolt or of the memory behind a file's map: damage,
// or a disk that does not answer.
type fault struct{ cause any }

func (f *fault) Error() string { return fmt.Sprintf("page fault: %v", f.cause) }

// guard runs fn and turns a panic or a memory fault in it into a *fault.
func guard(fn func() error) (err error) {
	old := debug.SetPanicOnFault(true)
	defer debug.SetPanicOnFault(old)
	defer func() {
		if p := recover(); p != nil {
			err = &fault{p}
		}
	}()
	return fn()
}

// A file is an open bbolt file whose faults are errors.
type file struct {
	path   string
	db     *bbolt.DB
	raw    *os.File // bbolt's own handle
	broken atomic.Bool
}

// openBolt opens a file that exists and was found sound.
func openBolt(path string, noSync bool) (*file, error) {
	f := &file{path: path}
	err := guard(func() (err error) {
		f.db, err = bbolt.Open(path, 0o600, f.options(noSync))
		return err
	})
	if err != nil {
		if f.raw != nil {
			f.raw.Close() // bbolt has, unless it panicked
		}
		return nil, fmt.Errorf("open %s: %w", filepath.Base(path), err)
	}
	f.db.AllocSize = allocation
	return f, nil
}

func (f *file) options(noSync bool) *bbolt.Options {
	return &bbolt.Options{
		Timeout:      lockWait,
		PageSize:     pageSize,
		MaxSize:      maxFile,
		FreelistType: bbolt.FreelistMapType,
		NoSync:       noSync,
		OpenFile: func(name string, flag int, mode os.FileMode) (*os.File, error) {
			raw, err := os.OpenFile(name, flag, mode)
			f.raw = raw
			return raw, err
		},
	}
}

// view runs fn in a read transaction.
func (f *file) view(fn func(*bbolt.Tx) error) error {
	if f.broken.Load() {
		return errBroken
	}
	return guard(func() error { return f.db.View(fn) })
}

// update runs fn in a write transaction; nil: it is on the disk. After a
// fault the file is broken, for bbolt may still hold its own lock.
func (f *file) update(fn func(*bbolt.Tx) error) error {
	if f.broken.Load() {
		return errBroken
	}
	err := guard(func() error { return f.db.Update(fn) })
	var damage *fault
	if errors.As(err, &damage) {
		f.broken.Store(true)
	}
	return err
}

// close closes the file. A broken one only lets go of its handle: bbolt would
// wait for ever for its own lock.
func (f *file) close() error {
	if f.broken.Load() {
		return f.raw.Close()
	}
	return guard(f.db.Close)
}

// create makes a new file appear under path whole or not at all: it is
// written beside it, synced and renamed.
func create(path string, noSync bool, fill func(*file) error) error {
	fresh, err := prepare(path, noSync, fill)
	if err != nil {
		return err
	}
	if err := os.Rename(fresh, path); err != nil {
		return fmt.Errorf("create %s: %w", filepath.Base(path), err)
	}
	return syncFolder(filepath.Dir(path))
}

// prepare writes a new file beside path, syncs it and gives its name.
func prepare(path string, noSync bool, fill func(*file) error) (string, error) {
	fresh := path + ".new"
	if err := os.Remove(fresh); err != nil && !os.IsNotExist(err) {
		return "", fmt.Errorf("create %s: %w", filepath.Base(path), err)
	}
	f, err := openBolt(fresh, noSync)
	if err != nil {
		return "", err
	}
	err = fill(f)
	if cerr := f.close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = syncFile(fresh)
	}
	if err != nil {
		os.Remove(fresh)
		return "", fmt.Errorf("create %s: %w", filepath.Base(path), err)
	}
	return fresh, nil
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer f.Close()
	return f.Sync()
}

// copyTo writes the file as it is now to path, whole or not at all. The read
// transaction lasts as long as the local disk needs.
func (f *file) copyTo(path string) error {
	fresh := path + ".new"
	err := f.view(func(tx *bbolt.Tx) error { return tx.CopyFile(fresh, 0o600) })
	if err == nil {
		err = syncFile(fresh)
	}
	if err == nil {
		err = os.Rename(fresh, path)
	}
	if err != nil {
		os.Remove(fresh)
		return fmt.Errorf("copy %s: %w", filepath.Base(f.path), err)
	}
	return syncFolder(filepath.Dir(path))
}
