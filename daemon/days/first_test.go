package days_test

import (
	"strings"
	"testing"
	"time"

	"clutchd/daemon/browser"
	"clutchd/incubation/book"
)

// firstRun goes from an empty room, with no probe, to the first eggs in a box,
// by the step that the first page names next and nothing else.
func firstRun(t *testing.T, b *browser.Browser) {
	h := begin(t, story{world: newWorld(nil)})
	p := b.Tab(t, browser.Phone())
	p.Open(h.url + "/")
	if said := p.Text(nextStep); !strings.Contains(said, "probe") {
		t.Errorf("without a probe the next step is %s", said)
	}
	h.world.plug("w1-28-00a1", 31.4)
	if !p.Until(`!document.querySelector(` + "`" + nextStep + "`" + `).innerText.includes("heard")`) {
		t.Fatalf("the probe is plugged in, and the page says %s", p.Text("main"))
	}
	var done []string
	for range 20 {
		p.Open(h.url + "/")
		if !p.Has(nextStep) {
			break
		}
		p.Follow(nextStep + " a.button")
		kind := h.step(p)
		done = append(done, kind)
	}
	if got := strings.Join(done, " "); got != "place probe setpoint place stand animal laying egg" {
		t.Errorf("the steps were %s", got)
	}

	p.Open(h.url + "/clutches/c1")
	p.Follow(`a[href*="egg=c1-b"][href*="kind=egg"]`)
	p.Choose("#f-box", "box-1")
	send(t, p)

	var clutch struct {
		Female string
		Eggs   []struct{ Box, State string }
	}
	h.get("/api/clutches/c1", &clutch)
	if clutch.Female != "pepper" || len(clutch.Eggs) != 2 || clutch.Eggs[0].Box != "box-1" || clutch.Eggs[1].Box != "box-1" {
		t.Errorf("in the book stands %+v", clutch)
	}
	if d := data[book.SetpointData](t, one(t, "setpoints", h.entries(book.KindSetpoint))); d.Celsius != 31.5 {
		t.Errorf("the thermostat was set to %+v", d)
	}
	if d := data[book.ProbeData](t, one(t, "probes", h.entries(book.KindProbe))); d.Place != "incubator" {
		t.Errorf("the probe sits %+v", d)
	}
	p.Open(h.url + "/")
	if !p.Until(`document.querySelector('[data-live="value incubator"]').textContent.startsWith("31.")`) {
		t.Errorf("the room says %s", p.Text("main"))
	}
}

// nextStep is where the first page says what comes next.
const nextStep = ".steps > .told"

// step fills in what the form of a step leaves open, and gives its kind.
func (h *house) step(p *browser.Tab) (kind string) {
	h.t.Helper()
	p.Ask(`new URLSearchParams(location.search).get("kind") || location.pathname`, &kind)
	switch kind {
	case "setpoint":
		p.Type("#f-celsius", "31,5")
	case "animal":
		p.Type("#f-name", "Pepper")
	case "laying":
		p.Type("#f-from", time.Now().In(h.zone).Add(-10*time.Hour).Format("2006-01-02T15:04"))
	case "place", "probe", "stand", "egg": // filled in already
	default:
		h.t.Fatalf("the next step leads to %s", kind)
	}
	send(h.t, p)
	return kind
}
