// Clutchd keeps watch over eggs in incubators: see the README.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"syscall"

	"clutchd/daemon/command"
	"clutchd/daemon/demo"
)

// The commands, in the order of help.
var commands = []struct {
	name, does string
	run        func(context.Context, command.Call) error
}{
	{"run", "the daemon: reads probes, judges, alerts, serves pages", command.Run},
	{"demo", "an invented room with something that goes wrong", demo.Command},
	{"validate", "every problem of a config file", plain(command.Validate)},
	{"password", "sets the pages' password", plain(command.Password)},
	{"probes", "what can be read here and now", command.Probes},
	{"message", "sends a test message and reports each hop", command.Message},
	{"estimate", "sex and hatch from a logger's file", plain(command.Estimate)},
	{"import", "a logger's file into a probe's history", command.Import},
	{"report", "a clutch's review, to print or as data", command.Report},
	{"export", "the book and the readings as open formats", command.Export},
	{"version", "what this is", plain(command.Version)},
}

func plain(run func(command.Call) error) func(context.Context, command.Call) error {
	return func(_ context.Context, c command.Call) error { return run(c) }
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	os.Exit(Main(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// Main runs one command and gives the exit status: 0 done, 1 it failed, 2 it
// was called wrongly.
func Main(ctx context.Context, args []string, stdin *os.File, stdout, stderr io.Writer) int {
	if len(args) == 0 {
		help(stderr)
		return 2
	}
	if isHelp(args[0]) {
		if len(args) == 1 {
			help(stdout)
			return 0
		}
		args = []string{args[1], "-h"}
	}
	for _, c := range commands {
		if c.name == args[0] {
			return status(c.run(ctx, command.Call{
				Args: args[1:], Stdin: stdin, Stdout: stdout,
				Stderr: stderr,
			}), stderr)
		}
	}
	fmt.Fprintf(stderr, "clutchd: there is no command %q\n`clutchd help` lists them\n", args[0])
	return 2
}

func isHelp(word string) bool {
	return slices.Contains([]string{"help", "-h", "-help", "--help"}, word)
}

func status(err error, stderr io.Writer) int {
	switch {
	case err == nil, errors.Is(err, flag.ErrHelp), errors.Is(err, context.Canceled):
		return 0
	}
	fmt.Fprintf(stderr, "clutchd: %v\n", command.Mend(err))
	if _, wrong := errors.AsType[*command.WrongCall](err); wrong {
		return 2
	}
	return 1
}

func help(w io.Writer) {
	fmt.Fprintln(w,
		"clutchd watches incubators, ties each egg to its record, and says what it tells.\n"+
			"It never controls heat.\n\nusage: clutchd COMMAND [FLAGS] [ARGUMENTS]")
	for _, c := range commands {
		fmt.Fprintf(w, "  %-10s %s\n", c.name, c.does)
	}
	fmt.Fprintln(w, "`clutchd help COMMAND` lists a command's flags.")
}
