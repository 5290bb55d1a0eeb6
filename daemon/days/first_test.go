package days_test

import (
	"testing"
	"time"

	"clutchd/daemon/browser"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// firstRun goes from an empty room, with no probe, to the first eggs in a box,
// by what the pages offer.
func firstRun(t *testing.T, b *browser.Browser) {
	h := begin(t, story{world: newWorld(nil)})
	p := b.Tab(t, browser.Phone())
	p.Open(h.url + "/")
	p.Follow(`main a[href*="kind=place"]`)
	h.setUp(p, "Oak cabinet", "an incubator")
	h.write(p, "place")
	h.setUp(p, "Box 1", "an egg box")
	h.write(p, "stand")
	p.Choose("#f-place", "box-1")
	p.Choose("#f-in", "oak-cabinet")
	send(t, p)
	h.write(p, "setpoint")
	p.Choose("#f-place", "oak-cabinet")
	p.Type("#f-celsius", "31,5")
	send(t, p)

	h.world.plug("w1-28-00a1", 31.4)
	p.Open(h.url + "/")
	if !p.Until(`document.querySelector('main a[href*="kind=probe"]')`) {
		t.Fatalf("the new probe does not appear: %s", p.Text("main"))
	}
	p.Follow(`main a[href*="kind=probe"]`)
	p.Choose("#f-place", "box-1")
	p.Choose("#f-position", string(incubation.Substrate))
	send(t, p)
	p.Open(h.url + "/females")
	p.Follow(`main a[href*="kind=animal"]`)
	p.Type("#f-name", "Pepper")
	send(t, p)
	h.write(p, "laying")
	p.Choose("#f-female", "Pepper")
	p.Type("#f-from", time.Now().In(h.zone).Add(-10*time.Hour).Format("2006-01-02T15:04"))
	send(t, p)
	p.Open(h.url + "/clutches/c1")
	for _, egg := range []string{"c1-a", "c1-b"} {
		p.Follow(`a[href*="kind=egg&egg=` + egg + `"]`)
		p.Choose("#f-box", "box-1")
		send(t, p)
	}

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
	if d := data[book.ProbeData](t, one(t, "probes", h.entries(book.KindProbe))); d.Place != "box-1" || d.Position != incubation.Substrate {
		t.Errorf("the probe sits %+v", d)
	}
	p.Open(h.url + "/")
	if !p.Until(`document.querySelector('[data-live="value box-1"]').textContent.startsWith("31.")`) || p.Has(`main a[href*="kind=probe"]`) {
		t.Errorf("the room says %s", p.Text("main"))
	}
}

// write opens the form of a kind from the book's page.
func (h *house) write(p *browser.Tab, kind string) {
	h.t.Helper()
	p.Open(h.url + "/entries")
	p.Follow(`main a[href*="kind=` + kind + `&"]`)
}

func (h *house) setUp(p *browser.Tab, name, kind string) {
	h.t.Helper()
	p.Type("#f-name", name)
	p.Choose("#f-place_kind", kind)
	send(h.t, p)
}
