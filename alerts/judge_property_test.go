package alerts_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"clutchd/alerts"
)

// A beat is a tick of a random life: how long after the one before, and the
// value, NaN for none that is believable.
type beat struct {
	gap     time.Duration
	celsius float64
	ack     bool // what there is is acknowledged just before
}

// drawLife draws runs of like beats, so that delays do run out. The values
// lie around too-warm's limit of 33 and the end of its deadband, 32.8.
func drawLife(t *rapid.T) []beat {
	var life []beat
	for range rapid.IntRange(1, 12).Draw(t, "runs") {
		b := beat{
			gap:     time.Duration(rapid.IntRange(1, 240).Draw(t, "gap")) * time.Second,
			celsius: float64(rapid.IntRange(3260, 3320).Draw(t, "centi")) / 100,
			ack:     rapid.IntRange(0, 4).Draw(t, "ack") == 0,
		}
		if rapid.IntRange(0, 5).Draw(t, "lost") == 0 {
			b.celsius = math.NaN()
		}
		for range rapid.IntRange(1, 12).Draw(t, "length") {
			life = append(life, b)
			b.ack = false
		}
	}
	return life
}

// A stopwatch runs while the value is on one side of the limit. It stands
// while there is no value; a value counts until the next tick.
type stopwatch struct {
	runs  bool
	total time.Duration
}

func (w *stopwatch) tick(b beat, onThisSide, hadValue bool) {
	if w.runs && hadValue {
		w.total += b.gap
	}
	if math.IsNaN(b.celsius) {
		return
	}
	if !onThisSide || !w.runs {
		w.total = 0
	}
	w.runs = onThisSide
}

// A witness follows an alert beside the judge, by limits and stopwatches
// alone, without its phases.
type witness struct {
	hot      bool // on the far side, the deadband counted in
	hadValue bool
	far      stopwatch
	near     stopwatch
}

func (w *witness) see(b beat) {
	if !math.IsNaN(b.celsius) {
		w.hot = b.celsius >= 33 || w.hot && b.celsius > 32.8
	}
	w.far.tick(b, w.hot, w.hadValue)
	w.near.tick(b, !w.hot, w.hadValue)
	w.hadValue = !math.IsNaN(b.celsius)
}

func TestJudgeAgreesWithStopwatches(t *testing.T) {
	r := warm(t)
	rapid.Check(t, func(t *rapid.T) {
		var (
			w    witness
			s    alerts.State
			seen = map[string]bool{}
			now  = t0
			ids  = newDesk(nil, r)
		)
		for i, b := range drawLife(t) {
			now = now.Add(b.gap)
			w.see(b)
			if b.ack {
				s, _, _ = alerts.Acknowledge(s, s.Occurrence, "Ida", now)
			}
			before := s
			var reason alerts.Reason
			s, reason = alerts.Judge(r, s, ids.of(b.celsius), now)
			told, far, near := before.Told(), w.far.total, w.near.total

			switch {
			case reason == alerts.ReasonRaised && (told || !w.hot || far < r.OnDelay):
				t.Fatalf("tick %d: raised, told before %v, hot %v for %v", i, told, w.hot, far)
			case reason == alerts.ReasonRaised && (s.Occurrence == "" || seen[s.Occurrence]):
				t.Fatalf("tick %d: raised as %q, which was there before or is none", i, s.Occurrence)
			case w.hadValue && w.hot && far >= r.OnDelay && !s.Told():
				t.Fatalf("tick %d: hot for %v and not told: missed", i, far)
			case reason == alerts.ReasonCleared && (!told || w.hot || near < r.OffDelay):
				t.Fatalf("tick %d: cleared, told before %v, hot %v, back for %v", i, told, w.hot, near)
			case w.hadValue && !w.hot && near >= r.OffDelay && s.Told() && (!s.Chatters || near >= time.Hour):
				t.Fatalf("tick %d: back for %v and still told", i, near)
			case s.Told() && told && s.Occurrence != before.Occurrence:
				t.Fatalf("tick %d: %s became %s without an end", i, before.Occurrence, s.Occurrence)
			case !w.hadValue && s.Phase != before.Phase && before.Phase != "":
				t.Fatalf("tick %d: %s became %s without a value", i, before.Phase, s.Phase)
			}
			seen[s.Occurrence] = true

			stored := restored(t, s)
			again, still := alerts.Judge(r, stored, ids.of(b.celsius), now)
			// What a change kept waiting, a reminder, may come with the next look.
			waited := reason != alerts.ReasonStill && still == alerts.ReasonReminded
			if still != alerts.ReasonStill && !waited || again.Phase != s.Phase {
				t.Fatalf("tick %d: judged again, from the disk, it is %s, %q", i, again.Phase, still)
			}
			s = stored
		}
	})
}

// restored gives the state as it comes back from a disk.
func restored(t *rapid.T, s alerts.State) alerts.State {
	text, err := json.Marshal(s)
	if err != nil {
		t.Fatalf("store %+v: %v", s, err)
	}
	var back alerts.State
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(s, back); diff != "" {
		t.Fatalf("stored and read back (-was +is):\n%s", diff)
	}
	return back
}

// firstRaised is how long a life takes to be told, -1 if it never is.
func firstRaised(r alerts.Rule, life []beat) time.Duration {
	d := newDesk(nil, r)
	var after time.Duration
	for _, b := range life {
		after += b.gap
		if d.judge(d.of(b.celsius), after) == alerts.ReasonRaised {
			return after
		}
	}
	return -1
}

func TestJudgeHotterIsNeverToldLater(t *testing.T) {
	r := warm(t)
	rapid.Check(t, func(t *rapid.T) {
		life := drawLife(t)
		hotter := append([]beat(nil), life...)
		for i := range hotter {
			hotter[i].celsius += float64(rapid.IntRange(0, 100).Draw(t, "more")) / 100
		}
		cool, hot := firstRaised(r, life), firstRaised(r, hotter)
		if cool >= 0 && (hot < 0 || hot > cool) {
			t.Fatalf("told after %v, but after %v where every value is as hot or hotter", cool, hot)
		}
	})
}

func TestJudgeCaresOnlyForDifferencesOfTime(t *testing.T) {
	r := warm(t)
	rapid.Check(t, func(t *rapid.T) {
		here, there := newDesk(nil, r), newDesk(nil, r)
		var after, shift time.Duration
		for i, b := range drawLife(t) {
			after += b.gap
			if rapid.IntRange(0, 9).Draw(t, "step") == 0 {
				d := time.Duration(rapid.IntRange(-1e6, 1e6).Draw(t, "by")) * time.Second
				there.state, shift = there.state.Shift(d), shift+d
			}
			a := here.judge(here.of(b.celsius), after)
			c := there.judge(there.of(b.celsius), after+shift)
			if diff := cmp.Diff(here.state.Shift(shift), there.state); a != c || diff != "" {
				t.Fatalf("tick %d: %q here, %q on the clock that stepped by %v:\n%s", i, a, c, shift, diff)
			}
		}
	})
}
