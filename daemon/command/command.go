// Package command is what clutchd does besides running: estimate, import,
// export, probes and the rest.
//
// A command writes its result to Stdout and returns an error of two lines:
// what went wrong, and how to mend it. It never ends the process.
package command

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"runtime/debug"
)

// A Call is one call of a command: its arguments and where it speaks.
type Call struct {
	Args   []string // after the command's name
	Stdin  *os.File
	Stdout io.Writer
	Stderr io.Writer
}

// A WrongCall is an error in how a command was called: exit status 2.
type WrongCall struct{ What, Hint string }

// Error gives what is wrong, and on a second line how to mend it.
func (e *WrongCall) Error() string { return e.What + "\n" + e.Hint }

// hinted is an error with a line on how to mend it.
func hinted(err error, hint string) error { return fmt.Errorf("%w\n%s", err, hint) }

// flags parses a command's flags, which come first. usage is the line after
// "clutchd".
func (c Call) flags(usage string, define func(*flag.FlagSet)) ([]string, error) {
	set := flag.NewFlagSet("clutchd", flag.ContinueOnError)
	set.SetOutput(io.Discard)
	define(set)
	err := set.Parse(c.Args)
	switch {
	case errors.Is(err, flag.ErrHelp):
		set.SetOutput(c.Stdout)
		fmt.Fprintf(c.Stdout, "usage: clutchd %s\n", usage)
		set.PrintDefaults()
		return nil, err
	case err != nil:
		return nil, &WrongCall{What: err.Error(), Hint: "usage: clutchd " + usage}
	}
	return set.Args(), nil
}

// Version says what this program was built from.
func Version(c Call) error {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return errors.New("read the build information: there is none\nbuild clutchd with go build")
	}
	fmt.Fprintf(c.Stdout, "clutchd %s, %s\n", Revision(info), info.GoVersion)
	return nil
}

// Revision is the version or commit a build was made from.
func Revision(info *debug.BuildInfo) string {
	revision, dirty := "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			revision = s.Value
		case s.Key == "vcs.modified" && s.Value == "true":
			dirty = " with changes"
		}
	}
	if revision == "" {
		return info.Main.Version
	}
	return revision[:min(12, len(revision))] + dirty
}
