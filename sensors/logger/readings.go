package logger

import (
	"errors"
	"math"
	"slices"
	"time"

	"clutchd/incubation"
	"clutchd/sensors"
)

// readings turns the rows into readings, in the order of the file, and counts
// the clock's steps back. Rows are let go as they are done.
func (f *file) readings(log *Log, o order) []incubation.Reading {
	zone, percent, dry, walls := f.where(), f.percent(), 0, false
	all := make([]incubation.Reading, 0, f.rows.count)
	var before time.Time
	for i, block := range f.rows.blocks {
		for j := range block {
			r := &block[j]
			walls = walls || r.form == wall || r.form == open
			at, ok := r.time(o, zone, before)
			if !ok {
				f.refuse(int(r.line), errors.New("its date does not exist in the file's order"))
				continue
			}
			one := incubation.Reading{Probe: f.options.Probe, Time: at, Quality: r.quality}
			if !math.IsNaN(r.temperature) {
				one.Has = incubation.Temperature
				one.Celsius = incubation.Celsius(celsius(r.temperature, log.Unit))
			}
			one, err := trust(one, r.humidity, percent, &dry)
			if err != nil {
				f.refuse(int(r.line), err)
				continue
			}
			if at.Before(before) {
				log.Backward++
				f.notes.step("line %d: the clock steps back %v, to %s",
					r.line, before.Sub(at), at.Format(time.RFC3339))
			}
			before = at
			all = append(all, one)
		}
		f.rows.blocks[i] = nil
	}
	if dry > 0 {
		f.notes.add("%d rows have no believable humidity: their temperature is kept", dry)
	}
	if walls && f.options.Zone == nil && f.zone == nil {
		f.notes.add("times carry no zone: they are taken as UTC")
	}
	return all
}

// where gives the zone of times that carry none.
func (f *file) where() *time.Location {
	switch {
	case f.options.Zone != nil:
		return f.options.Zone
	case f.zone != nil:
		return f.zone
	}
	return time.UTC
}

// trust adds the humidity to a reading, if there is one to believe, and checks
// the rest. A reading of nothing else is refused with its humidity.
func trust(
	r incubation.Reading, humidity float64, percent bool, dry *int,
) (incubation.Reading, error) {
	bare := r
	if r.Has != 0 || math.IsNaN(humidity) {
		var err error
		if bare, err = sensors.Trust(sensors.Probe{}, r); err != nil {
			return incubation.Reading{}, errors.Unwrap(err)
		}
	}
	if math.IsNaN(humidity) {
		return bare, nil
	}
	if percent {
		humidity /= 100
	}
	r.Has |= incubation.RelativeHumidity
	r.Humidity = incubation.Humidity(humidity)
	full, err := sensors.Trust(sensors.Probe{}, r)
	if err != nil {
		if bare.Has == 0 {
			return incubation.Reading{}, errors.Unwrap(err)
		}
		*dry++
		return bare, nil
	}
	return full, nil
}

// time gives the time of a stamp. An hour that a zone's clocks show twice is
// the first of the two unless that would step back from the row before.
func (st stamp) time(o order, zone *time.Location, before time.Time) (time.Time, bool) {
	nanos := st.nanos
	if st.form >= open {
		date, ok := st.date(o)
		if !ok {
			return time.Time{}, false
		}
		nanos += date
	}
	at := time.Unix(0, nanos).UTC()
	if st.form == absolute || st.form == openUTC || zone == time.UTC {
		return at, true
	}
	local := time.Date(at.Year(), at.Month(), at.Day(), at.Hour(), at.Minute(), at.Second(),
		at.Nanosecond(), zone)
	first, second := local, local.Add(time.Hour)
	if earlier := local.Add(-time.Hour); sameClock(earlier, local) {
		first, second = earlier, local
	}
	if !first.After(before) && sameClock(first, second) {
		first = second
	}
	return first.UTC(), true
}

func sameClock(a, b time.Time) bool {
	return a.Hour() == b.Hour() && a.Day() == b.Day()
}

// tidy sorts the readings, leaves the first of each time, and finds interval
// and gaps.
func (l *Log) tidy(f *file) {
	byTime := func(a, b incubation.Reading) int { return a.Time.Compare(b.Time) }
	if !slices.IsSortedFunc(l.Readings, byTime) {
		slices.SortStableFunc(l.Readings, byTime)
	}
	before := len(l.Readings)
	l.Readings = slices.CompactFunc(l.Readings, func(a, b incubation.Reading) bool {
		return a.Time.Equal(b.Time)
	})
	l.Doubled = before - len(l.Readings)
	if l.Doubled > 0 {
		f.notes.add("%d rows bear a time that was there already: the first of each is kept",
			l.Doubled)
	}
	if l.Doubled > before/2 {
		f.notes.add("more than half of the rows do so: does the file hold several loggers?")
	}
	l.Interval = medianStep(l.Readings)
	for i := 1; i < len(l.Readings); i++ {
		from, to := l.Readings[i-1].Time, l.Readings[i].Time
		if to.Sub(from) > 5*l.Interval {
			l.Gaps = append(l.Gaps, Gap{From: from, To: to})
		}
	}
}

func medianStep(all []incubation.Reading) time.Duration {
	if len(all) < 2 {
		return 0
	}
	steps := make([]time.Duration, len(all)-1)
	for i := range steps {
		steps[i] = all[i+1].Time.Sub(all[i].Time)
	}
	slices.Sort(steps)
	return steps[len(steps)/2]
}
