package web_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"net/http/httptest"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
	"clutchd/incubation"
)

// A browser is a real one, spoken to over two pipes.
type browser struct {
	t       *testing.T
	to      *os.File
	from    *bufio.Reader
	session string
	last    int
	heard   []string // complaints: what the policy dropped, what a script threw
}

func browse(t *testing.T) *browser {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("CLUTCHD_PEERS") == "required" {
			t.Fatal("no chromium on PATH: apt-get install chromium")
		}
		t.Skip("no chromium on PATH: apt-get install chromium")
	}
	home, err := os.MkdirTemp("", "browser") // not TempDir: its children write until they notice
	if err != nil {
		t.Fatal(err)
	}
	toRead, to, err1 := os.Pipe()
	from, fromWrite, err2 := os.Pipe()
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	c := exec.Command(path, "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
		"--disable-background-networking", "--remote-debugging-pipe", "--user-data-dir="+home, "about:blank")
	c.ExtraFiles = []*os.File{toRead, fromWrite}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	_ = toRead.Close()
	_ = fromWrite.Close()
	t.Cleanup(func() {
		_ = to.Close()
		_ = c.Process.Kill()
		_ = c.Wait()
		_ = os.RemoveAll(home)
	})
	_ = from.SetReadDeadline(time.Now().Add(2 * time.Minute))
	b := &browser{t: t, to: to, from: bufio.NewReader(from)}
	var page struct{ TargetID string }
	b.call("Target.createTarget", map[string]any{"url": "about:blank"}, &page)
	var session struct{ SessionID string }
	b.call("Target.attachToTarget", map[string]any{"targetId": page.TargetID, "flatten": true}, &session)
	b.session = session.SessionID
	for _, domain := range []string{"Page", "Runtime", "Log"} {
		b.call(domain+".enable", nil, nil)
	}
	return b
}

// call asks the browser for something and notes what it complains of
// meanwhile.
func (b *browser) call(method string, params map[string]any, result any) {
	b.t.Helper()
	b.last++
	text, err := json.Marshal(map[string]any{"id": b.last, "method": method, "params": params, "sessionId": b.session})
	if err != nil {
		b.t.Fatal(err)
	}
	if b.session == "" {
		text = []byte(strings.Replace(string(text), `,"sessionId":""`, "", 1))
	}
	if _, err := b.to.Write(append(text, 0)); err != nil {
		b.t.Fatal(err)
	}
	for {
		m := b.next()
		if m.ID == b.last {
			if m.Error != nil {
				b.t.Fatalf("%s: %s", method, m.Error)
			}
			if result != nil {
				if err := json.Unmarshal(m.Result, result); err != nil {
					b.t.Fatal(err)
				}
			}
			return
		}
	}
}

type message struct {
	ID                    int
	Method                string
	Params, Result, Error json.RawMessage
}

func (b *browser) next() message {
	b.t.Helper()
	text, err := b.from.ReadBytes(0)
	if err != nil {
		b.t.Fatal(err)
	}
	var m message
	if err := json.Unmarshal(bytes.TrimSuffix(text, []byte{0}), &m); err != nil {
		b.t.Fatal(err)
	}
	if m.Method == "Log.entryAdded" || m.Method == "Runtime.exceptionThrown" {
		b.heard = append(b.heard, string(m.Params))
	}
	return m
}

func (b *browser) open(address string) {
	b.t.Helper()
	b.heard = nil
	b.call("Page.navigate", map[string]any{"url": address}, nil)
	for b.next().Method != "Page.loadEventFired" {
	}
}

// ask gives what an expression is worth in the page.
func (b *browser) ask(expression string, v any) {
	b.t.Helper()
	var got struct{ Result struct{ Value string } }
	b.call("Runtime.evaluate", map[string]any{
		"expression":   "(async () => JSON.stringify(await (" + expression + ")))()",
		"awaitPromise": true,
	}, &got)
	if err := json.Unmarshal([]byte(got.Result.Value), v); err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
}

func (b *browser) screen(width, height int, phone bool, scheme string) {
	b.call("Emulation.setDeviceMetricsOverride", map[string]any{
		"width": width, "height": height,
		"deviceScaleFactor": 1, "mobile": phone,
	}, nil)
	b.call("Emulation.setEmulatedMedia", map[string]any{"features": []map[string]string{
		{"name": "prefers-color-scheme", "value": scheme},
	}}, nil)
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
	b := browse(t)
	url, _ := serveToday(t)
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
	b := browse(t)
	url, _ := serveToday(t)
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
	b := browse(t)
	url, tick := serveToday(t)
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
