package command

import (
	"flag"
	"fmt"
	"time"

	"clutchd/daemon/secure"
)

const validateUsage = "validate [-config FILE] [FILE]"

// Validate reads a config file and tells every problem in it.
func Validate(c Call) error {
	var file string
	args, err := c.Flags(validateUsage, func(s *flag.FlagSet) {
		s.StringVar(&file, "config", "", "config file")
	})
	if err != nil {
		return err
	}
	if file != "" {
		args = append(args, file)
	}
	if len(args) != 1 {
		return &WrongCall{
			fmt.Sprintf("validate takes one file, not %d", len(args)),
			"usage: clutchd " + validateUsage,
		}
	}
	cfg, err := loadConfig(args[0])
	if err != nil {
		return err
	}
	if w := cfg.Web; w.CertFile != "" {
		if err := secure.CheckServed(w.CertFile, w.KeyFile, time.Now()); err != nil {
			return fmt.Errorf("config %s:\nweb.cert_file: %w", args[0], err)
		}
	}
	fmt.Fprintf(c.Stdout, "%s: no problem\n", args[0])
	return nil
}
