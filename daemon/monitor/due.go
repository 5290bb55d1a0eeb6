package monitor

import "time"

// due reports whether a probe's calibration is due again, and when it was
// made. One that was never calibrated is as its maker says.
func (m *Monitor) due(p ProbeNow, now time.Time) (due bool, since string) {
	if p.Calibrated == nil {
		return false, ""
	}
	return !now.Before(p.Calibrated.Due),
		"It was compared on " + p.Calibrated.At.In(m.zone).Format("2 January 2006") + "."
}
