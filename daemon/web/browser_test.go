package web_test

import (
	"fmt"
	"net/http/httptest"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	chromium "clutchd/daemon/browser"
	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
	"clutchd/incubation"
)

// A browser is a real one, on the invented room.
type browser struct {
	t     *testing.T
	tab   *chromium.Tab
	heard []string // complaints: what the policy dropped, what a script threw
}

func browse(t *testing.T) *browser {
	t.Helper()
	return &browser{t: t, tab: chromium.Start(t).Tab(t, chromium.Desk())}
}

func (b *browser) open(address string) {
	b.t.Helper()
	b.tab.Open(address)
	b.heard = b.tab.Heard()
}

// ask gives what an expression is worth in the page.
func (b *browser) ask(expression string, v any) {
	b.t.Helper()
	b.tab.Ask(expression, v)
	b.heard = append(b.heard, b.tab.Heard()...)
}

func (b *browser) screen(width, height int, phone bool, scheme string) {
	b.t.Helper()
	b.tab.Shape(chromium.Shape{Width: width, Height: height, Phone: phone, Dark: scheme == "dark"})
}

// small lists what can be tapped and is less than 44 pixels high; a link
// inside a sentence is exempt.
const small = `[...document.querySelectorAll("a[href], button, select, input:not([type=hidden]), summary")]
	.filter(e => e.offsetParent && !e.closest("p:not(.trail):not(.acts)") && !e.matches(".skip"))
	.filter(e => e.getBoundingClientRect().height < 44).map(e => e.outerHTML.slice(0, 90))`

// today's site over a real connection; tick makes one more tick.
func serveToday(t *testing.T) (url string, tick func(func(*monitor.Snapshot))) {
	var now atomic.Pointer[monitor.Snapshot]
	var changed atomic.Pointer[chan struct{}]
	first := make(chan struct{})
	changed.Store(&first)
	s := open(t, func(o *web.Options) {
		o.Snapshot = now.Load
		o.Changed = func() <-chan struct{} { return *changed.Load() }
	})
	now.Store(s.snap)
	tick = func(change func(*monitor.Snapshot)) {
		n := *now.Load()
		n.Time, n.Tick = time.Now().UTC(), n.Tick+1 // not as old as the invented noon
		n.Places = slices.Clone(n.Places)
		change(&n)
		now.Store(&n)
		next := make(chan struct{})
		close(*changed.Swap(&next))
	}
	tick(func(*monitor.Snapshot) {})
	server := httptest.NewServer(s.handler)
	t.Cleanup(func() { server.CloseClientConnections(); server.Close() })
	return server.URL, tick
}

func TestPagesFitAPhone(t *testing.T) {
	url, _ := serveToday(t)
	b := browse(t)
	b.fits(url, pages)
}

// fits opens pages on two phones and a desk: none may be wider than the
// screen, hold what is too small for a finger, or break the policy.
func (b *browser) fits(url string, pages map[string]string) {
	b.t.Helper()
	for _, shape := range []struct {
		width, height int
		phone         bool
		scheme        string
	}{{390, 844, true, "light"}, {320, 568, true, "dark"}, {1280, 900, false, "light"}} {
		b.screen(shape.width, shape.height, shape.phone, shape.scheme)
		for name, path := range pages {
			b.open(url + path)
			var wide int
			var low []string
			b.ask("document.documentElement.scrollWidth", &wide)
			b.ask(small, &low)
			at := fmt.Sprintf("%s, %d wide", name, shape.width)
			if wide > shape.width {
				b.t.Errorf("%s: the page is %d wide", at, wide)
			}
			if shape.phone && len(low) > 0 {
				b.t.Errorf("%s: less than 44 high: %q", at, low)
			}
			if len(b.heard) > 0 {
				b.t.Errorf("%s: the browser complains: %q", at, b.heard)
			}
		}
	}
}

// What the test above listens for is really said.
func TestBrowserDropsInlineScriptAndSaysSo(t *testing.T) {
	url, _ := serveToday(t)
	b := browse(t)
	b.open(url + "/about")
	var ran bool
	b.ask(`(() => { const s = document.createElement("script"); s.textContent = "window.ran = true";
		document.body.append(s); return window.ran === true; })()`, &ran)
	b.ask("1", new(int))
	if ran || len(b.heard) == 0 {
		t.Errorf("an inline script ran: %v; complaints %q", ran, b.heard)
	}
}

func TestOpenPageFollowsTheTicks(t *testing.T) {
	url, tick := serveToday(t)
	b := browse(t)
	b.open(url + "/")
	tick(func(n *monitor.Snapshot) {
		n.Places[2].Celsius, n.Places[2].Worst = ptr(incubation.Celsius(32.2)), ""
	})
	var row string
	b.ask(`(async () => {
		const e = document.querySelector('[data-live="value box-2"]'), row = e.closest("li");
		for (let i = 0; i < 400 && e.textContent !== "32.2"; i++) await new Promise(r => setTimeout(r, 25));
		return e.textContent + " " + row.dataset.state + " " + row.querySelector(".word").textContent; })()`, &row)
	if row != "32.2 normal " {
		t.Errorf("box 2 shows %q", row)
	}
}
