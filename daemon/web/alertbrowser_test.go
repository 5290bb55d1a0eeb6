package web_test

import (
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/daemon/web"

	"github.com/google/go-cmp/cmp"
)

// click presses what matches in the page, unfolding what it is folded into, and
// gives the address that is shown then.
func (b *browser) click(selector string) string {
	b.t.Helper()
	b.ask(`(() => { const e = document.querySelector(`+"`"+selector+"`"+`), shelf = e && e.closest("details");
		if (shelf && e.tagName !== "SUMMARY") shelf.open = true; return 1; })()`, new(int))
	b.tab.Follow(selector)
	b.heard = append(b.heard, b.tab.Heard()...)
	var at string
	b.ask("location.pathname", &at)
	return at
}

// What a person does at three in the morning, with a thumb, in a real browser:
// acknowledge, shelve until morning, take it off the shelf again.
func TestAlertsAreHandledOnAPhone(t *testing.T) {
	b := browse(t)
	b.screen(390, 844, true, "dark")
	var snap atomic.Pointer[monitor.Snapshot]
	s := open(t, func(o *web.Options) { o.Snapshot = snap.Load })
	now := *s.snap
	snap.Store(&now)
	server := httptest.NewServer(s.handler)
	t.Cleanup(func() { server.CloseClientConnections(); server.Close() })
	// The door of the fixture only notes what came; the page shows what it led to.
	led := func(alert string, to func(*alerts.State)) {
		next := *snap.Load()
		next.Tick++
		next.Alerts = append([]alerts.State(nil), next.Alerts...)
		for i := range next.Alerts {
			if next.Alerts[i].Alert == alert {
				to(&next.Alerts[i])
			}
		}
		snap.Store(&next)
	}
	const warm = "too-warm.place.box-2"
	article := `article[id="` + warm + `"]`

	b.open(server.URL + "/alerts")
	if at := b.click(article + " .ack button"); at != "/alerts" {
		t.Errorf("acknowledging leads to %s", at)
	}
	led(warm, func(a *alerts.State) { a.Acknowledged, a.AcknowledgedBy = noon, "page" })
	b.open(server.URL + "/alerts")
	var text string
	b.ask(`document.querySelector('`+article+`').innerText`, &text)
	if !strings.Contains(text, "acknowledged 12:32 by page") || strings.Contains(text, "Acknowledge\n") {
		t.Errorf("once acknowledged it says %q", text)
	}

	b.ask(`(() => { document.querySelector('`+article+` [name="why"]').value = "probe is out for the ice bath"; return 1 })()`, new(int))
	b.click(article + ` button[value="morning"]`)
	led(warm, func(a *alerts.State) {
		a.ShelvedUntil, a.ShelvedBy, a.ShelvedWhy = noon.Add(18*time.Hour), "page", "probe is out for the ice bath"
	})
	b.open(server.URL + "/alerts")
	b.ask(`document.querySelector('`+article+`').innerText`, &text)
	if !strings.Contains(text, "shelved until 15 Jun 06:32 by page") || !strings.Contains(text, "ice bath") {
		t.Errorf("on the shelf it says %q", text)
	}
	b.click(article + ` form[action$="unshelve"] button`)

	morning := time.Date(2026, 6, 15, 5, 0, 0, 0, time.UTC) // 7:00 in Berlin
	want := []monitor.Change{
		{Acknowledge: &monitor.Acknowledge{Alert: warm, Occurrence: "o-81", By: "page"}},
		{Shelve: &monitor.Shelve{
			Alert: warm, Occurrence: "o-81", Until: morning, By: "page", Why: "probe is out for the ice bath",
		}},
		{Unshelve: &monitor.Unshelve{Alert: warm, Occurrence: "o-81", By: "page"}},
	}
	if d := cmp.Diff(want, s.door.made); d != "" {
		t.Errorf("through the door came (-want +got):\n%s", d)
	}
	if len(b.heard) > 0 {
		t.Errorf("the browser complains: %q", b.heard)
	}
}

// A new alert appears without a reload, is read out, and is counted beside the
// page's name; what someone is choosing on the page stays under the finger.
func TestNewAlertsAppearOnAnOpenPage(t *testing.T) {
	url, tick := serveToday(t)
	b := browse(t)
	b.open(url + "/alerts")
	const wait = `(async (is) => { for (let i = 0; i < 400 && !is(); i++) await new Promise(r => setTimeout(r, 25)); return is(); })`
	var ok bool
	// The shelf of the invented noon is over by now. The first event is what was there when the page was opened.
	b.ask(wait+`(() => document.querySelector('[data-live="unseen"]').textContent === "3")`, &ok)
	if !ok {
		t.Fatal("three that nobody has seen are not counted")
	}
	tick(func(*monitor.Snapshot) {})
	b.ask(`(() => { window.here = true; document.querySelector('[data-live="now"]').textContent = "-"; return true; })()`, &ok)
	tick(func(*monitor.Snapshot) {})
	b.ask(wait+`(() => document.querySelector('[data-live="now"]').textContent !== "-")`, &ok) // it listens
	tick(func(n *monitor.Snapshot) {
		dry := n.Alerts[0]
		dry.Alert, dry.Rule, dry.Occurrence = "dry-air.place.box-2", "dry-air", "o-99"
		dry.Severity, dry.Text = alerts.Warning, "The air in Box 2 is at 70 %."
		n.Alerts = append([]alerts.State{n.Alerts[0], dry}, n.Alerts[1:]...)
	})
	b.ask(wait+`(() => document.getElementById("dry-air.place.box-2") && window.here === true)`, &ok)
	if !ok {
		t.Error("the new alert is not on the page, or the page was loaded anew")
	}
	var said, count string
	b.ask(`document.querySelector("[data-news]").textContent`, &said)
	b.ask(`document.querySelector('[data-live="unseen"]').textContent`, &count)
	if said != "Warning: Dry air, Oak cabinet / Box 2, bottom." || count != "4" {
		t.Errorf("read out is %q, counted %q", said, count)
	}
	b.ask(`(() => { document.querySelector(".shelf").open = true; sessionStorage.clear(); window.top1 = document.querySelector("article").id; return true; })()`, &ok)
	tick(func(n *monitor.Snapshot) { n.Alerts = nil })
	b.ask(wait+`(() => document.querySelector('[data-live="unseen"]').textContent === "")`, &ok)
	b.ask(`document.querySelector("article") !== null && document.querySelector(".shelf").open`, &ok)
	if !ok {
		t.Error("the page changed under the finger of someone who was choosing on it")
	}
}
