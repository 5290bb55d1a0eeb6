package daemon_test

import (
	"debug/elf"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A piKit is the folder in which testdata/pi/get has laid out what an
// emulated Raspberry Pi is made of.
type piKit string

// newPiKit finds the kit. Without one the test is skipped, or, where peers
// are required, fetches it.
func newPiKit(t *testing.T) piKit {
	t.Helper()
	folder := os.Getenv("CLUTCHD_PI_DIR")
	if folder == "" {
		cache, err := os.UserCacheDir()
		if err != nil {
			t.Fatal(err)
		}
		folder = filepath.Join(cache, "clutchd-pi")
	}
	if k := piKit(folder); k.whole() {
		return k
	}
	if os.Getenv("CLUTCHD_PEERS") != "required" {
		t.Skipf("no emulated Pi in %s: run testdata/pi/get %[1]s", folder)
	}
	t.Logf("fetching an emulated Pi into %s", folder)
	if said, err := exec.Command("../testdata/pi/get", folder).CombinedOutput(); err != nil {
		t.Fatalf("testdata/pi/get %s: %v\n%s", folder, err, said)
	}
	return piKit(folder)
}

func (k piKit) whole() bool {
	for _, part := range []string{"linux", "busybox", "qemu"} {
		if _, err := os.Stat(k.path(part)); err != nil {
			return false
		}
	}
	return true
}

func (k piKit) path(parts ...string) string {
	return filepath.Join(append([]string{string(k)}, parts...)...)
}

// qemu runs the kit's QEMU under the kit's own loader and libraries.
func (k piKit) qemu(args ...string) *exec.Cmd {
	lib, _ := filepath.Glob(k.path("qemu", "lib", "*-linux-gnu"))
	more, _ := filepath.Glob(k.path("qemu", "usr", "lib", "*-linux-gnu"))
	args = append([]string{
		"--library-path", strings.Join(append(lib, more...), ":"),
		k.path("qemu", "usr", "bin", "qemu-system-aarch64"),
		"-L", k.path("qemu", "usr", "share", "qemu"),
	}, args...)
	cmd := exec.Command(k.path("qemu", "loader"), args...)
	// Modules that the machine has may be another version's.
	cmd.Env = append(os.Environ(), "QEMU_MODULE_DIR=/nonexistent")
	return cmd
}

// modules gives the files of the named drivers and of all that they depend
// on, in the order in which they can be loaded. A dependency without a file
// is built into the kernel.
func (k piKit) modules(t *testing.T, names ...string) []string {
	t.Helper()
	files := k.drivers(t)
	var order []string
	seen := map[string]bool{}
	var load func(name string)
	load = func(name string) {
		path := files[name]
		if seen[name] || path == "" {
			return
		}
		seen[name] = true
		for _, d := range dependencies(t, path) {
			load(d)
		}
		order = append(order, path)
	}
	for _, name := range names {
		if files[moduleName(name)] == "" {
			t.Fatalf("driver %s is not in %s", name, k)
		}
		load(moduleName(name))
	}
	return order
}

// drivers gives the file of each driver by name.
func (k piKit) drivers(t *testing.T) map[string]string {
	t.Helper()
	files := map[string]string{}
	keep := func(path string, _ fs.DirEntry, err error) error {
		if name, ok := strings.CutSuffix(filepath.Base(path), ".ko"); ok {
			files[moduleName(name)] = path
		}
		return err
	}
	if err := filepath.WalkDir(k.path("linux", "drivers"), keep); err != nil {
		t.Fatal(err)
	}
	return files
}

// moduleName is a driver's name as its dependants write it.
func moduleName(name string) string { return strings.ReplaceAll(name, "-", "_") }

// dependencies reads what a driver says of itself.
func dependencies(t *testing.T, path string) []string {
	t.Helper()
	f, err := elf.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	section := f.Section(".modinfo")
	if section == nil {
		t.Fatalf("%s says nothing of itself", path)
	}
	text, err := section.Data()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	for word := range strings.SplitSeq(string(text), "\x00") {
		if list, ok := strings.CutPrefix(word, "depends="); ok {
			return strings.FieldsFunc(moduleName(list), func(r rune) bool { return r == ',' })
		}
	}
	return nil
}

// buildForPi builds the program as it is installed on a 64-bit Pi.
func buildForPi(t *testing.T) string {
	t.Helper()
	out := filepath.Join(t.TempDir(), "clutchd")
	build := exec.Command("go", "build", "-trimpath", "-ldflags=-s -w", "-o", out,
		"clutchd/daemon/clutchd")
	build.Env = append(os.Environ(), "CGO_ENABLED=0", "GOOS=linux", "GOARCH=arm64", "GOFLAGS=")
	if said, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build for arm64: %v\n%s", err, said)
	}
	return out
}
