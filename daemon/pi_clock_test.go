package daemon_test

import (
	"fmt"
	"strings"
	"time"
)

// A dark is the time before the guest's clock was set, by this machine's.
type dark struct {
	from  time.Time // the program was started
	heard time.Time // its first reading arrived
	step  time.Time // the thermometer was made to feel something else
	to    time.Time // the last reading arrived
}

// startInTheDark starts the program with a clock that nothing has set: it
// tells what it reads all the same.
func (r *piRoom) startInTheDark() dark {
	r.t.Helper()
	r.warm(piFirst)
	r.lookForProbes()
	d := dark{from: time.Now()}
	r.sh("/clutchd run -config /clutchd.toml >/run/clutchd.log 2>&1 & echo $! >/run/clutchd.pid")
	first := r.awaitReading(d.from, piFirst)
	d.heard = first.at
	r.log("the first reading arrived: %s", first.payload)
	if when := first.time(r.t); when.Year() > 1970 {
		r.t.Errorf("a reading under a clock that is not set claims the time %s", when)
	}
	status := r.ear.await(d.from, "clutchd/pi/status", has("status", "online"))
	if strings.Contains(status.payload, "since") {
		r.t.Errorf("the status tells a time that nobody can know: %s", status.payload)
	}
	r.awaitReading(first.at.Add(piTick/2), piFirst)
	d.step = time.Now()
	r.warm(piSecond)
	r.log("the thermometer feels %v °C", piSecond)
	d.to = r.awaitReading(d.step, piSecond).at
	return d
}

// lookForProbes asks the program what it can read, before it runs.
func (r *piRoom) lookForProbes() {
	r.t.Helper()
	if r.plug != "" {
		r.sh("%s", r.plug)
	}
	said, want := r.sh("/clutchd probes -config /clutchd.toml"), fmt.Sprintf("%.2f °C", piFirst)
	if !strings.Contains(said, r.probe) || !strings.Contains(said, want) {
		r.t.Fatalf("clutchd probes: no %s that says %s:\n%s", r.probe, want, said)
	}
}

// setClock does what systemd's time service does.
func (r *piRoom) setClock() {
	r.t.Helper()
	set := time.Now().Round(time.Second)
	r.sh("date -u -s @%d", set.Unix())
	r.sh("mkdir -p /run/systemd/timesync && touch /run/systemd/timesync/synchronized")
	m := r.ear.await(set, r.readings(), func(payload string) bool {
		return near(heard{payload: payload}.time(r.t), time.Now(), 2*piTick)
	})
	r.log("the clock is set, and believed: %s", m.payload)
}

// A piHistory is what /api/readings answers.
type piHistory struct{ Columns []piColumn }

// A piColumn is one second of it.
type piColumn struct {
	Time time.Time `json:"time"`
	Low  float64   `json:"low_celsius"`
	High float64   `json:"high_celsius"`
}

// checkHistory asks for what was read before the clock was set, under its
// true time.
func (r *piRoom) checkHistory(d dark) {
	r.t.Helper()
	all := r.history(d)
	first, last := all[0].Time, all[len(all)-1].Time
	r.log("%d seconds with readings, from %s after the start to %s before the clock was set",
		len(all), first.Sub(d.from).Round(time.Second), d.to.Sub(last).Round(time.Second))
	if first.Before(d.from.Add(-piSlack)) || first.After(d.heard.Add(piSlack)) {
		r.t.Errorf("the first reading is dated %s: it was taken between %s and %s",
			utc(first), utc(d.from), utc(d.heard))
	}
	if d.step.Sub(first) < piSlack+piInterval || last.Sub(d.step) < piSlack+piInterval {
		r.t.Errorf("the history has little of before or after the step at %s: %s to %s",
			utc(d.step), utc(first), utc(last))
	}
	before := first
	for _, c := range all {
		if gap := c.Time.Sub(before); gap > piTick {
			r.t.Errorf("no reading for %s before %s: the probe was read every %s",
				gap, utc(c.Time), piInterval)
		}
		before = c.Time
		if want, known := d.felt(c.Time); known && (c.Low != want || c.High != want) {
			r.t.Errorf("at %s the history has %v to %v °C, the thermometer felt %v",
				utc(c.Time), c.Low, c.High, want)
		}
	}
}

// felt is what the thermometer felt at a time; near the step either may be
// right.
func (d dark) felt(t time.Time) (celsius float64, known bool) {
	if t.Before(d.step) {
		return piFirst, !near(t, d.step, piSlack)
	}
	return piSecond, !near(t, d.step, piSlack)
}

// history gives the seconds with readings. They get their time beside the
// tick, so it may take a moment.
func (r *piRoom) history(d dark) []piColumn {
	r.t.Helper()
	from := d.from.Add(-time.Minute).UTC().Truncate(time.Second)
	to := d.to.UTC().Truncate(time.Second)
	var h piHistory
	r.until("the readings from before the clock was set", time.Minute, func() bool {
		h = piHistory{}
		r.get(&h, "/api/readings?probe=%s&from=%s&to=%s&points=%d", r.probe,
			from.Format(time.RFC3339), to.Format(time.RFC3339), int(to.Sub(from).Seconds()))
		return len(h.Columns) > 0 && h.Columns[0].Time.Before(d.step)
	})
	return h.Columns
}
