package daemon_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

// A cpio is an archive in the format that the kernel unpacks at its start,
// "newc", as its Documentation/driver-api/early-userspace/buffer-format.rst
// has it. It is left uncompressed, to spare the emulated processor
// unpacking.
type cpio struct {
	bytes.Buffer
	files int
}

// File types of cpio's mode field.
const (
	cpioFile   = 0o100000
	cpioFolder = 0o040000
)

func (c *cpio) add(name string, mode int, body []byte) {
	c.files++
	// inode, mode, uid, gid, links, mtime, size, device, own device, name, check
	fmt.Fprintf(c, "070701%08x%08x%08x%08x%08x%08x%08x%08x%08x%08x%08x%08x%08x",
		c.files, mode, 0, 0, 1, 0, len(body), 0, 0, 0, 0, len(name)+1, 0)
	c.WriteString(name + "\x00")
	c.pad()
	c.Write(body)
	c.pad()
}

func (c *cpio) pad() { c.Write(make([]byte, -c.Len()&3)) }

func (c *cpio) folder(name string) { c.add(name, cpioFolder|0o755, nil) }

func (c *cpio) text(name, body string) { c.add(name, cpioFile|0o755, []byte(body)) }

func (c *cpio) file(t *testing.T, name, from string) {
	t.Helper()
	body, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	c.add(name, cpioFile|0o755, body)
}

// end closes the archive and writes it into a file.
func (c *cpio) end(t *testing.T) string {
	t.Helper()
	c.add("TRAILER!!!", 0, nil)
	path := filepath.Join(t.TempDir(), "initramfs")
	if err := os.WriteFile(path, c.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
