package monitor_test

import (
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// What a start after a gap says is what readings around it tell, no more.
func TestAwayTellsWhatHappened(t *testing.T) {
	for _, row := range []struct {
		name     string
		gone     time.Duration
		before   incubation.Celsius
		after    incubation.Celsius
		more     func(*room) // after the start, before its first tick
		severity alerts.Severity
		says     []string
		not      []string
		eggs     int
	}{
		{
			name: "an incubator that cooled had no heat", gone: 6*time.Hour + 30*time.Minute, before: 31, after: 24.6,
			severity: alerts.Critical, eggs: 2,
			says: []string{
				"Nothing was watched or recorded for 6 h 3", "Outside its limits now: Box.",
				"Incubator: 31.0 °C at 01:04, 24.6 °C at 07:34; most likely without heat meanwhile.",
				"Eggs Fern A, Fern B.",
			},
		},
		{
			name: "one that is as it was may have had its heat", gone: 3 * time.Hour, before: 31, after: 30.8,
			severity: alerts.Warning,
			says:     []string{"Incubator: 31.0 °C at 01:04, 30.8 °C at 04:04."},
			not:      []string{"without heat", "Eggs", "Outside"},
		},
		{
			name: "one that is too warm is outside, not cold", gone: 3 * time.Hour, before: 31, after: 35.2,
			severity: alerts.Critical, eggs: 2,
			says: []string{"Outside its limits now: Box.", "31.0 °C at 01:04, 35.2 °C at 04:04."},
			not:  []string{"without heat"},
		},
		{
			name: "a fall that no cabinet makes by itself has another cause", gone: 15 * time.Minute, before: 31, after: 24,
			severity: alerts.Critical, eggs: 2,
			says: []string{"31.0 °C at 01:04, 24.0 °C at 01:19."}, not: []string{"without heat"},
		},
		{
			name: "one that was cold before says nothing of the gap", gone: 5 * time.Hour, before: 24.8, after: 24.6,
			severity: alerts.Critical, eggs: 2,
			says: []string{"24.8 °C at 01:04, 24.6 °C at 06:04."}, not: []string{"without heat"},
		},
		{
			name: "over more than a day the dates are said", gone: 26 * time.Hour, before: 31, after: 31,
			severity: alerts.Warning, says: []string{"31.0 °C at 1 January 01:04, 31.0 °C at 2 January 03:04."},
		},
		{
			name: "a logger that lay in the box tells what nobody watched", gone: 6 * time.Hour, before: 31, after: 30.9,
			more: func(r *room) {
				// Its file was brought in before the program was started again.
				r.store.mu.Lock()
				defer r.store.mu.Unlock()
				now := time.Now()
				for ago := 6*time.Hour - 10*time.Minute; ago > 0; ago -= 10 * time.Minute {
					c := incubation.Celsius(31)
					if ago > 2*time.Hour && ago < 3*time.Hour {
						c = 26.2
					}
					r.store.put(incubation.Reading{
						Probe: "logger", Time: now.Add(-ago).UTC(), Has: incubation.Temperature, Celsius: c,
					})
				}
			},
			severity: alerts.Warning, eggs: 2,
			says: []string{
				"for 6 h", "31.0 °C at 01:04, 30.9 °C at 07:04; in between 26.2 °C at 04:1", "at most 31.0 °C;",
				"most likely without heat meanwhile.", "Eggs Fern A",
			},
			not: []string{"Outside"},
		},
		{
			name: "a probe that does not come back is said, after two minutes", gone: 3 * time.Hour, before: 31, after: 0,
			severity: alerts.Warning, says: []string{"31.0 °C at 01:04, nothing read since."}, not: []string{"without heat"},
		},
	} {
		t.Run(row.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				store := newMemory()
				first := newRoom(t, store, "p")
				first.hand.celsius("p", row.before)
				first.live(time.Minute)
				first.incubator(31)
				first.enter(book.KindProbe, book.ProbeData{Probe: "logger", Place: "box", Position: incubation.Substrate})
				first.clutch()
				first.live(time.Hour + 4*time.Minute)
				if err := first.Sync(t.Context()); err != nil {
					t.Fatal(err)
				}
				time.Sleep(row.gone - 10*time.Second)
				r := &room{store: store}
				if row.more != nil {
					row.more(r)
				}
				r = newRoom(t, store, "p")
				r.boot = "boot-2"
				if row.after != 0 {
					r.hand.celsius("p", row.after)
				}
				r.live(3 * time.Minute)
				i := slices.IndexFunc(r.post.got, func(n alerts.Notice) bool { return n.Rule == "away" })
				if i < 0 {
					t.Fatalf("nothing of the gap in %q", r.post.said())
				}
				n := r.post.got[i]
				if n.Severity != row.severity || len(n.Eggs) != row.eggs {
					t.Errorf("%s about %d eggs, want %s about %d", n.Severity, len(n.Eggs), row.severity, row.eggs)
				}
				for _, says := range row.says {
					if !strings.Contains(n.Text, says) {
						t.Errorf("it says %q, want %q in it", n.Text, says)
					}
				}
				for _, not := range row.not {
					if strings.Contains(n.Text, not) {
						t.Errorf("it says %q: %q is not known", n.Text, not)
					}
				}
				if testing.Verbose() {
					t.Log(n.Text)
				}
			})
		})
	}
}
