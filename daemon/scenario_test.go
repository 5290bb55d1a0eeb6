package daemon_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"os/exec"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"clutchd/daemon"
	"clutchd/daemon/config"
	"clutchd/daemon/monitor"
)

// The scenario's room lives ten seconds a tick, and ticks ten times a second:
// delays are counted in ticks, however slow the machine is.
const (
	beatReal = 100 * time.Millisecond
	beatRoom = 10 * time.Second
)

// roomClock is the room's own clock: it moves by the tick alone.
type roomClock struct {
	base  time.Time
	ticks atomic.Int64
}

func (c *roomClock) now() monitor.Instant {
	return c.at(c.ticks.Add(1))
}

// read gives the time of the newest tick.
func (c *roomClock) read() time.Time { return c.at(c.ticks.Load()).Wall }

func (c *roomClock) at(tick int64) monitor.Instant {
	d := time.Duration(tick) * beatRoom
	return monitor.Instant{Wall: c.base.Add(d), Trusted: true, Boot: "scenario", Elapsed: d}
}

// A thermometer is a device on MQTT: mosquitto_pub, fed line by line.
type thermometer struct {
	celsius atomic.Int64 // tenths
	stop    func()
}

func (h *hub) thermometer(topic string) *thermometer {
	h.t.Helper()
	cmd := exec.Command(mosquitto(h.t, "mosquitto_pub"), "-h", "127.0.0.1", "-p", h.port, "-t", topic, "-l")
	in, err := cmd.StdinPipe()
	if err != nil {
		h.t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		h.t.Fatal(err)
	}
	d, ctx := &thermometer{}, context.Background()
	ctx, cancel := context.WithCancel(ctx)
	done := make(chan struct{})
	go func() {
		defer close(done)
		for beat := time.NewTicker(beatReal); ctx.Err() == nil; {
			if c := d.celsius.Load(); c != 0 {
				fmt.Fprintf(in, `{"temperature":%.1f}`+"\n", float64(c)/10)
			}
			select {
			case <-beat.C:
			case <-ctx.Done():
				beat.Stop()
			}
		}
	}()
	d.stop = func() {
		cancel()
		<-done
		in.Close()
		_ = cmd.Wait()
	}
	h.t.Cleanup(d.stop)
	return d
}

func (d *thermometer) show(celsius float64) { d.celsius.Store(int64(celsius * 10)) }

// TestADeviceOnMQTT follows a reading through the whole daemon: from a
// thermometer that publishes over MQTT to a message on the keeper's phone, on
// two real brokers, one of which goes away meanwhile.
//
// Time is real here, as brokers know no virtual one: every wait is for an
// event. The room's clock goes by the tick, so that its delays are exact.
func TestADeviceOnMQTT(t *testing.T) {
	if testing.Short() {
		t.Skip("half a minute of real time")
	}
	t.Parallel()
	s := newScenario(t)
	defer s.checkPayloads()
	s.enterTheRoom()
	s.warmBox()
	s.feverWhileOneBrokerIsAway()
	s.silence()
	s.checkMetrics()
	s.end()
}

type scenario struct {
	*testing.T
	clock            *roomClock
	house, elsewhere *hub
	phone, away      *phone // one on each
	device           *thermometer
	pages            string
	stop             func() error
}

func newScenario(t *testing.T) *scenario {
	s := &scenario{T: t, clock: &roomClock{base: time.Now().UTC().Truncate(time.Second)}}
	s.house, s.elsewhere = newHub(t), newHub(t)
	s.phone, s.away = s.house.phone("clutchd/#"), s.elsewhere.phone("clutchd/#")
	cfg := config.Default()
	cfg.Site, cfg.Zone, cfg.StateDir, cfg.Kernel.Off = "loft", "Europe/Lisbon", t.TempDir(), true
	cfg.Web.Listen, cfg.Broker.Listen = "127.0.0.1:0", ""
	cfg.Brokers = []config.Remote{
		{Name: "house", URL: "mqtt://127.0.0.1:" + s.house.port},
		{Name: "elsewhere", URL: "mqtt://127.0.0.1:" + s.elsewhere.port},
	}
	cfg.Devices = []config.Device{{
		Probe: "shelf", Broker: "house", Topic: "loft/shelf", Pointer: "/temperature",
		IntervalSeconds: beatRoom.Seconds(), AccuracyKelvin: 0.2,
	}}
	s.run(cfg)
	s.device = s.house.thermometer("loft/shelf")
	s.device.show(28)
	return s
}

// run runs the daemon until stop is called or the test ends.
func (s *scenario) run(cfg config.Config) {
	s.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	ready, ended := make(chan daemon.Addresses, 1), make(chan error, 1)
	go func() {
		ended <- daemon.Run(ctx, daemon.Settings{
			Config: cfg, Log: slog.New(slog.DiscardHandler),
			Clock: s.clock.now, Tick: beatReal,
			Ready: func(at daemon.Addresses) { ready <- at },
		})
	}()
	stopped := false
	s.stop = func() error {
		if stopped {
			return nil
		}
		stopped = true
		cancel()
		return <-ended
	}
	s.Cleanup(func() { _ = s.stop() })
	select {
	case at := <-ready:
		s.pages = "http://" + at.Web.String()
	case err := <-ended:
		stopped = true
		s.Fatalf("the daemon ended: %v", err)
	}
}

// post sends JSON to the API and gives the answer's status and text.
func (s *scenario) post(path, text string) (int, string) {
	s.Helper()
	r, err := http.Post(s.pages+path, "application/json", strings.NewReader(text))
	if err != nil {
		s.Fatal(err)
	}
	defer r.Body.Close()
	said, _ := io.ReadAll(r.Body)
	return r.StatusCode, string(said)
}

func (s *scenario) get(path string) (int, []byte) {
	s.Helper()
	r, err := http.Get(s.pages + path)
	if err != nil {
		s.Fatal(err)
	}
	defer r.Body.Close()
	said, _ := io.ReadAll(r.Body)
	return r.StatusCode, said
}

// roomEntries set up a box with two eggs in an incubator, and a probe beside
// the eggs. The clutch was laid yesterday.
func roomEntries(probe string, now time.Time) [][2]string {
	laid := fmt.Sprintf(`"from":%q,"to":%q`, now.Add(-26*time.Hour).Format(time.RFC3339),
		now.Add(-2*time.Hour).Format(time.RFC3339))
	return [][2]string{
		{"place", `{"place":"north","kind":"incubator","name":"North"}`},
		{"place", `{"place":"n1","kind":"box","name":"Box 1"}`},
		{"stand", `{"place":"n1","in":"north"}`},
		{"probe", `{"probe":"` + probe + `","place":"n1","position":"substrate"}`},
		{"setpoint", `{"place":"north","celsius":28}`},
		{"limits", `{"place":"n1","high_celsius":30}`},
		{"female", `{"female":"f1","name":"Saffron"}`},
		{"laying", `{"clutch":"c1","female":"f1",` + laid + `,"eggs":[{"egg":"c1-a","mark":"A"},{"egg":"c1-b","mark":"B"}]}`},
		{"egg", `{"egg":"c1-a","box":"n1"}`},
		{"egg", `{"egg":"c1-b","box":"n1"}`},
	}
}

func (s *scenario) enterTheRoom() {
	s.Helper()
	for i, e := range roomEntries("shelf", s.clock.read()) {
		code, said := s.post("/api/entries", fmt.Sprintf(`{"request":"r%d","kind":%q,"data":%s}`, i, e[0], e[1]))
		if code != http.StatusCreated {
			s.Fatalf("%s: %d %s", e[1], code, said)
		}
	}
	s.phone.await("the probe in its place", func(m told) bool {
		var r struct {
			Place   string
			Celsius float64
		}
		_ = json.Unmarshal([]byte(m.payload), &r)
		return m.topic == "clutchd/loft/reading/shelf" && r.Place == "n1" && r.Celsius == 28
	})
	s.phone.await("the clutch's estimate", func(m told) bool {
		return m.topic == "clutchd/loft/clutch/c1" && strings.Contains(m.payload, `"hatch"`)
	})
}

// ofLimit is the on- and off-delay of above-limit on the rules' page.
const ofLimit = 10 * time.Minute

// warmBox takes the box above its own limit, and back.
func (s *scenario) warmBox() {
	s.Helper()
	from := s.clock.read()
	s.device.show(31)
	n := s.phone.notice("above-limit", "raised")
	if held := n.Time.Sub(n.Since); held < ofLimit || held > ofLimit+beatRoom {
		s.Errorf("told %s after it began, its on-delay is %s", held, ofLimit)
	}
	if n.Since.Before(from) || n.Value != 31 || len(n.Eggs) != 2 {
		s.Errorf("31 °C from %s on is told as %+v", from, n)
	}
	from = s.clock.read()
	s.device.show(28)
	over := s.phone.notice("above-limit", "cleared")
	if over.Time.Before(from.Add(ofLimit)) {
		s.Errorf("over %s after it was lowered, its off-delay is %s", over.Time.Sub(from), ofLimit)
	}
	if over.Occurrence != n.Occurrence {
		s.Errorf("occurrence %s began, %s ended", n.Occurrence, over.Occurrence)
	}
}

// feverWhileOneBrokerIsAway tells one broker at once and the other, which is
// stopped before the fever and started after it was told, when it is back.
func (s *scenario) feverWhileOneBrokerIsAway() {
	s.Helper()
	s.away.notice("above-limit", "cleared") // it has all so far
	s.elsewhere.stop()
	s.device.show(39)
	n := s.phone.notice("acute-heat", "raised")
	if held := n.Time.Sub(n.Since); held < time.Minute || held > time.Minute+beatRoom {
		s.Errorf("acute heat is told %s after it began, its on-delay is a minute", held)
	}
	if slices.ContainsFunc(s.away.notices(), func(o noticed) bool { return o.ID == n.ID }) {
		s.Error("a broker that was stopped took a notice")
	}
	s.elsewhere.start()
	if late := s.away.notice("acute-heat", "raised"); late.ID != n.ID || late.Occurrence != n.Occurrence {
		s.Errorf("one broker was told %+v, the other %+v", n, late)
	}
	path := "/api/alerts/" + n.Alert + "/acknowledge"
	if code, said := s.post(path, `{"occurrence":"another","by":"keeper"}`); code/100 != 4 {
		s.Errorf("another occurrence was acknowledged: %d %s", code, said)
	}
	if code, said := s.post(path, fmt.Sprintf(`{"occurrence":%q,"by":"keeper"}`, n.Occurrence)); code != http.StatusOK {
		s.Errorf("acknowledge: %d %s", code, said)
	}
	s.phone.notice("acute-heat", "acknowledged")
	s.device.show(28)
	s.phone.notice("acute-heat", "cleared")
}

// silence stops the thermometer.
func (s *scenario) silence() {
	s.Helper()
	for _, n := range s.phone.notices() {
		if n.Rule == "stale" {
			s.Errorf("a probe that speaks is told to be silent: %+v", n)
		}
	}
	s.device.stop()
	n := s.phone.notice("stale", "raised")
	if quiet := time.Duration(n.Value) * time.Second; quiet < 5*time.Minute || quiet > 5*time.Minute+beatRoom {
		s.Errorf("told after %s of silence, five minutes are allowed", quiet)
	}
	s.phone.await("the stale reading", func(m told) bool {
		return m.topic == "clutchd/loft/reading/shelf" && strings.Contains(m.payload, `"stale"`)
	})
	if n := s.phone.notice("eggs-unwatched", "raised"); n.Severity != "critical" || len(n.Eggs) != 2 {
		s.Errorf("eggs that nobody watches are told as %+v", n)
	}
}

func (s *scenario) checkMetrics() {
	s.Helper()
	if code, said := s.get("/healthz"); code != http.StatusOK || !strings.Contains(string(said), `"ok":true`) {
		s.Errorf("/healthz: %d %s", code, said)
	}
	code, text := s.get("/metrics")
	if code != http.StatusOK || !strings.Contains(string(text), "clutchd_alert_active") {
		s.Fatalf("/metrics: %d %s", code, text)
	}
	check := exec.Command(program(s.T, "promtool", "prometheus"), "check", "metrics")
	check.Stdin = bytes.NewReader(text)
	if said, err := check.CombinedOutput(); err != nil {
		s.Errorf("promtool check metrics: %v\n%s", err, said)
	}
}

// end stops the daemon, which takes leave of its brokers; where one is too slow
// to take it, the last will says the same.
func (s *scenario) end() {
	s.Helper()
	if err := s.stop(); err != nil {
		s.Errorf("the daemon ended with %v", err)
	}
	s.phone.await("the farewell", func(m told) bool {
		return m.topic == "clutchd/loft/status" && strings.Contains(m.payload, `"offline"`)
	})
}
