package alerts_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"clutchd/alerts"
)

// A deed is what a keeper does just before a tick.
type deed struct {
	beat
	shelve time.Duration // zero: not
	off    time.Duration // the program stands still for so long before the tick
}

// drawDeeds draws a longer life than drawLife, of slower beats, with a keeper
// and with power cuts.
func drawDeeds(t *rapid.T) []deed {
	var life []deed
	for _, b := range append(drawLife(t), drawLife(t)...) {
		d := deed{beat: b}
		switch rapid.IntRange(0, 30).Draw(t, "deed") {
		case 0:
			d.shelve = time.Duration(rapid.IntRange(1, 90).Draw(t, "shelf")) * time.Minute
		case 1:
			d.off = time.Duration(rapid.IntRange(1, 300).Draw(t, "off")) * time.Minute
		}
		life = append(life, d)
	}
	return life
}

// A clerk follows the reasons of one alert and says what is wrong with them.
type clerk struct {
	told   bool // raised, and not yet ended
	last   time.Time
	pauses []time.Duration // since anything but a reminder was told
}

// hears takes a reason, and gives what is wrong with it, "" if nothing is.
func (c *clerk) hears(reason alerts.Reason, before, after alerts.State, now time.Time) string {
	switch reason {
	case alerts.ReasonRaised:
		if c.told {
			return "raised twice without an end"
		}
		c.told, c.last, c.pauses = true, now, nil
	case alerts.ReasonCleared:
		if !c.told {
			return "cleared without having been raised"
		}
		c.told = false
	case alerts.ReasonReminded:
		switch {
		case !c.told:
			return "a reminder of what is over"
		case !before.Acknowledged.IsZero():
			return "a reminder of what was acknowledged"
		case now.Before(before.ShelvedUntil):
			return "a reminder of what is on the shelf"
		}
		c.pauses = append(c.pauses, now.Sub(c.last))
		c.last = now
	case alerts.ReasonRearmed:
		if !after.Acknowledged.IsZero() || before.Acknowledged.IsZero() {
			return "rearmed, and it was not acknowledged or still is"
		}
		c.last, c.pauses = now, nil
	case alerts.ReasonEscalated, alerts.ReasonUnshelved, alerts.ReasonEased:
		c.last, c.pauses = now, nil
	}
	return ""
}

// rising is a rule with all that may happen to an alert: 10 and 5 min, critical
// after two hours.
func rising(t testing.TB) alerts.Rule {
	r := warm(t)
	r.Severity, r.Rises = alerts.Warning, []alerts.Rise{{After: 2 * time.Hour, To: alerts.Critical}}
	return r
}

func TestALifeIsToldInOrder(t *testing.T) {
	for _, r := range []alerts.Rule{warm(t), rising(t)} {
		rapid.Check(t, func(t *rapid.T) {
			var (
				c    clerk
				s    alerts.State
				now  = t0
				ids  = newDesk(nil, r)
				seen = map[string]bool{}
			)
			for i, d := range drawDeeds(t) {
				if d.off > 0 {
					s = restored(t, s).Pause(now)
					now = now.Add(d.off)
				}
				now = now.Add(d.gap)
				if d.ack {
					s, _, _ = alerts.Acknowledge(s, s.Occurrence, "Ida", now)
				}
				if d.shelve > 0 {
					v := alerts.Shelving{Occurrence: s.Occurrence, For: d.shelve, By: "Ida"}
					s, _, _ = alerts.Shelve(s, v, now)
				}
				before := s
				var reason alerts.Reason
				s, reason = alerts.Judge(r, s, ids.of(d.celsius), now)
				if wrong := c.hears(reason, before, s, now); wrong != "" {
					t.Fatalf("tick %d: %s", i, wrong)
				}
				if c.told != s.Told() {
					t.Fatalf("tick %d: told %v, and the last notice says %v", i, s.Told(), c.told)
				}
				if reason == alerts.ReasonRaised && seen[s.Occurrence] {
					t.Fatalf("tick %d: raised as %s, which was there before", i, s.Occurrence)
				}
				seen[s.Occurrence] = true
			}
		})
	}
}

func TestRemindersPausesNeverShrink(t *testing.T) {
	r := rising(t)
	rapid.Check(t, func(t *rapid.T) {
		var s alerts.State
		ids := newDesk(nil, r)
		tick := time.Duration(rapid.IntRange(120, 240).Draw(t, "tick")) * time.Second
		cuts := rapid.SliceOfN(rapid.IntRange(0, 700), 0, 5).Draw(t, "cuts")
		last, shortest := time.Time{}, time.Duration(0)
		count := 0
		for i, now := 0, t0; now.Before(t0.Add(24 * time.Hour)); i, now = i+1, now.Add(tick) {
			if slices.Contains(cuts, i) {
				s = restored(t, s).Pause(now)
			}
			var reason alerts.Reason
			s, reason = alerts.Judge(r, s, ids.of(33.5), now)
			switch reason {
			case alerts.ReasonReminded:
				pause := now.Sub(last)
				if pause+tick < shortest {
					t.Fatalf("after %v: a pause of %v behind one of %v", now.Sub(t0), pause, shortest)
				}
				last, shortest, count = now, pause, count+1
			case alerts.ReasonRaised, alerts.ReasonEscalated:
				last, shortest = now, 0
			}
		}
		// Warning: at one hour. Critical from two on: at 5, 15, 35 and 75 min,
		// then each hour for 20 hours and a half: late ticks may cost one or two.
		if count < 23 || count > 26 {
			t.Fatalf("%d reminders in a day with ticks of %v", count, tick)
		}
	})
}

// A restart may move what is told, by the time nobody looked and by one tick,
// but neither adds nor loses anything while the value stays what it is.
func TestARestartChangesNothingButTiming(t *testing.T) {
	r := rising(t)
	rapid.Check(t, func(t *rapid.T) {
		tick := time.Duration(rapid.IntRange(20, 60).Draw(t, "tick")) * time.Second
		cut := time.Duration(rapid.IntRange(0, 4*3600).Draw(t, "cut")) * time.Second
		live := func(restart bool) (said []alerts.Reason) {
			var s alerts.State
			ids := newDesk(nil, r)
			for after := time.Duration(0); after < 5*time.Hour; after += tick {
				if restart && after >= cut && after < cut+tick {
					s = restored(t, s).Pause(at(after - tick))
				}
				var reason alerts.Reason
				celsius := 33.5
				if after > 4*time.Hour {
					celsius = 32
				}
				if s, reason = alerts.Judge(r, s, ids.of(celsius), at(after)); alerts.Tells(reason) {
					said = append(said, reason)
				}
			}
			return said
		}
		if whole, cutUp := live(false), live(true); !slices.Equal(whole, cutUp) {
			t.Fatalf("it told of %v, and of %v when it stopped at %v", whole, cutUp, cut)
		}
	})
}

// What comes and goes is raised as soon as it would be without that rule, and
// told of at most three times before an hour of quiet.
func TestChatterDelaysNoRaise(t *testing.T) {
	r := warm(t)
	rapid.Check(t, func(t *rapid.T) {
		var s, bare alerts.State
		ids, others := newDesk(nil, r), newDesk(nil, r)
		var raises []time.Time
		now := t0
		for i, b := range append(drawLife(t), drawLife(t)...) {
			now = now.Add(b.gap)
			was := s
			var reason, plain alerts.Reason
			s, reason = alerts.Judge(r, s, ids.of(b.celsius), now)
			bare.Raises, bare.Chatters = nil, false
			bare, plain = alerts.Judge(r, bare, others.of(b.celsius), now)
			if plain == alerts.ReasonRaised && !s.Told() {
				t.Fatalf("tick %d: it would be raised, and is %s", i, s.Phase)
			}
			if reason != alerts.ReasonRaised {
				continue
			}
			raises = append(raises, now)
			if n := len(raises); n > 3 && now.Sub(raises[n-4]) < time.Hour {
				t.Fatalf("tick %d: raised four times within %v, from %s", i, now.Sub(raises[n-4]), was.Phase)
			}
		}
	})
}
