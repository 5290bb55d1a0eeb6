package command

import (
	"context"
	"fmt"
	"text/tabwriter"
	"time"

	"clutchd/daemon"
	"clutchd/daemon/config"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/sensors"
)

const probesUsage = "probes [-config FILE] [-data DIR]"

// readWithin is how long one sensor may take to answer the command.
const readWithin = 5 * time.Second

// Probes says what can be read here and now, what it says, and which probes
// are nobody's yet: asked of the running daemon, or else read directly.
func Probes(ctx context.Context, c Call) error {
	var at where
	if err := c.Bare(probesUsage, at.define); err != nil {
		return err
	}
	folder, err := at.folder()
	if err != nil {
		return err
	}
	table := tabwriter.NewWriter(c.Stdout, 0, 0, 2, ' ', 0)
	if r, ok := dial(ctx, folder); ok {
		var probes []monitor.ProbeNow
		if err := r.get(ctx, "/snapshot", &probes); err != nil {
			return err
		}
		fmt.Fprintln(table, "PROBE\tMODEL\tSAYS\tPLACE\tSOURCE")
		for _, p := range probes {
			fmt.Fprintf(table, "%s\t%s\t%s\t%s\t%s\n", p.ID, p.Model, saysNow(p), orNobody(p.Place),
				p.Source)
		}
		if len(probes) == 0 {
			fmt.Fprintln(table, "none yet: the running daemon looks for probes every minute")
		}
		if err := contactsNow(ctx, r, table); err != nil {
			return err
		}
		return table.Flush()
	}
	cfg, err := loadConfig(at.config)
	if err != nil {
		return err
	}
	return readAll(ctx, cfg, c, table)
}

// readAll reads every sensor once, with no daemon running.
func readAll(ctx context.Context, cfg config.Config, c Call, table *tabwriter.Writer) error {
	found, notes := daemon.NewFinder(cfg).Find(ctx)
	fmt.Fprintln(table, "PROBE\tMODEL\tSAYS\tSOURCE")
	for _, f := range found {
		p := f.Sensor.Probe()
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\n", p.ID, p.Model, readOnce(ctx, f.Sensor), p.Source)
	}
	for _, d := range cfg.Devices {
		p := d.In().Probe()
		fmt.Fprintf(table, "%s\t%s\t%s\t%s\n", p.ID, p.Model, "speaks over MQTT: run the daemon",
			p.Source)
	}
	readContacts(ctx, cfg, table)
	if err := table.Flush(); err != nil {
		return err
	}
	for _, n := range notes {
		fmt.Fprintln(c.Stderr, n)
	}
	if len(found)+len(cfg.Devices) == 0 {
		fmt.Fprintln(c.Stdout,
			"no probe found: is its overlay or module loaded, and is an I2C bus named in the config?")
	}
	return nil
}

func readOnce(ctx context.Context, s sensors.Sensor) string {
	ctx, cancel := context.WithTimeout(ctx, readWithin)
	defer cancel()
	said := make(chan string, 1)
	go func() { // a driver that cannot be cancelled is left behind
		r, err := s.Read(ctx)
		if err == nil {
			r, err = sensors.Trust(s.Probe(), r)
		}
		if err != nil {
			said <- string(sensors.CauseOf(err))
			return
		}
		said <- says(r)
	}()
	select {
	case text := <-said:
		return text
	case <-ctx.Done():
		return string(sensors.Timeout)
	}
}

func saysNow(p monitor.ProbeNow) string {
	switch {
	case p.Latest.Time.IsZero():
		return "nothing yet " + string(p.Fault)
	case p.Stale:
		return "nothing since " + p.Latest.Time.Format(time.RFC3339) + " " + string(p.Fault)
	}
	return says(p.Latest)
}

func says(r incubation.Reading) string {
	text := ""
	if r.Has&incubation.Temperature != 0 {
		text += fmt.Sprintf("%.2f °C ", r.Celsius)
	}
	if r.Has&incubation.RelativeHumidity != 0 {
		text += fmt.Sprintf("%.0f %% ", 100*r.Humidity)
	}
	return text + r.Quality.String()
}

func orNobody(place string) string {
	if place == "" {
		return "nobody's yet"
	}
	return place
}
