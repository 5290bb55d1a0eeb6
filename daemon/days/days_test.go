package days_test

import (
	"slices"
	"testing"
	"time"

	"clutchd/daemon/browser"
	"clutchd/incubation/book"
)

// One browser for all days: it takes longer to start than a day to live.
func TestDays(t *testing.T) {
	b := browser.Start(t)
	for name, day := range map[string]func(*testing.T, *browser.Browser){
		"an alert in the night": alertInTheNight,
		"eggs in the lay box":   eggsInTheLayBox,
		"a helper at the wall":  helperAtTheWall,
		"everyone reads":        everyoneReads,
		"first page is small":   firstPageIsSmall,
		"first run":             firstRun,
		"with a female":         withAFemale,
		"pictured":              pictured,
		"the round":             theRound,
		"two phones":            twoPhones,
		"hatched and printed":   hatched,
		"a restart at night":    restartAtNight,
	} {
		t.Run(name, func(t *testing.T) { day(t, b) })
	}
}

// The phone rings: Box 1 is too warm. Open, log in, see what for, acknowledge.
func alertInTheNight(t *testing.T, b *browser.Browser) {
	s := breeder()
	s.locked = true
	s.before = fever
	h := begin(t, s)
	p := b.Tab(t, browser.Phone())
	h.login(p, "Ines")
	p.Taps = 0
	if !p.Has(".told[data-state=danger]") {
		t.Fatalf("nothing on the first page says so: %s", p.Text("main"))
	}
	p.Follow(".told .ack button")
	if p.Taps != 1 {
		t.Errorf("it took %d taps", p.Taps)
	}
	if p.Has(".told .ack button") {
		t.Errorf("it still asks to be acknowledged: %s", p.Text("main"))
	}
	e := h.entries(book.KindAcknowledged)
	if len(e) == 0 || e[0].By != "Ines" {
		t.Errorf("the book holds %+v", e)
	}
}

// Two eggs in a lay box: written down, one put warm and one cool, then moved
// and candled.
func eggsInTheLayBox(t *testing.T, b *browser.Browser) {
	h := begin(t, stable())
	p := b.Tab(t, browser.Phone())
	p.Open(h.url + "/entries")
	p.Follow(`a[href*="kind=laying"]`)
	p.Choose("#f-female", "nutmeg")
	p.Type("#f-from", time.Now().In(h.zone).Add(-14*time.Hour).Format("2006-01-02T15:04"))
	send(t, p)
	laid := data[book.LayingData](t, one(t, "layings", h.entries(book.KindLaying)))
	if laid.Female != "nutmeg" || laid.Clutch != "c1" || len(laid.Eggs) != 2 {
		t.Errorf("laid was %+v", laid)
	}

	p.Open(h.url + "/clutches/c1")
	for i, box := range []string{"box-1", "box-3"} {
		p.Follow(`a[href*="kind=egg&egg=` + laid.Eggs[i].Egg + `"]`)
		p.Choose("#f-box", box)
		send(t, p)
	}
	p.Follow(`a[href*="kind=egg&egg=c1-b"]`)
	p.Choose("#f-box", "box-2")
	send(t, p)
	p.Follow(`a[href*="kind=candle&egg=c1-a"]`)
	if p.Has("select#f-seen") {
		p.Choose("#f-seen", "alive")
	} else { // where what shows is drawn, one touch says both
		p.Tap(`label:has(input[name=seen][value^="alive/"])`)
	}
	send(t, p)

	p.Follow(`a[href*="kind=weighed"][href*="egg=c1-b"]`)
	p.Type("#f-grams", "3.1")
	send(t, p)
	if w := data[book.WeighedData](t, one(t, "weights", h.entries(book.KindWeighed))); w.Egg != "c1-b" || w.Grams != 3.1 {
		t.Errorf("weighed was %+v", w)
	}

	var lay []book.EggData
	for _, e := range h.entries(book.KindEgg) {
		lay = append(lay, data[book.EggData](t, e))
	}
	want := []book.EggData{{Egg: "c1-a", Box: "box-1"}, {Egg: "c1-b", Box: "box-3"}, {Egg: "c1-b", Box: "box-2"}}
	if !slices.Equal(lay, want) {
		t.Errorf("the eggs went %+v, want %+v", lay, want)
	}
	if c := data[book.CandleData](t, one(t, "candlings", h.entries(book.KindCandle))); c.Egg != "c1-a" || c.Seen != "alive" {
		t.Errorf("candled was %+v", c)
	}
	var now struct {
		Eggs []struct {
			ID  string
			Box string
		}
	}
	h.get("/api/clutches/c1", &now)
	if len(now.Eggs) != 2 || now.Eggs[0].Box != "box-1" || now.Eggs[1].Box != "box-2" {
		t.Errorf("they lie in %+v", now)
	}
	// Undone where it was done, with one touch.
	weighed := h.entries(book.KindWeighed)[0].Seq
	p.Follow(".done button")
	if v := data[book.VoidData](t, one(t, "takings back", h.entries(book.KindVoid))); v.Entry != weighed {
		t.Errorf("taken back was entry %d", v.Entry)
	}
}

// A tablet on the wall, opened with a link that the keeper made: it shows,
// follows the room, and changes nothing but what it may.
func helperAtTheWall(t *testing.T, b *browser.Browser) {
	s := stable()
	s.locked = true
	h := begin(t, s)
	k := b.Tab(t, browser.Desk())
	h.login(k, "")
	k.Follow(`footer a[href="/settings/tokens"]`)
	k.Type(`#f-name`, "kitchen tablet")
	k.Tap(`input[name=acknowledge]`)
	k.Follow(`form[action="/settings/tokens"] button`)
	link := k.Text("#secret")

	wall := b.Tab(t, browser.Shape{Width: 1180, Height: 820, Phone: true, Scale: 2})
	wall.Open(link)
	if at := wall.At(); at != "/wall" || !wall.Has(".readonly") {
		t.Fatalf("the link leads to %s: %s", at, wall.Text("body"))
	}
	h.world.set("w1-28-00b2", 27)
	if !wall.Until(`document.querySelector('[data-live="value box-3"]').textContent.startsWith("27.") ||
		document.querySelector('[data-live="value box-3"]').textContent.startsWith("26.")`) {
		t.Errorf("the wall does not follow the room: %s", wall.Text("main"))
	}
	wall.Open(h.url + "/entries/new?kind=note")
	if !wall.Has("h1") || wall.Has("form.entry") {
		t.Errorf("a helper is shown a form: %s", wall.Text("main"))
	}
	if heard := wall.Heard(); len(heard) != 1 { // the 403 itself
		t.Errorf("the browser complains: %q", heard)
	}

	k.Open(h.url + "/settings/tokens")
	k.Follow(`form[action$="/revoke"] button`)
	wall.Open(h.url + "/wall")
	if at := wall.At(); at != "/login?next=%2Fwall" {
		t.Errorf("revoked, the link still leads to %s", at)
	}
}
