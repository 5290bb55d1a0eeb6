package command

import (
	"flag"
	"fmt"

	"clutchd/daemon/config"
)

// Validate reads a config file and tells every problem in it.
func Validate(c Call) error {
	var file string
	args, err := c.flags("validate [-config FILE]", func(s *flag.FlagSet) {
		s.StringVar(&file, "config", "", "config file")
	})
	if err != nil {
		return err
	}
	if len(args) == 1 && file == "" {
		file = args[0]
	}
	if file == "" {
		return &WrongCall{What: "validate needs a file", Hint: "usage: clutchd validate -config FILE"}
	}
	if _, err := config.Load(file); err != nil {
		return err
	}
	fmt.Fprintf(c.Stdout, "%s: no problem\n", file)
	return nil
}
