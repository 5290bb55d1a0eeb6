package daemon_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"
)

// enterTheRoom writes the room into the book: a box with two eggs in an
// incubator, and the probe beside the eggs.
func (r *piRoom) enterTheRoom() {
	r.t.Helper()
	now := time.Now().UTC()
	laid := fmt.Sprintf(`"from":%q,"to":%q`, now.Add(-26*time.Hour).Format(time.RFC3339),
		now.Add(-2*time.Hour).Format(time.RFC3339))
	for i, e := range [][2]string{
		{"place", `{"place":"north","kind":"incubator","name":"North"}`},
		{"place", `{"place":"n1","kind":"box","name":"Box 1"}`},
		{"stand", `{"place":"n1","in":"north"}`},
		{"probe", `{"probe":"` + r.probe + `","place":"n1","position":"substrate"}`},
		{"setpoint", `{"place":"north","celsius":28.5}`},
		{"limits", `{"place":"n1","over_setpoint_kelvin":2}`},
		{"female", `{"female":"f1","name":"Saffron"}`},
		{"laying", `{"clutch":"c1","female":"f1",` + laid +
			`,"eggs":[{"egg":"c1-a","mark":"A"},{"egg":"c1-b","mark":"B"}]}`},
		{"egg", `{"egg":"c1-a","box":"n1"}`},
		{"egg", `{"egg":"c1-b","box":"n1"}`},
	} {
		r.sh(`wget -q -O - --header 'Content-Type: application/json' --post-data `+
			`'{"request":"r%d","kind":"%s","data":%s}' http://127.0.0.1:8080/api/entries`,
			i, e[0], e[1])
	}
	m := r.ear.await(now, r.readings(), has("place", "n1"))
	r.log("the room is in the book: %s", m.payload)
}

// feverWhileTheBrokerIsAway heats the eggs until acute heat is told, with
// the broker stopped before it is due and started after, and gives the
// notice.
func (r *piRoom) feverWhileTheBrokerIsAway() piNotice {
	r.t.Helper()
	hot := time.Now()
	r.warm(piDeadly)
	r.log("the thermometer feels %v °C", piDeadly)
	r.awaitReading(hot, piDeadly)
	r.house.stop()
	r.log("the broker is stopped")
	r.awaitAlert(hot)
	waits := r.sh("wget -q -O - http://127.0.0.1:8080/metrics | " +
		"grep '^clutchd_outbox_pending{destination=\"mqtt:house\"}'")
	if strings.HasSuffix(waits, " 0") {
		r.t.Errorf("the broker is away and no notice waits: %s", waits)
	}
	back := time.Now()
	r.house.start()
	r.log("the broker is back")
	status := r.ear.await(back, "clutchd/pi/status", func(payload string) bool {
		return has("status", "online")(payload) && strings.Contains(payload, "next")
	})
	r.log("the Pi is back: %s", status.payload)
	n := r.awaitNotice(back, "raised")
	r.log("the notice arrived: %s", n.Text)
	r.checkFever(n, hot)
	return n
}

// awaitAlert asks the page until it tells of the heat, which must not be
// before the on-delay is over.
func (r *piRoom) awaitAlert(hot time.Time) {
	r.t.Helper()
	var active []piNotice
	r.until("acute heat on the page", 2*acuteOn, func() bool {
		asked := time.Now()
		r.get(&active, "/api/alerts")
		if len(active) > 0 && asked.Before(hot.Add(acuteOn-piSlack)) {
			r.t.Errorf("%s is told %s after it began, its on-delay is %s",
				active[0].Rule, asked.Sub(hot), acuteOn)
		}
		return len(active) > 0
	})
	r.log("the page tells: %s", active[0].Text)
}

func (r *piRoom) checkFever(n piNotice, hot time.Time) {
	r.t.Helper()
	if held := n.Time.Sub(n.Since); held < acuteOn || held > acuteOn+2*piTick {
		r.t.Errorf("told %s after it began, its on-delay is %s", held, acuteOn)
	}
	if n.Since.Before(hot.Add(-piSlack)) || n.Since.After(hot.Add(piTick+piSlack)) {
		r.t.Errorf("it is said to have begun at %s, it did at %s", utc(n.Since), utc(hot))
	}
	eggs := []string{"c1-a", "c1-b"}
	if n.Severity != "critical" || n.Value != piDeadly || !slices.Equal(n.Eggs, eggs) {
		r.t.Errorf("acute heat of two eggs at %v °C is told as %+v", piDeadly, n)
	}
}

// acknowledgeAndCool lets the keeper acknowledge over MQTT, since acute heat
// stays active until then, and the box cool.
func (r *piRoom) acknowledgeAndCool(n piNotice) {
	r.t.Helper()
	r.acknowledge(n)
	cool := time.Now()
	r.warm(piSecond)
	r.awaitReading(cool, piSecond)
	r.log("the box is cool")
	over := r.awaitNotice(cool, "cleared")
	r.log("it is over: %s", over.Text)
	if early := cool.Add(acuteOff - piSlack); over.Time.Before(early) {
		r.t.Errorf("over at %s: its off-delay is not over before %s",
			utc(over.Time), utc(early))
	}
	occurrences := map[string]bool{} // a notice may come twice
	for _, m := range r.ear.after(r.began, "clutchd/pi/notice") {
		if has("rule", n.Rule)(m.payload) {
			occurrences[r.notice(m).Occurrence] = true
		}
	}
	if len(occurrences) != 1 {
		r.t.Errorf("%d occurrences of %s are told, there was one fever", len(occurrences), n.Rule)
	}
}

// acknowledge asks until it is done: what is asked for while the Pi is not
// yet back on the broker is lost, and twice does no harm.
func (r *piRoom) acknowledge(n piNotice) {
	r.t.Helper()
	r.until("the acknowledgement", time.Minute, func() bool {
		r.house.say("clutchd/pi/command/alert/"+n.Alert,
			fmt.Sprintf(`{"do":"acknowledge","occurrence":%q,"by":"keeper"}`, n.Occurrence))
		return slices.ContainsFunc(r.ear.after(r.began, "clutchd/pi/notice"), func(m heard) bool {
			return has("reason", "acknowledged")(m.payload)
		})
	})
	r.log("the keeper has acknowledged")
}

// checkEggs looks at what the broker keeps of the clutch: both eggs with an
// estimate made on the Pi. The bounds are wide (judgement): whether an
// estimate is good is tested where it is made.
func (r *piRoom) checkEggs() {
	r.t.Helper()
	m := r.ear.await(r.began, "clutchd/pi/clutch/c1", func(payload string) bool {
		return strings.Count(payload, `"likely"`) == 2
	})
	var clutch struct {
		Laid struct{ To time.Time }
		Eggs []struct {
			ID, Box string
			Hatch   struct{ Earliest, Likely, Latest time.Time }
		}
	}
	if err := json.Unmarshal([]byte(m.payload), &clutch); err != nil {
		r.t.Fatalf("clutch %s: %v", m.payload, err)
	}
	for _, e := range clutch.Eggs {
		r.log("egg %s in %s hatches about %s", e.ID, e.Box, e.Hatch.Likely.Format(time.DateOnly))
		days := e.Hatch.Likely.Sub(clutch.Laid.To).Hours() / 24
		if e.Box != "n1" || days < 40 || days > 75 || e.Hatch.Latest.Before(e.Hatch.Earliest) {
			r.t.Errorf("an egg in box n1 at %v °C is told as %+v", piSecond, e)
		}
	}
}

// stop ends the program as systemd does.
func (r *piRoom) stop() {
	r.t.Helper()
	end := time.Now()
	r.sh("kill -TERM $(cat /run/clutchd.pid)")
	m := r.ear.await(end, "clutchd/pi/status", has("status", "offline"))
	r.log("the program is stopped: %s", m.payload)
}
