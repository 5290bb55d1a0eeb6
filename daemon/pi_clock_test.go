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
	if r.plug != "" {
		r.sh("%s", r.plug)
	}
	said := r.sh("/clutchd probes -config /clutchd.toml")
	if want := fmt.Sprintf("%.2f °C", piFirst); !strings.Contains(said, r.probe) || !strings.Contains(said, want) {
		r.t.Fatalf("clutchd probes: no %s that says %s:\n%s", r.probe, want, said)
	}
	d := dark{from: time.Now()}
	r.sh("/clutchd run -config /clutchd.toml >/run/clutchd.log 2>&1 & echo $! >/run/clutchd.pid")
	first := r.awaitReading(d.from, piFirst)
	d.heard = first.at
	if when := first.time(r.t); when.Year() > 1970 {
		r.t.Errorf("a reading under a clock that is not set claims the time %s", when)
	}
	r.log("the first reading arrived: %s", first.payload)
	status := r.ear.await(d.from, time.Minute, "clutchd/pi/status", has("status", "online"))
	if strings.Contains(status.payload, "since") {
		r.t.Errorf("the status tells a time that nobody can know: %s", status.payload)
	}
	r.ear.await(first.at.Add(piTick/2), time.Minute, "clutchd/pi/reading/"+r.probe, saysCelsius(piFirst))
	d.step = time.Now()
	r.warm(piSecond)
	r.log("the thermometer feels %v °C", piSecond)
	second := r.awaitReading(d.step, piSecond)
	last := r.ear.await(second.at.Add(piTick/2), time.Minute, "clutchd/pi/reading/"+r.probe, saysCelsius(piSecond))
	d.to = last.at
	return d
}

// setClock does what systemd's time service does.
func (r *piRoom) setClock() {
	r.t.Helper()
	set := time.Now().Round(time.Second)
	r.sh("date -u -s @%d && mkdir -p /run/systemd/timesync && touch /run/systemd/timesync/synchronized", set.Unix())
	m := r.ear.await(set, time.Minute, "clutchd/pi/reading/"+r.probe, func(payload string) bool {
		return near(heard{payload: payload}.time(r.t), time.Now(), 2*piTick)
	})
	r.log("the clock is set, and believed: %s", m.payload)
}

// A piHistory is what /api/readings answers.
type piHistory struct {
	Columns []struct {
		Time time.Time `json:"time"`
		Low  float64   `json:"low_celsius"`
		High float64   `json:"high_celsius"`
	} `json:"columns"`
}

// checkHistory asks for what was read before the clock was set, under its true
// time. The readings are given it beside the tick, so it may take a moment.
func (r *piRoom) checkHistory(d dark) {
	r.t.Helper()
	from, to := d.from.Add(-time.Minute).UTC().Truncate(time.Second), d.to.UTC().Truncate(time.Second)
	var h piHistory
	r.until("the readings from before the clock was set", time.Minute, func() bool {
		h = piHistory{}
		r.get(&h, "/api/readings?probe=%s&from=%s&to=%s&points=%d", r.probe,
			from.Format(time.RFC3339), to.Format(time.RFC3339), int(to.Sub(from).Seconds()))
		return len(h.Columns) > 0 && h.Columns[0].Time.Before(d.step)
	})
	n := len(h.Columns)
	first, last := h.Columns[0].Time, h.Columns[n-1].Time
	r.log("%d seconds with readings, from %s after the start to %s before the clock was set",
		n, first.Sub(d.from).Round(time.Second), d.to.Sub(last).Round(time.Second))
	if first.Before(d.from.Add(-piSlack)) || first.After(d.heard.Add(piSlack)) {
		r.t.Errorf("the first reading is dated %s: it was taken between %s and %s", first, d.from, d.heard)
	}
	before := h.Columns[0].Time
	for _, c := range h.Columns {
		if gap := c.Time.Sub(before); gap > piTick {
			r.t.Errorf("no reading for %s before %s: the probe was read every %s", gap, c.Time, piInterval)
		}
		before = c.Time
		if near(c.Time, d.step, piSlack) {
			continue // either may be right
		}
		want := piFirst
		if c.Time.After(d.step) {
			want = piSecond
		}
		if c.Low != want || c.High != want {
			r.t.Errorf("at %s the history has %v to %v °C, the thermometer felt %v", c.Time, c.Low, c.High, want)
		}
	}
	if d.step.Sub(first) < piTick || last.Sub(d.step) < piTick {
		r.t.Errorf("the history has little of before or after the step at %s: %s to %s", d.step, first, last)
	}
}
