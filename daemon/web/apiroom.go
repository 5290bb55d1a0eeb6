package web

import (
	"net/http"
	"slices"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

type roomJSON struct {
	Site    string      `json:"site"`
	Time    time.Time   `json:"time"`
	Trusted bool        `json:"clock_trusted"`
	Tick    uint64      `json:"tick"`
	Fault   string      `json:"store_fault,omitempty"`
	Places  []placeJSON `json:"places"`
	Probes  []probeJSON `json:"probes"`
}

type placeJSON struct {
	ID            string               `json:"id"`
	Kind          incubation.PlaceKind `json:"kind"`
	Name          string               `json:"name"`
	Path          string               `json:"path"`
	In            string               `json:"in,omitempty"`
	Celsius       *incubation.Celsius  `json:"celsius,omitempty"`
	Humidity      *incubation.Humidity `json:"humidity_ratio,omitempty"`
	Read          time.Time            `json:"read,omitzero"`
	Setpoint      *incubation.Celsius  `json:"setpoint_celsius,omitempty"`
	Low           *incubation.Celsius  `json:"low_celsius,omitempty"`
	High          *incubation.Celsius  `json:"high_celsius,omitempty"`
	LowHumidity   *incubation.Humidity `json:"low_humidity_ratio,omitempty"`
	Offset        *float64             `json:"offset_kelvin,omitempty"`
	Settling      time.Time            `json:"settling_until,omitzero"`
	Period        *periodJSON          `json:"limits_period,omitempty"`
	Service       *serviceJSON         `json:"service,omitempty"`
	Probes        []string             `json:"probes"`
	Eggs          []string             `json:"eggs"`
	Cooling       *coolingJSON         `json:"cooling,omitempty"`
	Countdown     *countdownJSON       `json:"countdown,omitempty"`
	WorstSeverity string               `json:"worst_severity,omitempty"`
}

type probeJSON struct {
	ID       string               `json:"id"`
	Model    string               `json:"model"`
	Source   string               `json:"source"`
	Place    string               `json:"place,omitempty"`
	Position incubation.Position  `json:"position,omitempty"`
	Interval float64              `json:"interval_seconds"`
	Celsius  *incubation.Celsius  `json:"celsius,omitempty"`
	Humidity *incubation.Humidity `json:"humidity_ratio,omitempty"`
	Read     time.Time            `json:"read,omitzero"`
	Stale    bool                 `json:"stale"`
	Fault    string               `json:"fault,omitempty"`
	Quality  string               `json:"quality,omitempty"`
	// RawCelsius is what the sensor said, uncorrected.
	RawCelsius *incubation.Celsius `json:"raw_celsius,omitempty"`
	Calibrated time.Time           `json:"calibrated,omitzero"`
	Due        time.Time           `json:"calibration_due,omitzero"`
}

func (s *Server) apiRoom(snap *monitor.Snapshot, _ *http.Request) (any, error) {
	out := roomJSON{
		Site: snap.Site, Time: snap.Time.UTC(), Trusted: snap.Trusted, Tick: snap.Tick,
		Fault: snap.StoreFault, Places: []placeJSON{}, Probes: []probeJSON{},
	}
	for _, p := range snap.Places {
		out.Places = append(out.Places, placeJSON{
			ID: p.ID, Kind: p.Kind, Name: p.Name, Path: p.Path, In: p.In,
			Celsius: tidy(p.Celsius), Humidity: tidy(p.Humidity), Read: p.Read.UTC(),
			Setpoint: tidy(p.Setpoint), Low: tidy(p.Low), High: tidy(p.High),
			LowHumidity: tidy(p.LowHumidity), Offset: tidy(p.Offset),
			Settling: p.Settling.UTC(), Probes: some(p.Probes), Eggs: some(p.Eggs),
			Cooling: coolingOf(p.Cooling), Countdown: countdownOf(p.Countdown),
			WorstSeverity: string(p.Worst), Service: serviceOf(p.Service), Period: periodOf(p.Limits),
		})
	}
	for _, p := range snap.Probes {
		out.Probes = append(out.Probes, probeOf(p))
	}
	return out, nil
}

// probeOf leaves a stale probe's value out: it is absent, never frozen.
func probeOf(p monitor.ProbeNow) probeJSON {
	out := probeJSON{
		ID: p.ID, Model: p.Model, Source: p.Source, Place: p.Place, Position: p.Position,
		Interval: p.Interval.Seconds(), Read: p.Latest.Time.UTC(), Stale: p.Stale,
		Fault: string(p.Fault),
	}
	if c := p.Calibrated; c != nil {
		out.Calibrated, out.Due = c.At.UTC(), c.Due.UTC()
	}
	if p.Stale || p.Latest.Time.IsZero() {
		return out
	}
	if p.Raw.Has&incubation.Temperature != 0 && p.Raw.Celsius != p.Latest.Celsius {
		out.RawCelsius = tidy(&p.Raw.Celsius)
	}
	out.Quality = p.Latest.Quality.String()
	if p.Latest.Has&incubation.Temperature != 0 {
		out.Celsius = tidy(&p.Latest.Celsius)
	}
	if p.Latest.Has&incubation.RelativeHumidity != 0 {
		out.Humidity = tidy(&p.Latest.Humidity)
	}
	return out
}

// plainClutch is a clutch as the API gives it: lists are never null. holds
// keeps the table of what holding a temperature would give.
func plainClutch(c monitor.ClutchNow, holds bool) monitor.ClutchNow {
	c.Males, c.Eggs = some(c.Males), some(slices.Clone(c.Eggs))
	for i := range c.Eggs {
		if e := c.Eggs[i].Estimate; e != nil && !holds {
			short := *e
			short.HoldFromNow = nil
			c.Eggs[i].Estimate = &short
		}
	}
	return c
}

func (s *Server) apiClutches(snap *monitor.Snapshot, _ *http.Request) (any, error) {
	out := []monitor.ClutchNow{}
	for _, c := range snap.Clutches {
		out = append(out, plainClutch(c, false))
	}
	return out, nil
}

func (s *Server) apiClutch(snap *monitor.Snapshot, r *http.Request) (any, error) {
	c := clutchOf(snap, r.PathValue("id"))
	if c == nil {
		return nil, notFound("clutch " + r.PathValue("id"))
	}
	return plainClutch(*c, true), nil
}
