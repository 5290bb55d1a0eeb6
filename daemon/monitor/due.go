package monitor

import (
	"time"

	"clutchd/alerts"
)

// due tells of a probe whose calibration is due again. One that was never
// calibrated is as its maker says.
func (m *Monitor) due(p ProbeNow, o alerts.Observation, now time.Time, look func(alerts.Rule, alerts.Observation)) {
	if p.Calibrated == nil {
		return
	}
	o.Known, o.Beyond = true, !now.Before(p.Calibrated.Due)
	o.Detail = "It was compared on " + p.Calibrated.At.In(m.zone).Format("2 January 2006") + "."
	look(m.rule("calibration-due"), o)
}
