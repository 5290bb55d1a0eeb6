package monitor_test

import (
	"flag"
	"fmt"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors"
	"clutchd/sensors/simulated"
)

var healthyDays = flag.Int("healthy-days", 1, "how many days TestHealthyDays lives through; 60 were reported")

// A cabinet is an incubator of the simulated room, with a box that has a probe
// of its own.
type cabinet struct {
	id                    string
	setpoint, swing       float64 // swing zero: a proportional thermostat
	watts, losses         float64
	tau                   float64       // minutes
	feeler                time.Duration // the lag of the thermostat's own sensor
	noProbe               bool          // only its box has one
	openFrom, openMinutes float64       // a door, daily; hours
}

// simulatedRoom is a monitor over a simulated room: cabinets, a box in each,
// and a probe for the room. No eggs: what is told does not depend on them, and
// estimating them takes longest.
type simulatedRoom struct {
	*room
	sim  *simulated.Room
	from time.Time
}

func newSimulatedRoom(t *testing.T, step time.Duration, faults []simulated.Fault, cabinets ...cabinet) *simulatedRoom {
	t.Helper()
	start := time.Now().UTC()
	spec := simulated.Spec{
		Interval: step, Faults: faults,
		Weather: simulated.Weather{Place: "room", Mean: 21.5, Swing: 1.3, Peak: 16, Moods: 0.6},
	}
	probe := func(id, place string) {
		spec.Probes = append(spec.Probes, simulated.Probe{
			Probe: sensors.Probe{ID: id, Model: "test", Has: incubation.Temperature, Accuracy: 0.2},
			Place: place, Noise: 0.03,
		})
	}
	for _, c := range cabinets {
		spec.Cabinets = append(spec.Cabinets, simulated.Cabinet{
			Place: c.id, Hysteresis: c.swing, Watts: c.watts, Losses: c.losses, Capacity: c.tau * 60 * c.losses, Feeler: c.feeler,
			Settings: []simulated.Setting{{From: start, Celsius: c.setpoint}},
		})
		spec.Tubs = append(spec.Tubs, simulated.Tub{Place: c.id + "-box", In: c.id, Shelf: 0.3, Lag: 35 * time.Minute})
		probe(c.id+"-box", c.id+"-box")
		if !c.noProbe {
			probe(c.id, c.id)
		}
		for day := 0; c.openMinutes > 0 && day < *healthyDays; day++ {
			from := start.Add(time.Duration((float64(day)*24 + c.openFrom + 0.3*float64(day%7)) * float64(time.Hour)))
			spec.Faults = append(spec.Faults, simulated.Fault{
				Kind: simulated.Open, Subject: c.id, From: from,
				To: from.Add(time.Duration(c.openMinutes * float64(time.Minute))),
			})
		}
	}
	probe("room", "room")
	if err := spec.Check(); err != nil {
		t.Fatal(err)
	}
	s := &simulatedRoom{sim: simulated.New(spec, 5, start), from: start}
	s.room = newRoomOf(t, newMemory(), func(o *monitor.Options) { o.Sampler = s.sim })
	s.furnish(cabinets)
	return s
}

func (s *simulatedRoom) furnish(cabinets []cabinet) {
	s.Helper()
	s.Tick(s.Context(), s.instant())
	s.enter(book.KindPlace, book.PlaceData{Place: "room", Kind: incubation.Room, Name: "Room"})
	s.enter(book.KindProbe, book.ProbeData{Probe: "room", Place: "room"})
	for _, c := range cabinets {
		box := c.id + "-box"
		s.enter(book.KindPlace, book.PlaceData{Place: c.id, Kind: incubation.Incubator, Name: "Incubator " + c.id})
		s.enter(book.KindPlace, book.PlaceData{Place: box, Kind: incubation.Box, Name: "Box " + c.id})
		s.enter(book.KindStand, book.StandData{Place: c.id, In: "room"})
		s.enter(book.KindStand, book.StandData{Place: box, In: c.id})
		s.enter(book.KindSetpoint, book.SetpointData{Place: c.id, Celsius: incubation.Celsius(c.setpoint)})
		s.enter(book.KindProbe, book.ProbeData{Probe: box, Place: box, Position: incubation.Substrate})
		if !c.noProbe {
			s.enter(book.KindProbe, book.ProbeData{Probe: c.id, Place: c.id, Position: incubation.IncubatorAir})
		}
	}
}

// pass lets time pass, a tick each step; each is called after every tick.
func (s *simulatedRoom) pass(d, step time.Duration, each func(now time.Time)) {
	for end := time.Now().Add(d); time.Now().Before(end); {
		time.Sleep(step)
		s.Tick(s.Context(), s.instant())
		if each != nil {
			each(time.Now().UTC())
		}
	}
}

// raised gives the notices of these rules that raise, in order.
func (s *simulatedRoom) raisedBy(rules ...string) []alerts.Notice {
	s.post.mu.Lock()
	defer s.post.mu.Unlock()
	return slices.DeleteFunc(slices.Clone(s.post.got), func(n alerts.Notice) bool {
		return n.Reason != alerts.ReasonRaised || !slices.Contains(rules, n.Rule)
	})
}

// TestHealthyDays: on/off thermostats of every swing, a proportional one,
// boxes, weather and a door that is opened daily: no early warning, ever.
func TestHealthyDays(t *testing.T) {
	arithmetic(t)
	synctest.Test(t, func(t *testing.T) {
		step := 30 * time.Second
		if *healthyDays <= 1 {
			step = time.Minute
		}
		s := newSimulatedRoom(t, step, nil,
			cabinet{id: "a", setpoint: 28, swing: 0.4, watts: 40, losses: 1.2, tau: 90, openFrom: 9, openMinutes: 8},
			cabinet{id: "b", setpoint: 28, swing: 0.8, watts: 60, losses: 1.2, tau: 90, openFrom: 11, openMinutes: 15},
			cabinet{id: "c", setpoint: 31.5, swing: 1.0, watts: 60, losses: 1.1, tau: 110, openFrom: 18, openMinutes: 10},
			cabinet{id: "d", setpoint: 32.5, swing: 1.5, watts: 80, losses: 1.2, tau: 60, openFrom: 20, openMinutes: 10},
			cabinet{id: "e", setpoint: 31.5, watts: 50, losses: 1.1, tau: 110, openFrom: 8, openMinutes: 20},
			cabinet{id: "f", setpoint: 27, swing: 1.5, watts: 60, losses: 1.0, tau: 45, openFrom: 7, openMinutes: 8, noProbe: true},
		)
		s.pass(time.Duration(*healthyDays)*24*time.Hour, step, nil)
		all := s.raisedBy("heating-early", "cooling-early")
		for _, n := range all {
			t.Errorf("%s after %v: %s", n.Rule, n.Time.Sub(s.from).Round(time.Minute), n.Text)
		}
		t.Logf("%d healthy days of 6 incubators and 6 boxes, a door a day each: %d false early warnings", *healthyDays, len(all))
	})
}

// A trouble is something that goes wrong in a simulated cabinet.
type trouble struct {
	name    string
	c       cabinet
	kind    simulated.FaultKind
	rule    string  // that is to tell; "": none may
	least   float64 // minutes that it must be earlier than the next rule
	minutes float64 // how long it lasts; zero: on
}

// TestEarliness holds the early warnings against what the other rules would
// have told by their limit and on-delay alone, from what the same probe read.
func TestEarliness(t *testing.T) {
	arithmetic(t)
	plain := cabinet{id: "a", setpoint: 28, swing: 0.4, watts: 40, losses: 1.2, tau: 90}
	with := func(c cabinet, change func(*cabinet)) cabinet { change(&c); return c }
	tests := []trouble{
		{"stuck on, swing 0.4", plain, simulated.StuckOn, "heating-early", 7, 0},
		{"stuck on, swing 1.0", with(plain, func(c *cabinet) { c.swing = 1 }), simulated.StuckOn, "heating-early", 6, 0},
		{"stuck on, swing 1.5, 80 W", with(plain, func(c *cabinet) { c.swing, c.watts = 1.5, 80 }), simulated.StuckOn, "heating-early", 5, 0},
		{"stuck on at 32, proportional", with(plain, func(c *cabinet) { c.setpoint, c.swing = 32, 0 }), simulated.StuckOn, "heating-early", 8, 0},
		{"stuck on, only the box measured", with(plain, func(c *cabinet) { c.noProbe = true }), simulated.StuckOn, "heating-early", 0, 0},
		{"stuck on, a weak heater that ends at 31.5", with(plain, func(c *cabinet) { c.watts = 12 }), simulated.StuckOn, "", 0, 0},
		{"breaker tripped at 28", plain, simulated.Tripped, "cooling-early", 25, 0},
		{"breaker tripped at 28, swing 1.0", with(plain, func(c *cabinet) { c.swing = 1 }), simulated.Tripped, "cooling-early", 20, 0},
		{"breaker tripped at 31.5: too-cool tells sooner", with(plain, func(c *cabinet) { c.setpoint = 31.5 }), simulated.Tripped, "", 0, 0},
		{"breaker tripped at 28, swing 1.5", with(plain, func(c *cabinet) { c.swing = 1.5 }), simulated.Tripped, "cooling-early", 15, 0},
		{"stuck on, swing 0.3, a slow feeler", with(plain, func(c *cabinet) { c.swing, c.feeler = 0.3, 2*time.Minute }), simulated.StuckOn, "heating-early", 5, 0},
		{"stuck on at 32.5, swing 0.4", with(plain, func(c *cabinet) { c.setpoint = 32.5 }), simulated.StuckOn, "heating-early", 10, 0},
		{"door open for 10 min", plain, simulated.Open, "", 0, 10},
		{"door open for 25 min", plain, simulated.Open, "", 0, 25},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) { tt.live(t) })
		})
	}
}

func (tt trouble) live(t *testing.T) {
	const healthy = 8*time.Hour + 40*time.Minute // two to settle, six to know its swing
	at := time.Now().UTC().Add(healthy)
	fault := simulated.Fault{Kind: tt.kind, Subject: tt.c.id, From: at}
	if tt.minutes > 0 {
		fault.To = at.Add(time.Duration(tt.minutes * float64(time.Minute)))
	}
	s := newSimulatedRoom(t, 10*time.Second, []simulated.Fault{fault}, tt.c)
	s.pass(healthy, time.Minute, nil)
	place := tt.c.id
	if tt.c.noProbe {
		place += "-box"
	}
	others := map[string]*wait{
		"too-warm":     {from: tt.c.setpoint + 1.5, up: true, delay: 10 * time.Minute},
		"runaway-heat": {from: 34.5, up: true, delay: 10 * time.Minute},
		"too-cool":     {from: tt.c.setpoint - 2, delay: 20 * time.Minute},
	}
	s.pass(2*time.Hour, 10*time.Second, func(now time.Time) {
		p := s.place(place)
		for _, w := range others {
			w.see(float64(*p.Celsius), now)
		}
	})
	after := func(t time.Time) string {
		if t.IsZero() {
			return "–"
		}
		return fmt.Sprintf("%.1f", t.Sub(at).Minutes())
	}
	raised := s.raisedBy("heating-early", "cooling-early")
	if tt.rule == "" {
		for _, n := range raised {
			t.Errorf("%s told: %s", n.Rule, n.Text)
		}
	}
	var told time.Time
	if len(raised) > 0 {
		told = raised[0].Time
		t.Log(raised[0].Text)
	}
	t.Logf("minutes after it began: early %s, too-warm %s, runaway %s, too-cool %s", after(told),
		after(others["too-warm"].over), after(others["runaway-heat"].over), after(others["too-cool"].over))
	if tt.rule == "" {
		return
	}
	next := others[map[string]string{"heating-early": "too-warm", "cooling-early": "too-cool"}[tt.rule]].over
	if len(raised) != 1 || raised[0].Rule != tt.rule {
		t.Fatalf("%d early warnings, want one of %s", len(raised), tt.rule)
	}
	if lead := next.Sub(told).Minutes(); lead < tt.least {
		t.Errorf("%.1f min before the next rule, want %.0f", lead, tt.least)
	}
}

// wait is a limit and an on-delay, by themselves.
type wait struct {
	from        float64
	up          bool
	delay       time.Duration
	since, over time.Time
}

func (w *wait) see(c float64, now time.Time) {
	switch {
	case !w.over.IsZero():
	case w.up && c < w.from, !w.up && c >= w.from:
		w.since = time.Time{}
	case w.since.IsZero():
		w.since = now
	case now.Sub(w.since) >= w.delay:
		w.over = now
	}
}
