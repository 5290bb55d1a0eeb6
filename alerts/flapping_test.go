package alerts_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"clutchd/alerts"
)

// A silence is a probe that says nothing from one time to another.
type silence struct{ from, to time.Duration }

// hush lives silences minute by minute, and gives what was told and when. ack:
// the keeper acknowledges each notice the minute after.
func hush(t testing.TB, until time.Duration, ack, restarts bool, silences ...silence) ([]string, alerts.State) {
	r := rule(t, "stale")
	var s alerts.State
	var told []string
	ids := 0
	probe := alerts.Subject{Kind: alerts.ProbeSubject, ID: "p", Name: "p"}
	for now := time.Duration(0); now <= until; now += minute {
		quiet := 0.0
		for _, q := range silences {
			if now >= q.from && now < q.to {
				quiet = (now - q.from).Seconds()
			}
		}
		if ack && s.Told() && s.Acknowledged.IsZero() {
			s, _, _ = alerts.Acknowledge(s, s.Occurrence, "Ida", at(now))
		}
		if restarts && now%(7*time.Hour) == 0 {
			s = onDisk(t, s).Pause(at(now - minute))
		}
		var reason alerts.Reason
		s, reason = alerts.Judge(r, s, alerts.Observation{
			Subject: probe, Known: true, Value: &quiet, High: ptr(300),
			NewID: func() string { ids++; return fmt.Sprint("o", ids) },
		}, at(now))
		if alerts.Tells(reason) {
			told = append(told, fmt.Sprintf("%s %v", reason, now))
		}
		if !s.Lingers() {
			s = alerts.State{} // the monitor forgets it
		}
	}
	return told, s
}

func TestWhatDropsOut(t *testing.T) {
	const hour = time.Hour
	short := func(from time.Duration) silence { return silence{from, from + 10*minute} }
	tests := []struct {
		name     string
		until    time.Duration
		ack      bool
		restarts bool
		of       []silence
		want     string
	}{
		{
			"one silence is told, and its end", 30 * hour, false, false,
			[]silence{short(hour)},
			"raised 1h5m0s, cleared 1h11m0s",
		},
		{
			"the second in a day is the last that is told, until a day of quiet", 40 * hour, false, false,
			[]silence{short(hour), short(6 * hour), short(9 * hour), short(14 * hour)},
			"raised 1h5m0s, cleared 1h11m0s, raised 6h5m0s, cleared 38h10m0s",
		},
		{
			"one each other day is two things", 60 * hour, false, false,
			[]silence{short(hour), short(26 * hour)},
			"raised 1h5m0s, cleared 1h11m0s, raised 26h5m0s, cleared 26h11m0s",
		},
		{
			"after a day of quiet it is new again", 60 * hour, false, false,
			[]silence{short(hour), short(6 * hour), short(31 * hour)},
			"raised 1h5m0s, cleared 1h11m0s, raised 6h5m0s, cleared 30h10m0s, raised 31h5m0s, cleared 31h11m0s",
		},
		{
			"nobody is reminded of a short one, hours after the first", 12 * hour, false, false,
			[]silence{short(hour), short(2 * hour), short(8 * hour)},
			"raised 1h5m0s, cleared 1h11m0s, raised 2h5m0s",
		},
		{
			"one that then stays away is told again after four hours without a break", 13 * hour, false, false,
			[]silence{short(hour), short(2 * hour), {8 * hour, 20 * hour}},
			"raised 1h5m0s, cleared 1h11m0s, raised 2h5m0s, reminded 12h5m0s",
		},
		{
			"though it was acknowledged as one that comes and goes", 13 * hour, true, false,
			[]silence{short(hour), short(2 * hour), {8 * hour, 20 * hour}},
			"raised 1h5m0s, cleared 1h11m0s, raised 2h5m0s, rearmed 12h5m0s",
		},
		{
			"restarts neither forget nor repeat it; each keeps its wait for a minute", 40 * hour, false, true,
			[]silence{short(hour), short(6 * hour), short(9 * hour), short(15 * hour)},
			"raised 1h5m0s, cleared 1h11m0s, raised 6h5m0s, cleared 39h13m0s",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			told, _ := hush(t, tt.until, tt.ack, tt.restarts, tt.of...)
			if got := strings.Join(told, ", "); got != tt.want {
				t.Errorf("told %q, want %q", got, tt.want)
			}
		})
	}
}

func TestWhatDropsOutSaysSo(t *testing.T) {
	_, s := hush(t, 6*time.Hour+7*minute, false, false, silence{time.Hour, time.Hour + 10*minute}, silence{6 * time.Hour, 7 * time.Hour})
	want := "Probe p has been silent for 7 min. Check its cable, battery and receiver. " +
		"It comes and goes, for the second time within 5 h: told as one until it has been quiet for 24 h."
	if s.Text != want {
		t.Errorf("%q, want %q", s.Text, want)
	}
}

// A day after the last of it nothing is kept.
func TestWhatDroppedOutIsForgotten(t *testing.T) {
	_, s := hush(t, 32*time.Hour, true, false, silence{time.Hour, time.Hour + 10*minute}, silence{2 * time.Hour, 2*time.Hour + 10*minute})
	if s.Phase != "" { // hush forgets what does not linger
		t.Errorf("kept: %+v", s)
	}
}

// A source that is told as one that comes and goes, and is back just now, hides
// no probe of it that fell silent alone.
func TestWhatIsBackHidesNothing(t *testing.T) {
	source := rule(t, "silent-source")
	tests := []struct {
		name  string
		cause alerts.State
		want  alerts.Phase
	}{
		{"silent: it tells of its probes", alerts.State{Phase: alerts.Active}, alerts.Normal},
		{"back for half a minute: the others may still come", alerts.State{Phase: alerts.InOffDelay, Ended: at(-minute / 2)}, alerts.Normal},
		{"back for longer: who is silent now is so alone", alerts.State{Phase: alerts.InOffDelay, Ended: at(-minute)}, alerts.Active},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := tt.cause
			c.Rule, c.Severity, c.Occurrence, c.Chatters = source.Code, alerts.Warning, "c1", true
			s, _ := alerts.Judge(rule(t, "stale"), alerts.State{}, alerts.Observation{
				Subject: alerts.Subject{Kind: alerts.ProbeSubject, ID: "p"}, Known: true, Value: ptr(400), High: ptr(300),
				NewID: func() string { return "o1" },
				Causes: []alerts.Cause{{
					State: c, Where: alerts.ItsSource, OnDelay: source.OnDelay, OffDelay: source.OffDelay,
				}},
			}, at(0))
			if s.Phase != tt.want {
				t.Errorf("%s, want %s", s.Phase, tt.want)
			}
		})
	}
}

// onDisk gives the state as it comes back from a disk.
func onDisk(t testing.TB, s alerts.State) (back alerts.State) {
	text, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	return back
}

// Heat that came and went three times, was acknowledged as that, and then
// stays, is another thing: it is told again before four hours are over.
func TestWhatCameAndWentAndThenStaysIsToldAgain(t *testing.T) {
	d := newDesk(t, warm(t))
	at := time.Duration(0)
	until := func(end time.Duration, celsius float64) (said []alerts.Reason) {
		for ; at < end; at += minute {
			if r := d.judge(d.of(celsius), at); alerts.Tells(r) {
				said = append(said, r)
			}
		}
		return said
	}
	for n := range 3 {
		until(time.Duration(20*n+12)*minute, 33.5)
		until(time.Duration(20*n+20)*minute, 32)
	}
	if !d.state.Chatters || !d.state.Told() {
		t.Fatalf("after three times in an hour: %+v", d.state)
	}
	d.live([]step{{kind: "ack", after: at}})
	if said := until(100*minute, 32); len(said) > 0 {
		t.Errorf("while it is away it told %q", said)
	}
	if said := until(130*minute, 33.5); len(said) > 0 {
		t.Errorf("half an hour is one more of the same, and told %q", said)
	}
	if said := until(132*minute, 33.5); len(said) != 1 || said[0] != alerts.ReasonRearmed {
		t.Errorf("once it stays it told %q, want rearmed", said)
	}
}
