package daemon_test

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"testing"
	"time"
)

// A piRoom is a run under way.
type piRoom struct {
	piRun
	*pi
	t     *testing.T
	began time.Time
	house *hub
	ear   *ear
}

// log is the timeline of the run.
func (r *piRoom) log(format string, args ...any) {
	r.t.Helper()
	r.t.Logf("%5.1f s  %s", time.Since(r.began).Seconds(), fmt.Sprintf(format, args...))
}

// initramfs is all of the guest's disk.
func (r *piRoom) initramfs(kit piKit, program string) string {
	r.t.Helper()
	c := &cpio{}
	c.file(r.t, "busybox", kit.path("busybox"))
	c.file(r.t, "clutchd", program)
	c.text("init", piInit)
	c.text("clutchd.toml", "site = \"pi\"\nstate_folder = \"/state\"\nzone = \"UTC\"\n"+
		"[web]\nlisten = \"127.0.0.1:8080\"\n[broker]\nlisten = \"\"\n"+
		"[[mqtt]]\nname = \"house\"\nurl = \"mqtt://10.0.2.2:"+r.house.port+"\"\n"+r.config)
	c.folder("modules")
	for i, m := range kit.modules(r.t, piDrivers...) {
		c.file(r.t, fmt.Sprintf("modules/%02d-%s", i, filepath.Base(m)), m)
	}
	return c.end(r.t)
}

// until asks again and again, which is what one does with a page.
func (r *piRoom) until(what string, patience time.Duration, done func() bool) {
	r.t.Helper()
	for late := time.Now().Add(patience); !done(); time.Sleep(time.Second) {
		if time.Now().After(late) {
			r.t.Fatalf("%s: not within %s", what, patience)
		}
	}
}

// get asks the pages' API from within the guest: they are served there only.
func (r *piRoom) get(v any, path string, args ...any) {
	r.t.Helper()
	said := r.sh("wget -q -O - 'http://127.0.0.1:8080%s'", fmt.Sprintf(path, args...))
	if err := json.Unmarshal([]byte(said), v); err != nil {
		r.t.Fatalf("%s: %v\n%s", path, err, said)
	}
}

// A piNotice is a notice, or an alert of the page.
type piNotice struct {
	Alert, Occurrence, Rule, Reason, Severity, Text string
	Eggs                                            []string
	Value                                           float64
	Since, Time                                     time.Time
}

// awaitNotice gives the first notice of acute heat with that reason.
func (r *piRoom) awaitNotice(since time.Time, reason string) piNotice {
	r.t.Helper()
	return r.notice(r.ear.await(since, "clutchd/pi/notice", func(payload string) bool {
		return has("rule", "acute-heat")(payload) && has("reason", reason)(payload)
	}))
}

func (r *piRoom) notice(m heard) piNotice {
	r.t.Helper()
	var n piNotice
	if err := json.Unmarshal([]byte(m.payload), &n); err != nil {
		r.t.Fatalf("notice %s: %v", m.payload, err)
	}
	return n
}

// awaitReading gives the first reading after since of that temperature.
func (r *piRoom) awaitReading(since time.Time, celsius float64) heard {
	r.t.Helper()
	return r.ear.await(since, r.readings(), saysCelsius(celsius))
}

// readings is the topic of the thermometer.
func (r *piRoom) readings() string { return "clutchd/pi/reading/" + r.probe }

// time is a payload's own.
func (m heard) time(t *testing.T) time.Time {
	t.Helper()
	var p struct{ Time time.Time }
	if err := json.Unmarshal([]byte(m.payload), &p); err != nil {
		t.Fatalf("%s: %v", m.payload, err)
	}
	return p.Time
}

// has accepts a payload with that word under that name.
func has(name, word string) func(payload string) bool {
	return func(payload string) bool {
		var p map[string]any
		return json.Unmarshal([]byte(payload), &p) == nil && p[name] == word
	}
}

// saysCelsius accepts a good reading of exactly that temperature.
func saysCelsius(celsius float64) func(payload string) bool {
	return func(payload string) bool {
		var p map[string]any
		return json.Unmarshal([]byte(payload), &p) == nil &&
			p["celsius"] == celsius && p["quality"] == "good"
	}
}

func near(a, b time.Time, within time.Duration) bool { return a.Sub(b).Abs() <= within }

// utc shows a time of a run, which is over within minutes.
func utc(t time.Time) string { return t.UTC().Format("15:04:05.0") }
