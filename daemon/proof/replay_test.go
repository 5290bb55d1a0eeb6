package proof_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors/logger"
	"clutchd/sensors/mqttin"
)

var records = flag.Bool("records", false, "replay the measured records (minutes)")

// A record is what a real sensor said, to be said again by a device on MQTT.
// None of these stood in an incubator. Two ways are tried: as if it did, with
// eggs, their limits, and the median of the record's beginning for a setpoint;
// and as an enclosure whose own limits are a kelvin beyond all that its
// beginning held. What it shows is whether labelled events are told, how soon,
// and how often something is told that nobody labelled.
type record struct {
	name     string
	readings []incubation.Reading
	every    time.Duration
	settles  time.Duration // the beginning, whose median is the setpoint
	events   []event
}

// An event is what the record's source labels: from a time to a time, of which
// at is the one that it names.
type event struct {
	name         string
	from, at, to time.Time
}

// replayed is what came of a record.
type replayed struct {
	record
	as      string // how it was judged
	notices []alerts.Notice
	shift   time.Duration // from the record's time to the room's
}

// asIncubator gives the place a setpoint, and eggs.
func (r record) asIncubator(h *house) string {
	long, c := h.wall().Add(-400*24*time.Hour), r.at(0.5)
	h.place(cool, incubation.Incubator, "Machine", "")
	h.place("box-1", incubation.Box, "Box", cool)
	h.enterAt(long, book.KindSetpoint, book.SetpointData{Place: cool, Celsius: incubation.Celsius(c)})
	h.put("record", h.wires[0].spot)
	h.enterAt(long, book.KindFemale, book.FemaleData{Female: "fern", Name: "Fern"})
	h.lay("fern-1", "fern", time.Hour, "box-1", "box-1")
	return fmt.Sprintf("as an incubator at %.1f °C", c)
}

// asEnclosure gives the place limits of its own.
func (r record) asEnclosure(h *house) string {
	low, high := incubation.Celsius(r.at(0)-1), incubation.Celsius(r.at(1)+1)
	h.place(cool, incubation.Enclosure, "Machine", "")
	h.enter(book.KindLimits, book.LimitsData{Place: cool, LowCelsius: &low, HighCelsius: &high})
	h.put("record", spot{place: cool})
	return fmt.Sprintf("with limits of %.1f and %.1f °C", low, high)
}

// replay has a device say the record, value by value, at its own pace.
func replay(t *testing.T, r record, beat time.Duration, furnish func(record, *house) string) replayed {
	out := replayed{record: r}
	synctest.Test(t, func(t *testing.T) {
		h := newEmptyHouse(t, beat)
		d := &device{every: r.every}
		d.Device = mqttin.Device{
			ProbeID: "record", Topic: "record", Pointer: "/f", Unit: mqttin.Fahrenheit, Interval: r.every,
		}
		h.wires = []*wire{{id: "record", chip: d, spot: spot{place: cool, position: incubation.IncubatorAir, kind: "mqtt"}}}
		h.run()
		h.monitor.Tick(t.Context(), h.instant())
		out.as = furnish(r, h)
		out.shift = time.Until(r.readings[0].Time)
		began := time.Now()
		for _, reading := range r.readings {
			at := began.Add(reading.Time.Sub(r.readings[0].Time))
			for time.Now().Add(beat).Before(at) {
				time.Sleep(beat)
				h.monitor.Tick(t.Context(), h.instant())
			}
			time.Sleep(time.Until(at))
			d.arrive(fmt.Sprintf(`{"f":%.4f}`, float64(reading.Celsius)*1.8+32), false)
			h.monitor.Tick(t.Context(), h.instant())
		}
		out.notices = h.post.since(0)
	})
	return out
}

// at gives the value of the record's beginning that a share of it is under.
func (r record) at(share float64) float64 {
	var c []float64
	for _, v := range r.readings {
		if v.Time.Sub(r.readings[0].Time) < r.settles {
			c = append(c, float64(v.Celsius))
		}
	}
	slices.Sort(c)
	return math.Round(c[int(share*float64(len(c)-1))]*10) / 10
}

// caught gives how long before (or after, negative) the time that the source
// names the first alarm of an event was told; false: none within its window.
func (p replayed) caught(e event) (lead time.Duration, n alerts.Notice, ok bool) {
	for _, n := range p.notices {
		if at := n.Time.Add(p.shift); announces(n) && !at.Before(e.from) && at.Before(e.to) {
			return e.at.Sub(at), n, true
		}
	}
	return 0, alerts.Notice{}, false
}

// stray counts the alarms outside every window, and the critical ones of them.
func (p replayed) stray() (all, critical int, byRule map[string]int) {
	byRule = map[string]int{}
	for _, n := range p.notices {
		at := n.Time.Add(p.shift)
		if !announces(n) || slices.ContainsFunc(p.events, func(e event) bool { return !at.Before(e.from) && at.Before(e.to) }) {
			continue
		}
		all++
		byRule[n.Rule]++
		if n.Severity == alerts.Critical {
			critical++
		}
	}
	return all, critical, byRule
}

// tell logs what came of it and gives how many events were caught.
func (p replayed) tell(t *testing.T) int {
	t.Helper()
	found := 0
	for _, e := range p.events {
		lead, n, ok := p.caught(e)
		if !ok {
			t.Logf("%s: %s: not told", p.name, e.name)
			continue
		}
		found++
		t.Logf("%s: %s: told by %s (%s), %s before the time the source names", p.name, e.name, n.Rule, n.Severity, lead.Round(time.Second))
	}
	all, critical, byRule := p.stray()
	days := p.readings[len(p.readings)-1].Time.Sub(p.readings[0].Time).Hours() / 24
	t.Logf("%s %s, %.1f days: %d alarms outside the events, %d of them critical: %v",
		p.name, p.as, days, all, critical, byRule)
	return found
}

// TestMachineReplayed replays the Numenta benchmark's machine temperature
// (realKnownCause/machine_temperature_system_failure, MIT licence): 79 days in
// °F, every five minutes, four events with windows around them.
func TestMachineReplayed(t *testing.T) {
	replays(t)
	measured(t, "machine_5min.csv") // skips
	file, err := os.Open(dataFile("machine_5min.csv"))
	must(t, err)
	defer file.Close()
	log, err := logger.Read(file, logger.Options{})
	must(t, err)
	r := record{name: "machine", readings: log.Readings, every: 5 * time.Minute, settles: 7 * 24 * time.Hour}
	for i, row := range [][3]string{
		// machine_labels.json of the same source.
		{"2013-12-10 06:25", "2013-12-11 06:00", "2013-12-12 05:35"},
		{"2013-12-15 17:50", "2013-12-16 17:25", "2013-12-17 17:00"},
		{"2014-01-27 14:20", "2014-01-28 13:55", "2014-01-29 13:30"},
		{"2014-02-07 14:55", "2014-02-08 14:30", "2014-02-09 14:05"},
	} {
		var at [3]time.Time
		for k, text := range row {
			at[k], err = time.Parse("2006-01-02 15:04", text)
			must(t, err)
		}
		r.events = append(r.events, event{fmt.Sprintf("event %d", i+1), at[0], at[1], at[2]})
	}
	for _, as := range []func(record, *house) string{record.asIncubator, record.asEnclosure} {
		replay(t, r, 2*time.Minute, as).tell(t)
	}
}

func replays(t *testing.T) {
	t.Helper()
	if !*records {
		t.Skip("-records replays them")
	}
	t.Parallel()
}

// TestSteamReplayed replays the motes of Suthaharan et al. 2010 (ODC-By 1.0 and
// CC BY 4.0), of which two got hot steam on purpose. They bear no times: a row
// is taken for five seconds.
func TestSteamReplayed(t *testing.T) {
	replays(t)
	byMote := map[string]*record{}
	start := time.Date(2010, 1, 1, 0, 0, 0, 0, time.UTC)
	var order []string
	for _, row := range measured(t, "motes_5s.csv") {
		m := row[1]
		r := byMote[m]
		if r == nil {
			r = &record{name: "mote " + m, every: 5 * time.Second, settles: time.Hour}
			byMote[m], order = r, append(order, m)
		}
		c, err := strconv.ParseFloat(row[4], 64)
		must(t, err)
		at := start.Add(time.Duration(len(r.readings)) * 5 * time.Second)
		r.readings = append(r.readings, incubation.Reading{Time: at, Celsius: incubation.Celsius(c)})
		if row[5] != "1" {
			continue
		}
		if n := len(r.events); n > 0 && r.events[n-1].to.Sub(at) > -10*time.Minute {
			r.events[n-1].to = at.Add(20 * time.Minute) // what follows from it
			continue
		}
		r.events = append(r.events, event{"steam", at, at, at.Add(20 * time.Minute)})
	}
	for _, m := range order {
		r := *byMote[m]
		replay(t, r, 5*time.Second, record.asIncubator).tell(t)
	}
}
