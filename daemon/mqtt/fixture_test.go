package mqtt_test

import (
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/sensors"
)

var noon = time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)

// tooWarm is an active alert with everything set.
func tooWarm() alerts.State {
	value, limit := 30.1, 29.5
	subject := alerts.Subject{Kind: alerts.PlaceSubject, ID: "box-3", Name: "Box 3"}
	return alerts.State{
		Alert: alerts.AlertID("too-warm", subject), Occurrence: "o-17", Rule: "too-warm",
		Subject: subject, Phase: alerts.Active, Severity: alerts.Critical,
		Since: noon.Add(-12 * time.Minute), Raised: noon.Add(-2 * time.Minute),
		Value: &value, Limit: &limit, Unit: "celsius", Eggs: []string{"7a", "7b"},
		Text: "Box 3 is 30.1 °C, 2.1 over its setpoint, for 12 min.",
	}
}

// dryAir is over, and nobody has acknowledged it.
func dryAir() alerts.State {
	subject := alerts.Subject{Kind: alerts.PlaceSubject, ID: "box-1", Name: "Box 1"}
	return alerts.State{
		Alert: alerts.AlertID("dry-air", subject), Occurrence: "o-16", Rule: "dry-air",
		Subject: subject, Phase: alerts.Cleared, Severity: alerts.Warning,
		Since: noon.Add(-5 * time.Hour), Cleared: noon.Add(-time.Hour), Text: "Box 1 was dry.",
	}
}

func climateProbe(id string, has incubation.Quantity) monitor.ProbeNow {
	return monitor.ProbeNow{
		Probe: sensors.Probe{ID: id, Model: "sht31", Has: has, Interval: 10 * time.Second},
		Place: "box-3",
		Latest: incubation.Reading{
			Probe: id, Time: noon, Has: has, Celsius: 28.400000000000002, Humidity: 0.8512345,
		},
	}
}

// room is a snapshot with one of each.
func room() *monitor.Snapshot {
	both := incubation.Temperature | incubation.RelativeHumidity
	stale := climateProbe("dead", both)
	stale.Stale, stale.Fault = true, sensors.Timeout
	mute := monitor.ProbeNow{Probe: sensors.Probe{ID: "mute"}, Stale: true}
	return &monitor.Snapshot{
		Site: "cellar", Time: noon, Trusted: true, Tick: 1,
		Probes: []monitor.ProbeNow{climateProbe("i2c-1-44", both), stale, mute},
		Contacts: []monitor.ContactNow{
			{
				Contact: sensors.Contact{ID: "mains", Kind: incubation.Mains}, Place: "room", Known: true, On: true,
				Since: noon.Add(-time.Hour), Detail: "battery 64 %, charging",
			},
			{Contact: sensors.Contact{ID: "door-1", Kind: incubation.Door}, Known: true, On: true, Fault: sensors.Absent},
		},
		Alerts: []alerts.State{tooWarm(), dryAir()},
		Clutches: []monitor.ClutchNow{{
			ID: "c7", Female: "f2",
			Laid:  monitor.LaidJSON{From: day(-20), To: day(-19)},
			Males: []float64{0.81, 0.18, 0.01},
			Eggs: []monitor.EggNow{
				{
					ID: "7a", Mark: "A", State: incubation.Incubating, Box: "box-3",
					PlacePath: "Incubator 1 / Box 3", Estimate: estimate(),
				},
				{ID: "7b", Mark: "B", State: incubation.Failed},
			},
		}},
	}
}

func day(n int) time.Time { return noon.AddDate(0, 0, n) }

func estimate() *incubation.Estimate {
	return &incubation.Estimate{
		Development: incubation.Span{Fraction: 0.38, Low: 0.35, High: 0.42},
		TSP:         incubation.TSP{State: incubation.TSPOpen, Done: 0.4, Opens: day(-5), Closes: day(8)},
		CTE:         &incubation.CTE{Value: 27.9, Low: 27.6, High: 28.2},
		Sex:         incubation.Sex{MaleProbability: 0.04, Low: 0.01, High: 0.12, Words: "likely female"},
		Hatch:       incubation.HatchSpan{Earliest: day(28), Likely: day(33), Latest: day(40), Probability: 0.9},
		Basis:       incubation.Basis{Measured: 0.4, Projected: 0.6},
		HoldFromNow: []incubation.Hold{
			{Celsius: 32, MaleProbability: 0.5, Low: 0.2, High: 0.8, HatchLikely: noon},
		},
	}
}
