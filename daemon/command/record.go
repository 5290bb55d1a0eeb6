package command

import (
	"errors"
	"fmt"
	"os"
	"slices"

	"clutchd/incubation"
	"clutchd/sensors/logger"
)

// tooWarm is the median above which a record that calls itself °C is refused:
// no room or box that a gecko or its eggs live in is half its time above 45 °C,
// and at 45 °F nothing would be kept. Judgement, as the logger's own.
const tooWarm = 45

// readLog reads a logger's file. start is the flag that tells minute 0.
func readLog(file string, o logger.Options, start string) (logger.Log, error) {
	if o.Unit != "" && o.Unit != "C" && o.Unit != "F" {
		return logger.Log{}, &WrongCall{
			fmt.Sprintf("-unit %q is no unit", o.Unit),
			"say -unit C or -unit F",
		}
	}
	f, err := os.Open(file)
	if err != nil {
		return logger.Log{}, hint(err,
			"give a CSV file of times and temperatures that is there and can be read")
	}
	defer f.Close()
	if at, err := f.Stat(); err == nil && at.IsDir() {
		return logger.Log{}, hint(fmt.Errorf("%s is a folder", file), "give the CSV file in it")
	}
	log, err := logger.Read(f, o)
	if errors.Is(err, logger.ErrNoStart) {
		return logger.Log{}, hint(fmt.Errorf("%s: %w", file, err),
			"say "+start+" TIME, such as 2026-03-01T20:00:00Z")
	}
	if err != nil {
		return logger.Log{}, hint(fmt.Errorf("%s: %w", file, err),
			"save it as plain CSV with a header such as time,celsius and a row for each time, "+
				"as 2026-03-01T20:00:00Z,28.5")
	}
	if mid := median(log.Readings); mid > tooWarm {
		return logger.Log{}, hint(
			fmt.Errorf("%s: half of its temperatures are above %.1f °C, where no egg lies", file, mid),
			"if they are °F, let the header say time,fahrenheit; "+
				"if the columns are swapped, swap their names")
	}
	return log, nil
}

// median is the middle temperature of readings; 0 where none has any.
func median(readings []incubation.Reading) incubation.Celsius {
	all := make([]incubation.Celsius, 0, len(readings))
	for _, r := range readings {
		if r.Has&incubation.Temperature != 0 {
			all = append(all, r.Celsius)
		}
	}
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	return all[len(all)/2]
}
