package command

import (
	"context"
	"flag"
	"fmt"
	"time"

	"clutchd/incubation/book"
	"clutchd/sensors/logger"
)

const importUsage = "import [-config FILE] [-data DIR] -probe ID [-unit C|F] [-zone ZONE] [-start TIME] FILE.csv"

// Import brings a logger's file into a probe's history. A second import of
// the same file changes nothing.
func Import(ctx context.Context, c Call) error {
	var at where
	var probe, unit, zone, start string
	args, err := c.flags(importUsage, func(s *flag.FlagSet) {
		at.define(s)
		s.StringVar(&probe, "probe", "", "the probe whose history it becomes")
		s.StringVar(&unit, "unit", "", "C or F, where the file does not tell")
		s.StringVar(&zone, "zone", "UTC", "zone of times that carry none")
		s.StringVar(&start, "start", "", "time of minute 0, for files that count from their start")
	})
	if err != nil {
		return err
	}
	wrong := func(what string) error { return &WrongCall{What: what, Hint: "usage: clutchd " + importUsage} }
	if len(args) != 1 {
		return wrong(fmt.Sprintf("import takes one file, not %d", len(args)))
	}
	if p := book.CheckID("probe", probe); p != nil {
		return wrong(p.Text)
	}
	o := logger.Options{Unit: unit, Probe: probe}
	if o.Zone, err = time.LoadLocation(zone); err != nil {
		return wrong(fmt.Sprintf("-zone %q is not a zone such as Europe/Lisbon", zone))
	}
	if start != "" {
		if o.Start, _, err = parseWhen(start); err != nil {
			return wrong(fmt.Sprintf("-start %q is not a time", start))
		}
	}
	log, err := readLog(args[0], o)
	if err != nil {
		return err
	}
	r, err := at.open(ctx)
	if err != nil {
		return err
	}
	defer r.close()
	if err := r.take(ctx, probe, log.Readings); err != nil {
		return err
	}
	told(c, probe, log)
	return nil
}

// told says what was taken and what was odd about it.
func told(c Call, probe string, log logger.Log) {
	first, last := log.Readings[0].Time, log.Readings[len(log.Readings)-1].Time
	fmt.Fprintf(c.Stdout, "probe %s: %d readings, %s to %s, one every %s\n", probe, len(log.Readings),
		first.Format(time.RFC3339), last.Format(time.RFC3339), log.Interval)
	for _, note := range log.Notes {
		fmt.Fprintln(c.Stdout, note)
	}
}
