package store_test

import (
	"bufio"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// An op is one call of the writer that changed a disk, or what it said.
type op struct {
	kind string // "data", "cut", "sync", "make", "rename", "link", "remove", "dirsync", "ack"
	file int    // which file, in order of creation; data, cut and sync
	at   int64  // where the data goes, or the size after a cut
	data []byte
	name string // make, rename, link, remove
	to   string // rename, link
	step int    // ack
}

// peer finds a program or skips; CLUTCHD_PEERS=required makes that a failure.
func peer(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err == nil {
		return path
	}
	if os.Getenv("CLUTCHD_PEERS") == "required" {
		t.Fatalf("%s is required: apt-get install %s", name, name)
	}
	t.Skipf("apt-get install %s to run this test", name)
	return ""
}

// trace runs the writer on dir under strace and gives its operations.
func trace(t *testing.T, dir string, env ...string) []op {
	t.Helper()
	log := filepath.Join(t.TempDir(), "trace")
	cmd := exec.Command(peer(t, "strace"), "-f", "-qq", "-xx", "-s", "10000000", "-o", log,
		"-e", "trace=openat,close,pwrite64,write,ftruncate,?ftruncate64,fdatasync,fsync,"+
			"?rename,renameat,renameat2,?unlink,unlinkat,?link,linkat", os.Args[0])
	cmd.Env = append(os.Environ(), append(env, writerEnv+"="+dir)...)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("writer: %v\n%s", err, out)
	}
	f, err := os.Open(log)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	tr := tracer{
		dir: dir, fds: map[string]int{}, dirs: map[string]bool{}, names: map[string]int{},
		begun: map[string]string{},
	}
	lines := bufio.NewScanner(f)
	lines.Buffer(nil, 64<<20)
	for lines.Scan() {
		if err := tr.line(lines.Text()); err != nil {
			t.Fatalf("trace: %v in %.300s", err, lines.Text())
		}
	}
	if err := lines.Err(); err != nil {
		t.Fatal(err)
	}
	return tr.ops
}

// A tracer turns strace's lines into operations.
type tracer struct {
	dir   string
	ops   []op
	fds   map[string]int  // descriptor: file
	dirs  map[string]bool // descriptors of the folder
	names map[string]int  // name: file
	files int
	begun map[string]string // by thread: the first half of a call
}

var (
	callLine = regexp.MustCompile(`^(\w+)\((.*)\)\s+= (-?\d+)`)
	quoted   = regexp.MustCompile(`"((?:\\x[0-9a-f]{2})*)"`)
)

func (t *tracer) line(line string) error {
	thread, rest, _ := strings.Cut(line, " ")
	rest = strings.TrimSpace(rest)
	if head, ok := strings.CutSuffix(rest, "<unfinished ...>"); ok {
		t.begun[thread] = strings.TrimSpace(head)
		return nil
	}
	if i := strings.Index(rest, "resumed>"); strings.HasPrefix(rest, "<... ") && i > 0 {
		rest = t.begun[thread] + rest[i+len("resumed>"):]
	}
	m := callLine.FindStringSubmatch(rest)
	if m == nil || strings.HasPrefix(m[3], "-") {
		return nil // a signal, an exit, or a call that failed
	}
	var strs []string
	for _, q := range quoted.FindAllStringSubmatch(m[2], -1) {
		raw, err := hex.DecodeString(strings.ReplaceAll(q[1], `\x`, ""))
		if err != nil {
			return err
		}
		strs = append(strs, string(raw))
	}
	return t.call(m[1], strings.Split(quoted.ReplaceAllString(m[2], ""), ","), strs, m[3])
}

// call takes one finished call: its plain arguments, its strings, its result.
func (t *tracer) call(name string, args, strs []string, result string) error {
	fd := strings.TrimSpace(args[0])
	last := strings.TrimSpace(args[len(args)-1])
	file, ours := t.fds[fd]
	switch name {
	case "openat":
		t.opened(strs[0], args, result)
	case "close":
		delete(t.fds, fd)
		delete(t.dirs, fd)
	case "pwrite64", "ftruncate", "ftruncate64":
		if !ours {
			return nil
		}
		at, err := strconv.ParseInt(last, 10, 64)
		if err != nil {
			return err
		}
		if strings.HasPrefix(name, "ftruncate") {
			t.add(op{kind: "cut", file: file, at: at})
		} else {
			t.add(op{kind: "data", file: file, at: at, data: []byte(strs[0])})
		}
	case "fsync", "fdatasync":
		if ours {
			t.add(op{kind: "sync", file: file})
		} else if t.dirs[fd] {
			t.add(op{kind: "dirsync"})
		}
	case "write":
		return t.wrote(fd, ours, strs)
	default:
		return t.named(name, strs)
	}
	return nil
}

func (t *tracer) add(o op) { t.ops = append(t.ops, o) }

func (t *tracer) wrote(fd string, ours bool, strs []string) error {
	if ours {
		return errors.New("a plain write to a file of the store is not simulated")
	}
	if fd != "1" {
		return nil
	}
	var o op
	if n, _ := fmt.Sscanf(strs[0], "ack %s %d", &o.name, &o.step); n == 2 {
		o.kind = "ack"
		t.add(o)
	}
	return nil
}

func (t *tracer) opened(path string, args []string, fd string) {
	if path == t.dir {
		t.dirs[fd] = true
		return
	}
	name, ok := t.inside(path)
	if !ok {
		return
	}
	file, has := t.names[name]
	if !has {
		if !strings.Contains(strings.Join(args, ","), "O_CREAT") {
			return
		}
		t.files++
		file = t.files
		t.names[name] = file
		t.add(op{kind: "make", file: file, name: name})
	}
	t.fds[fd] = file
}

func (t *tracer) inside(path string) (string, bool) {
	name, ok := strings.CutPrefix(path, t.dir+"/")
	return name, ok
}

// named takes a call that changes names.
func (t *tracer) named(call string, strs []string) error {
	name, ok := t.inside(strs[0])
	if !ok {
		return nil
	}
	switch {
	case strings.HasPrefix(call, "unlink"):
		delete(t.names, name)
		t.add(op{kind: "remove", name: name})
	case strings.HasPrefix(call, "rename"):
		to, _ := t.inside(strs[1])
		t.names[to] = t.names[name]
		delete(t.names, name)
		t.add(op{kind: "rename", name: name, to: to})
	default:
		return fmt.Errorf("%s is not simulated", call)
	}
	return nil
}
