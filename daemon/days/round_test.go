package days_test

import (
	"strings"
	"testing"
	"time"

	"clutchd/daemon/browser"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// theRound looks at twenty females in the order of their rack: one touch each
// where nothing has changed, never three. One is passed over, one tap is
// doubled, one is undone.
func theRound(t *testing.T, b *browser.Browser) {
	s := stable()
	tell := s.tell
	s.tell = func(write teller) {
		tell(write)
		for _, name := range names[:15] {
			write(7*day, book.KindChecked, book.CheckedData{
				Animal: strings.ToLower(name), Stage: incubation.Follicular, Size: incubation.Small, Sides: incubation.BothSide,
			})
		}
	}
	h := begin(t, s)
	p := b.Tab(t, browser.Phone())
	p.Open(h.url + "/round")
	p.Follow("main a.big1")
	var walked []string
	began := time.Now()
	p.Taps = 0
	for i := range len(names) {
		var animal string
		p.Ask(`document.querySelector("form.check [name=animal]").value`, &animal)
		walked = append(walked, animal)
		before := p.Taps
		switch {
		case i == 4: // asleep in her hide: later
			p.Follow(`main a.button[href*="/round"]`)
		case i == 7: // straining a little, with a word to it: signs first, then what shows
			p.Tap("details.more summary")
			p.Tap(`label:has(input[name=sides][value=one])`)
			p.Follow(`button.tile[value="` + string(incubation.Gravid) + `"]`)
		case i < 15:
			p.Follow("button.same")
		default:
			p.Follow(`button.tile[value="` + string(incubation.Quiet) + `"]`)
		}
		if n := p.Taps - before; n > 3 || n > 1 && i != 7 {
			t.Errorf("%s took %d taps", animal, n)
		}
	}
	t.Logf("%d taps and %v for %d females", p.Taps, time.Since(began).Round(time.Millisecond), len(names))
	var want []string
	for _, name := range names {
		want = append(want, strings.ToLower(name))
	}
	if strings.Join(walked, " ") != strings.Join(want, " ") {
		t.Errorf("walked %v, the rack is %v", walked, want)
	}
	checks := h.entries(book.KindChecked)
	if len(checks) != len(names)-1 {
		t.Fatalf("the book holds %d checks", len(checks))
	}
	for i, e := range checks {
		d := data[book.CheckedData](t, e)
		at := i
		if i >= 4 {
			at++
		}
		stage := incubation.Follicular
		switch {
		case at == 7:
			stage = incubation.Gravid
		case at >= 15:
			stage = incubation.Quiet
		}
		if d.Animal != want[at] || d.Stage != stage || at == 7 && d.Sides != incubation.OneSide || at < 7 && d.Size != incubation.Small {
			t.Errorf("check %d is %+v", i, d)
		}
	}
	if said := p.Text("main"); !strings.Contains(said, "Clove") || p.At() == "/round" {
		t.Errorf("at the end the page does not name whom it passed over: %s", said)
	}
	p.Follow(`.justnow form button`) // the last one was wrong
	if v := data[book.VoidData](t, one(t, "takings back", h.entries(book.KindVoid))); v.Entry != checks[len(checks)-1].Seq {
		t.Errorf("taken back was entry %d", v.Entry)
	}
}

// twoPhones stand before the same female: the second is told what the first
// wrote, and a double tap enters once.
func twoPhones(t *testing.T, b *browser.Browser) {
	h := begin(t, stable())
	one, two := b.Tab(t, browser.Phone()), b.Tab(t, browser.Phone())
	for _, p := range []*browser.Tab{one, two} {
		p.Open(h.url + "/round")
		p.Follow("main a.big1")
	}
	// A thumb that trembles.
	one.Ask(`(() => { const b = document.querySelector("button.tile[value=quiet]"); b.click(); b.click(); return 1; })()`, new(int))
	if !one.Until(`document.querySelector(".justnow")`) {
		t.Fatalf("after the tap: %s", one.Text("main"))
	}
	two.Follow(`button.tile[value="` + string(incubation.Gravid) + `"]`)
	if said := two.Text("main"); !strings.Contains(said, "Pepper") || !strings.Contains(said, "Quiet") {
		t.Errorf("the second phone is not told what the first wrote: %s", said)
	}
	if heard := two.Heard(); len(heard) != 1 || !strings.Contains(heard[0], "409") {
		t.Errorf("the browser complains: %q", heard)
	}
	if n := len(h.entries(book.KindChecked)); n != 1 {
		t.Errorf("the book holds %d checks of one look", n)
	}
}
