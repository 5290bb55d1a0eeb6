package command

import (
	"context"
	"flag"
	"fmt"
	"math"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors/logger"
)

const importUsage = "import [-config FILE] [-data DIR] -probe ID [-unit C|F] [-zone ZONE] " +
	"[-start TIME] FILE.csv"

type importFlags struct {
	where
	probe, unit, zone, start string
}

func (f *importFlags) define(s *flag.FlagSet) {
	f.where.define(s)
	s.StringVar(&f.probe, "probe", "", "`ID` of the probe whose history it becomes")
	s.StringVar(&f.unit, "unit", "", "`C or F`, where the file does not tell")
	s.StringVar(&f.zone, "zone", "",
		"`ZONE` of times that carry none, such as Europe/Lisbon (default UTC)")
	s.StringVar(&f.start, "start", "", "`TIME` of minute 0, for files that count from their start")
}

// Import brings a logger's file into a probe's history. A second import of
// the same file changes nothing.
func Import(ctx context.Context, c Call) error {
	var f importFlags
	file, err := c.one(importUsage, f.define)
	if err != nil {
		return err
	}
	options, err := f.options()
	if err != nil {
		return err
	}
	log, err := readLog(file, options, "-start")
	if err != nil {
		return err
	}
	r, err := f.open(ctx)
	if err != nil {
		return err
	}
	defer r.close()
	fresh, err := compare(ctx, r, f.probe, log.Readings)
	if err != nil {
		return err
	}
	if err := r.take(ctx, f.probe, log.Readings); err != nil {
		return err
	}
	told(c, f.probe, log, fresh)
	return nil
}

func (f *importFlags) options() (o logger.Options, err error) {
	wrong := func(what string) (logger.Options, error) {
		return logger.Options{}, &WrongCall{what, "usage: clutchd " + importUsage}
	}
	if f.probe == "" {
		return wrong("import needs -probe, the probe whose history it becomes")
	}
	if p := book.CheckID("probe", f.probe); p != nil {
		return wrong(p.Text)
	}
	o = logger.Options{Unit: f.unit, Probe: f.probe}
	if f.zone != "" {
		if o.Zone, err = time.LoadLocation(f.zone); err != nil {
			return wrong(fmt.Sprintf("-zone %q is not a zone such as Europe/Lisbon", f.zone))
		}
	}
	if f.start != "" {
		if o.Start, _, err = parseWhen(f.start); err != nil {
			return wrong(fmt.Sprintf("-start %q is not a time such as 2026-03-01T20:00:00Z", f.start))
		}
	}
	return o, nil
}

// news says how much of a file the history did not hold before.
type news struct{ added, replaced int }

// The grids that the store keeps values on, and a little more.
const sameCelsius, sameHumidity = 0.0101, 0.000101

// compare holds readings, which are in order, against what is there of a
// probe. The store knows whole seconds; of those of one second it keeps the
// last.
func compare(
	ctx context.Context, r room, probe string, readings []incubation.Reading,
) (news, error) {
	var n news
	i := 0
	count := func(until int64, old *incubation.Reading) {
		for ; i < len(readings) && readings[i].Time.Unix() <= until; i++ {
			second := readings[i].Time.Unix()
			switch last := i+1 == len(readings) || readings[i+1].Time.Unix() > second; {
			case !last:
			case old == nil || second < until:
				n.added++
			case !same(*old, readings[i]):
				n.replaced++
			}
		}
	}
	all := span{
		readings[0].Time.Truncate(time.Second),
		readings[len(readings)-1].Time.Add(time.Second),
	}
	for old, err := range r.readings(ctx, probe, all) {
		if ctx.Err() != nil {
			return news{}, ctx.Err()
		}
		if err == nil { // a damaged stretch holds nothing
			count(old.Time.Unix(), &old)
		}
	}
	count(math.MaxInt64, nil)
	return n, nil
}

func same(a, b incubation.Reading) bool {
	return a.Has == b.Has && math.Abs(float64(a.Celsius-b.Celsius)) < sameCelsius &&
		math.Abs(float64(a.Humidity-b.Humidity)) < sameHumidity
}

// told says what was taken and what was odd about it.
func told(c Call, probe string, log logger.Log, n news) {
	first, last := log.Readings[0].Time, log.Readings[len(log.Readings)-1].Time
	fmt.Fprintf(c.Stdout, "probe %s: %s, %s to %s%s; %d of them new\n", probe,
		counted(len(log.Readings), "reading"),
		first.Format(time.RFC3339), last.Format(time.RFC3339), every(log.Interval), n.added)
	if n.replaced > 0 {
		fmt.Fprintf(c.Stdout,
			"%s stood there with another value and %s replaced: was it the right probe?\n",
			counted(n.replaced, "reading"), map[bool]string{true: "was", false: "were"}[n.replaced == 1])
	}
	for _, note := range log.Notes {
		fmt.Fprintln(c.Stdout, note)
	}
	for _, gap := range log.Gaps {
		fmt.Fprintf(c.Stdout, "nothing from %s to %s\n", gap.From.Format(time.RFC3339),
			gap.To.Format(time.RFC3339))
	}
}
