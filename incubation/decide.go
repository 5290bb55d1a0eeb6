package incubation

import "time"

// byTheHour is from when on the hour to decide by is told. Judgement.
const byTheHour = 72 * time.Hour

// DecideBy gives what a keeper is told of the last change, never later than
// it: the last whole day before it, as that day's midnight, and near it the
// hour, rounded down, exact to no minute. Zone is the keeper's. Zero: there is
// no last change.
func (t TSP) DecideBy(now time.Time, zone *time.Location) (by time.Time, hour bool) {
	if t.LastChange.IsZero() {
		return time.Time{}, false
	}
	at := t.LastChange.In(zone)
	if at.Sub(now) < byTheHour {
		return at.Add(-time.Duration(at.Minute())*time.Minute -
			time.Duration(at.Second())*time.Second - time.Duration(at.Nanosecond())), true
	}
	return time.Date(at.Year(), at.Month(), at.Day()-1, 0, 0, 0, 0, zone), false
}
