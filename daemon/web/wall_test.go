package web_test

import (
	"fmt"
	"strings"
	"testing"

	"clutchd/alerts"
	chromium "clutchd/daemon/browser"
	"clutchd/daemon/monitor"
)

// A screen on the wall has nobody who scrolls: whatever happens in a room of any
// size, all that the page shows can be seen.
func TestWallNeedsNoScrolling(t *testing.T) {
	url, tick := serveToday(t)
	b := browse(t)
	calm := func(n *monitor.Snapshot) { n.Alerts = nil }
	crowd := func(n *monitor.Snapshot) {
		for i := range 40 {
			p := n.Places[2]
			p.ID, p.Name = fmt.Sprintf("box-%d", 100+i), fmt.Sprintf("Box %d on the lower shelf, behind the door", 100+i)
			n.Places = append(n.Places, p)
		}
	}
	storm := func(n *monitor.Snapshot) {
		crowd(n)
		for i := range 12 {
			a := n.Alerts[0]
			a.Alert, a.Occurrence = fmt.Sprintf("too-warm.place.box-%d", 100+i), fmt.Sprintf("o-%d", 200+i)
			a.Subject.ID = fmt.Sprintf("box-%d", 100+i)
			n.Alerts = append([]alerts.State{a}, n.Alerts...)
		}
	}
	for _, room := range []struct {
		sentence string
		change   func(*monitor.Snapshot)
	}{{"a room as it is", func(*monitor.Snapshot) {}}, {"a crowded room amid a storm of alerts", storm}, {"a calm crowded room", calm}} {
		tick(room.change)
		for _, s := range []chromium.Shape{
			{Width: 1920, Height: 1080},
			{Width: 1180, Height: 820, Phone: true, Scale: 2}, // a tablet on its side
		} {
			b.tab.Shape(s)
			b.open(url + "/wall")
			var size struct{ Wide, High int }
			b.ask(`({wide: document.documentElement.scrollWidth, high: document.documentElement.scrollHeight})`, &size)
			if size.Wide > s.Width || size.High > s.Height {
				t.Errorf("%s on %d by %d: the page is %d by %d", room.sentence, s.Width, s.Height, size.Wide, size.High)
			}
			if len(b.heard) > 0 {
				t.Errorf("the browser complains: %q", b.heard)
			}
			if room.sentence != "a calm crowded room" && !b.tab.Has(`.walltold [data-state="danger"]`) {
				t.Errorf("%s: no alert can be seen", room.sentence)
			}
		}
	}
}

// What a person needs from the wall is there, worst first, and the rest counted.
func TestWallShowsTheWorstFirst(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		text := s.ask("GET", "/wall", "").Body.String()
		inOrder(t, text, "Box 2 is 33.4 °C", "Off its setpoint", "Box 2, bottom</p>", "Oak cabinet</p>", "Tin cabinet</p>", "Next to hatch", "k2 A B")
		for range 30 {
			p := s.snap.Places[3]
			p.ID += "x"
			s.snap.Places = append(s.snap.Places, p)
		}
		inOrder(t, s.ask("GET", "/wall", "").Body.String(), "and 2", "more")
	})
}

// inOrder fails unless a text holds all parts, each behind the one before.
func inOrder(t *testing.T, text string, parts ...string) {
	t.Helper()
	rest := text
	for _, p := range parts {
		_, after, found := strings.Cut(rest, p)
		if !found {
			t.Errorf("%q is not there, or not behind what stands before it", p)
			return
		}
		rest = after
	}
}
