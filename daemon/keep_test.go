package daemon_test

import (
	"os"
	"path/filepath"
	"testing"

	"clutchd/daemon"
)

func TestReplaceFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "access.json")
	for _, text := range []string{"one, and long", "two"} {
		if err := daemon.ReplaceFile(path, []byte(text)); err != nil {
			t.Fatal(err)
		}
		got, err := os.ReadFile(path)
		info, err2 := os.Stat(path)
		if err != nil || err2 != nil || string(got) != text || info.Mode().Perm() != 0o600 {
			t.Errorf("the file holds %q, %v %v %v", got, info.Mode(), err, err2)
		}
	}
	if err := daemon.ReplaceFile(filepath.Join(dir, "none", "x"), nil); err == nil {
		t.Error("a folder that is not there takes a file")
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 {
		t.Errorf("left behind: %v %v", left, err)
	}
}
