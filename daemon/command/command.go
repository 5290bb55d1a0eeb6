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
	"strings"
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

// Flags parses a command's flags, which come first, and gives what follows
// them. usage is the line after "clutchd". flag.ErrHelp: it was asked for, and
// given.
func (c Call) Flags(usage string, define func(*flag.FlagSet)) ([]string, error) {
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

// Bare parses the flags of a command that takes no arguments.
func (c Call) Bare(usage string, define func(*flag.FlagSet)) error {
	args, err := c.Flags(usage, define)
	if err == nil && len(args) > 0 {
		name, _, _ := strings.Cut(usage, " ")
		return &WrongCall{
			fmt.Sprintf("%s takes no argument, such as %q", name, args[0]),
			"usage: clutchd " + usage,
		}
	}
	return err
}

// one parses the flags of a command that takes one argument, and gives it.
func (c Call) one(usage string, define func(*flag.FlagSet)) (string, error) {
	args, err := c.Flags(usage, define)
	if err != nil {
		return "", err
	}
	name, _, _ := strings.Cut(usage, " ")
	wrong := func(what string) error { return &WrongCall{what, "usage: clutchd " + usage} }
	switch {
	case len(args) == 0:
		return "", wrong(name + " needs one more word: " + usage[strings.LastIndexByte(usage, ' ')+1:])
	case len(args) > 1 && strings.HasPrefix(args[1], "-"):
		return "", wrong(fmt.Sprintf("%s stands behind %s: flags come first", args[1], args[0]))
	case len(args) > 1:
		return "", wrong(fmt.Sprintf("%s takes one argument, not %d", name, len(args)))
	}
	return args[0], nil
}

// Version says what this program was built from.
func Version(c Call) error {
	if err := c.Bare("version", func(*flag.FlagSet) {}); err != nil {
		return err
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return hint(errors.New("read the build information: there is none"),
			"build clutchd with go build")
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
