package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"go.etcd.io/bbolt"
)

// A fileConfig is what opening any of a folder's files needs.
type fileConfig struct {
	Options
	dir    string
	damage *damageLog
}

func (c fileConfig) path(name string) string { return filepath.Join(c.dir, name) }

// stamp is the time as it stands in file names; it sorts as time does.
const stamp = "20060102T150405Z"

// backupName gives the name of a copy made at t. Copies of the book begin
// with book-backup-.
func (c fileConfig) backupName(name string, t time.Time) string {
	base := strings.TrimSuffix(name, ".db")
	return c.path(base + "-backup-" + t.UTC().Format(stamp) + ".db")
}

// A backup is a sound copy of a file beside it.
type backup struct {
	path   string
	schema uint32
}

// newestBackup gives k's newest sound copy, if it is backed and has one.
func (c fileConfig) newestBackup(k kind) (backup, bool) {
	if !k.backed {
		return backup{}, false
	}
	all, err := filepath.Glob(c.path(strings.TrimSuffix(k.name, ".db") + "-backup-*.db"))
	if err != nil {
		return backup{}, false
	}
	slices.Sort(all)
	for _, path := range slices.Backward(all) {
		if r := inspect(path); r.sound() && r.schema <= k.schema.version {
			return backup{path, r.schema}, true
		}
	}
	return backup{}, false
}

// A finding is what a look at a file gave.
type finding struct {
	missing bool
	schema  uint32 // 0: it could not be read
	damage  error  // why the file must not be used as it is
	err     error  // why nothing can be said
}

func (f finding) sound() bool { return !f.missing && f.damage == nil && f.err == nil }

// inspect reads a file's pages and schema without opening it. It does not
// look into the values.
func inspect(path string) finding { return inspectValues(path, nil) }

// A checker looks at the values of a file. An error condemns the file.
type checker interface {
	value(bucket string, key, value []byte) error
	done() error // after the last value
}

// inspectValues also shows each value to check, if that is not nil.
func inspectValues(path string, check checker) finding {
	var found finding
	var bad error
	problems, err := walkFile(path, func(names []string, key, value []byte) {
		bucket := strings.Join(names, "/")
		if bucket == metaBucket && string(key) == string(schemaKey) {
			found.schema, _ = schemaOf(value)
		} else if check != nil && bad == nil {
			bad = check.value(bucket, key, value)
		}
	})
	if check != nil && bad == nil && err == nil {
		bad = check.done()
	}
	switch {
	case errors.Is(err, os.ErrNotExist):
		found.missing = true
	case err != nil:
		found.err = err
	case len(problems) > 0:
		found.damage = problems[0]
	case bad != nil:
		found.damage = bad
	case found.schema == 0:
		found.damage = errNoSchema
	}
	return found
}

func walkFile(path string, visit visit) ([]error, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	return walkPages(f, info.Size(), visit), nil
}

// open opens a file of the folder, creating it, migrating it, or mending it
// if it is damaged.
func (c fileConfig) open(k kind) (*file, error) {
	k.schema = k.schema.under(c.Options)
	path := c.path(k.name)
	found := inspectValues(path, k.check)
	has, err := found.schema, error(nil)
	switch {
	case has > k.schema.version:
		err = newer(k.name, has, k.schema.version)
	case found.err != nil:
		err = fmt.Errorf("read %s: %w", k.name, found.err)
	case found.missing:
		has, err = c.begin(k)
	case found.damage != nil:
		has, err = c.mend(k, found)
	}
	if err != nil {
		return nil, err
	}
	return c.openSound(path, k.schema, has)
}

// openSound opens a file known to be sound, which has the given version of
// its schema.
func (c fileConfig) openSound(path string, to schema, has uint32) (*file, error) {
	f, err := openBolt(path, c.noSync)
	if err != nil {
		return nil, err
	}
	if err := c.migrate(f, to, has); err != nil {
		return nil, orClose(err, f.close)
	}
	return f, nil
}

// A kind is one of the folder's files as opening it sees it.
type kind struct {
	name   string
	layout layout
	schema schema
	check  checker // looks at every value on opening
	// backed: a missing or damaged file is begun from its newest backup.
	backed bool
	// renewed, if set, is called on a file begun in place of a damaged one.
	renewed func(*bbolt.Tx) error
}

// begin creates a missing file, from its newest backup if there is one, and
// gives its schema.
func (c fileConfig) begin(k kind) (uint32, error) {
	from, ok := c.newestBackup(k)
	if !ok {
		return k.schema.version, create(c.path(k.name), c.noSync, func(f *file) error {
			return f.update(func(tx *bbolt.Tx) error { return k.layout.lay(tx, k.schema.version) })
		})
	}
	if _, err := c.rebuild(k, from.schema, from.path); err != nil {
		return 0, err
	}
	c.damage.tell("%s was missing; it was begun from the copy %s.",
		k.name, filepath.Base(from.path))
	return from.schema, c.replace(k.name)
}

// mend sets a damaged file aside and puts one in its place that holds its
// newest backup, where it is backed, and whatever of the damaged file can be
// read and fits its checksum. It gives the new file's schema.
func (c fileConfig) mend(k kind, found finding) (uint32, error) {
	path := c.path(k.name)
	version, sources, from := c.sources(k, found)
	kept, err := c.rebuild(k, version, sources...)
	if err != nil {
		return 0, fmt.Errorf("replace damaged %s (%v): %w", k.name, found.damage, err)
	}
	aside := unused(path + ".damaged-" + time.Now().UTC().Format(stamp))
	if err := setAside(path, aside); err != nil {
		return 0, fmt.Errorf("set damaged %s aside (%v): %w", k.name, found.damage, err)
	}
	if err := c.replace(k.name); err != nil {
		return 0, err
	}
	c.damage.tell("%s is damaged (%v). It was set aside as %s; %d pieces of it could be kept%s.",
		k.name, found.damage, filepath.Base(aside), kept, from)
	return version, nil
}

// sources says what a damaged file's successor is built from, oldest first,
// and in which schema. Values of different schemas are never mixed.
func (c fileConfig) sources(k kind, found finding) (version uint32, paths []string, from string) {
	version = found.schema
	copied, ok := c.newestBackup(k)
	if version == 0 {
		version = k.schema.version
		if ok {
			version = copied.schema
		}
	}
	if ok && copied.schema == version {
		paths = append(paths, copied.path)
		from = fmt.Sprintf(", added to the copy %s", filepath.Base(copied.path))
	}
	if found.schema == version || version == k.schema.version {
		paths = append(paths, c.path(k.name))
	}
	return version, paths, from
}

// unused gives a name that no file has yet.
func unused(path string) string {
	name := path
	for i := 2; ; i++ {
		if _, err := os.Lstat(name); errors.Is(err, os.ErrNotExist) {
			return name
		} else if err != nil {
			return path
		}
		name = fmt.Sprintf("%s-%d", path, i)
	}
}

// setAside gives the file a second name, so that its own is never missing;
// where the file system knows no second names, it is renamed.
func setAside(path, aside string) error {
	if os.Link(path, aside) == nil {
		return nil
	}
	return os.Rename(path, aside)
}

// replace puts the file that rebuild wrote in its place.
func (c fileConfig) replace(name string) error {
	path := c.path(name)
	if err := os.Rename(path+".new", path); err != nil {
		return fmt.Errorf("replace %s: %w", name, err)
	}
	return syncFolder(c.dir)
}

// rebuild writes a new file beside k's from the values of the sources that
// fit their checksums, later sources winning, and says how many the last one
// gave.
func (c fileConfig) rebuild(k kind, version uint32, sources ...string) (kept int, err error) {
	_, err = prepare(c.path(k.name), c.noSync, func(f *file) error {
		err := f.update(func(tx *bbolt.Tx) error { return k.layout.lay(tx, version) })
		for _, source := range sources {
			if err == nil {
				kept, err = k.layout.salvage(f, source)
			}
		}
		if err != nil || k.renewed == nil {
			return err
		}
		return f.update(k.renewed)
	})
	return kept, err
}
