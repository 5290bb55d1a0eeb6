package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestMain lets the test binary be the program, so that scripts and tests run
// it as a keeper does: as a process.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"clutchd": main})
}

// TestScript holds the program against scripts of calls. Beside the usual
// words of testscript they know:
//
//	wrong ARG...           clutchd refuses the call: status 2, two lines
//	failed ARG...          clutchd fails: status 1, two lines
//	record FILE C DAYS     writes a constant record, a row every ten minutes
//	awaited FOLDER         waits until a daemon answers in a state folder
//	future FILE            makes a store's file one of a later program
func TestScript(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(e *testscript.Env) error {
			root, err := filepath.Abs("../..")
			if err != nil {
				return err
			}
			e.Setenv("ROOT", root)
			e.Setenv("XDG_STATE_HOME", filepath.Join(e.WorkDir, "state"))
			return nil
		},
		Condition: func(word string) (bool, error) {
			if word != "race" {
				return false, fmt.Errorf("there is no condition %q", word)
			}
			return racing, nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"wrong":   func(ts *testscript.TestScript, neg bool, args []string) { refused(ts, 2, args) },
			"failed":  func(ts *testscript.TestScript, neg bool, args []string) { refused(ts, 1, args) },
			"record":  writeRecord,
			"awaited": awaited,
			"future":  future,
			"schema":  holdsSchema,
			"mode":    mode,
		},
	})
}

// refused runs a call that must end with a status and say why in one line and
// how to mend it in a second.
func refused(ts *testscript.TestScript, want int, args []string) {
	err := ts.Exec("clutchd", args...)
	exit, ok := errors.AsType[*exec.ExitError](err)
	if !ok || exit.ExitCode() != want {
		ts.Fatalf("clutchd %q: %v, want exit status %d", args, err, want)
	}
	said := ts.ReadFile("stderr")
	if lines := strings.Split(strings.TrimSuffix(said, "\n"), "\n"); len(lines) != 2 ||
		lines[1] == "" ||
		!strings.HasPrefix(lines[0], "clutchd: ") {
		ts.Fatalf("clutchd %q does not say in one line what and in one how to mend it:\n%s", args, said)
	}
	if out := ts.ReadFile("stdout"); out != "" {
		ts.Fatalf("clutchd %q fails and yet prints:\n%s", args, out)
	}
}

// began is when the scripts' records begin.
var began = time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)

func writeRecord(ts *testscript.TestScript, _ bool, args []string) {
	celsius, err := strconv.ParseFloat(args[1], 64)
	ts.Check(err)
	days, err := strconv.ParseFloat(args[2], 64)
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), constant(celsius, days), 0o600))
}

// constant is a record of one temperature, a row every ten minutes.
func constant(celsius, days float64) []byte {
	var b bytes.Buffer
	b.WriteString("time,celsius\n")
	end := began.Add(time.Duration(days * 24 * float64(time.Hour)))
	for at := began; !at.After(end); at = at.Add(10 * time.Minute) {
		fmt.Fprintf(&b, "%s,%g\n", at.Format(time.RFC3339), celsius)
	}
	return b.Bytes()
}

// patience is how long another process may take to start on a busy machine.
const patience = time.Minute

func awaited(ts *testscript.TestScript, _ bool, args []string) {
	folder := ts.MkAbs(args[0])
	if !eventually(func() bool { return answers(folder) }) {
		ts.Fatalf("no daemon answers in %s", folder)
	}
}

// eventually asks again until the answer is yes. What is asked of is another
// process, which no virtual clock reaches.
func eventually(ask func() bool) bool {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	again := time.NewTicker(50 * time.Millisecond)
	defer again.Stop()
	for !ask() {
		select {
		case <-again.C:
		case <-ctx.Done():
			return false
		}
	}
	return true
}

func mode(ts *testscript.TestScript, _ bool, args []string) {
	info, err := os.Stat(ts.MkAbs(args[1]))
	ts.Check(err)
	if got := fmt.Sprintf("%04o", info.Mode().Perm()); got != args[0] {
		ts.Fatalf("%s has mode %s, want %s", args[1], got, args[0])
	}
}
