package store

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

const lockName = "lock"

// A holder says who has a folder: the content of its lock file.
type holder struct {
	PID    int       `json:"pid"`
	Since  time.Time `json:"since"`
	Socket string    `json:"socket,omitempty"`
}

// A lockFile keeps a second process out of a folder. The lock is the kernel's
// and ends with the process, however it ends; the content is only for people.
type lockFile struct{ f *os.File }

func takeLock(dir, socket string) (*lockFile, error) {
	f, err := os.OpenFile(filepath.Join(dir, lockName), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("open store lock: %w", err)
	}
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return nil, orClose(held(dir, f), f.Close)
	}
	if err != nil {
		return nil, orClose(fmt.Errorf("lock store %s: %w", dir, err), f.Close)
	}
	// A full card must not keep the alarms from starting: the lock holds
	// without its content.
	_ = sign(f, socket)
	return &lockFile{f}, nil
}

// sign writes who holds the lock.
func sign(f *os.File, socket string) error {
	text, err := json.Marshal(holder{os.Getpid(), time.Now().UTC().Truncate(time.Second), socket})
	if err != nil {
		return err
	}
	if err := f.Truncate(0); err != nil {
		return err
	}
	_, err = f.WriteAt(append(text, '\n'), 0)
	return err
}

// held reads the holder's own words; they may be missing or half written.
func held(dir string, f *os.File) error {
	var h holder
	text, err := io.ReadAll(io.LimitReader(f, 4096))
	if err != nil || json.Unmarshal(text, &h) != nil || h.PID == 0 {
		return &told{
			fmt.Sprintf("open store %s: another process holds it", dir),
			"Stop the other process first.", ErrHeld,
		}
	}
	t := &told{
		what: fmt.Sprintf("open store %s: process %d has held it since %s",
			dir, h.PID, h.Since.Format(time.RFC3339)),
		hint: "Stop that process first.",
		is:   ErrHeld,
	}
	if h.Socket != "" {
		t.hint = fmt.Sprintf("Stop that process first, or ask it over its socket %s.", h.Socket)
	}
	return t
}

func (l *lockFile) release() error {
	if err := l.f.Close(); err != nil {
		return fmt.Errorf("release store lock: %w", err)
	}
	return nil
}
