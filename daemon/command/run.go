package command

import (
	"context"
	"flag"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"

	"clutchd/daemon"
	"clutchd/daemon/config"
)

// Run runs the daemon until it is stopped.
func Run(ctx context.Context, c Call) error {
	var file string
	err := c.Bare("run [-config FILE]", func(s *flag.FlagSet) {
		s.StringVar(&file, "config", "", "config `FILE`; none is needed")
	})
	if err != nil {
		return err
	}
	cfg, err := loadConfig(file)
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(c.Stderr, nil))
	return daemon.Run(ctx, daemon.Settings{
		Config: cfg, Log: log,
		Ready: func(at daemon.Addresses) { ready(c, cfg, at) },
	})
}

// ready says where the pages are, and what others can reach.
func ready(c Call, cfg config.Config, at daemon.Addresses) {
	if at.Web == nil {
		fmt.Fprintln(c.Stdout, "running, without pages")
		return
	}
	scheme := "http"
	if cfg.Web.CertFile != "" {
		scheme = "https"
	}
	fmt.Fprintf(c.Stdout, "running: %s://%s/\n", scheme, at.Web)
	folder, err := cfg.Folder()
	if err != nil {
		return
	}
	if _, err := os.Stat(filepath.Join(folder, daemon.PasswordFile)); err != nil {
		fmt.Fprintln(c.Stdout,
			"no password is set: the pages open on this machine only (`clutchd password`)")
	}
}
