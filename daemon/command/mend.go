package command

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"

	"clutchd/daemon/config"
	"clutchd/daemon/store"
)

// hint puts below an error how to mend it.
func hint(err error, text string) error { return fmt.Errorf("%w\n%s", err, text) }

// Mend puts below an error how to mend it, where it does not say so itself.
func Mend(err error) error {
	if err == nil || strings.Contains(err.Error(), "\n") {
		return err
	}
	return hint(err, mending(err))
}

// mending says how to mend what the machine refuses.
func mending(err error) string {
	if text := store.Hint(err); text != "" {
		return text
	}
	for _, m := range []struct {
		is   error
		hint string
	}{
		{syscall.EADDRINUSE, "another program has that address: stop it, or name another in the config"},
		{syscall.EADDRNOTAVAIL, "this machine has no such address: name one of its own in the config"},
		{syscall.ENOSPC, "the disk is full: make room on it"},
		{syscall.EROFS, "that disk cannot be written: name another folder with -data or state_folder"},
		{
			syscall.ENOTDIR,
			"a file stands where a folder is needed: name another with -data or state_folder",
		},
		{fs.ErrPermission, "this user may not do that: name another folder, or be its owner"},
		{fs.ErrNotExist, "there is no such file or folder: name one that is there"},
	} {
		if errors.Is(err, m.is) {
			return m.hint
		}
	}
	return "`clutchd help COMMAND` says what a command needs"
}

// loadConfig reads a config, and says where a keeper can look up its keys.
func loadConfig(file string) (config.Config, error) {
	cfg, err := config.Load(file)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return cfg, hint(err,
			"give -config the path of a file that is there; without -config none is needed")
	case err != nil:
		return cfg, hint(err, "the sample config clutchd.toml shows every key and what it may hold")
	}
	return cfg, nil
}
