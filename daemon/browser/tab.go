package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// A Tab is one page at a time, and what the browser said about it. It belongs
// to one goroutine.
type Tab struct {
	// Taps counts how often something was touched; choosing from a list is two.
	Taps int

	t      testing.TB
	ctx    context.Context
	shape  Shape
	loaded chan struct{}

	mu    sync.Mutex
	heard []string
	wire  int64
}

// listen notes what the browser says. Chromium calls it while it waits: it
// must ask the browser nothing.
func (p *Tab) listen(event any) {
	switch e := event.(type) {
	case *page.EventLoadEventFired:
		select {
		case p.loaded <- struct{}{}:
		default:
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == log.LevelError || e.Entry.Level == log.LevelWarning {
			p.hear("%s: %s %s", e.Entry.Source, e.Entry.Text, e.Entry.URL)
		}
	case *runtime.EventExceptionThrown:
		p.hear("a script threw: %s", e.ExceptionDetails.Error())
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.APITypeError || e.Type == runtime.APITypeWarning || e.Type == runtime.APITypeAssert {
			text, _ := json.Marshal(e.Args)
			p.hear("console: %s", text)
		}
	case *network.EventLoadingFailed:
		if !e.Canceled { // an event stream is, when its page goes
			p.hear("a request failed: %s %s", e.ErrorText, e.BlockedReason)
		}
	case *network.EventLoadingFinished:
		p.mu.Lock()
		p.wire += int64(e.EncodedDataLength)
		p.mu.Unlock()
	}
}

func (p *Tab) hear(format string, args ...any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.heard = append(p.heard, fmt.Sprintf(format, args...))
}

// Heard gives what the browser complained of since it was last asked: what the
// policy dropped, what a script threw, what was answered with an error.
func (p *Tab) Heard() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	out := p.heard
	p.heard = nil
	return out
}

// Blame fails the test with what the browser complained of.
func (p *Tab) Blame() {
	p.t.Helper()
	for _, text := range p.Heard() {
		p.t.Errorf("the browser complains: %s", text)
	}
}

// Wire gives how many bytes came over the network since it was last asked,
// headers included.
func (p *Tab) Wire() int64 {
	p.mu.Lock()
	defer p.mu.Unlock()
	n := p.wire
	p.wire = 0
	return n
}

func (p *Tab) run(actions ...chromedp.Action) {
	p.t.Helper()
	if err := p.try(actions...); err != nil {
		p.t.Fatal(err)
	}
}

func (p *Tab) try(actions ...chromedp.Action) error {
	if chromedp.FromContext(p.ctx).Target == nil { // the first call makes the tab, which must outlive it
		return chromedp.Run(p.ctx, actions...)
	}
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	return chromedp.Run(ctx, actions...)
}

// Shape makes another thing of what holds the tab.
func (p *Tab) Shape(s Shape) {
	p.t.Helper()
	p.shape = s
	scheme := "light"
	if s.Dark {
		scheme = "dark"
	}
	scale := s.Scale
	if scale == 0 {
		scale = 1
	}
	p.run(
		emulation.SetDeviceMetricsOverride(int64(s.Width), int64(s.Height), scale, s.Phone),
		emulation.SetTouchEmulationEnabled(s.Phone),
		emulation.SetEmulatedMedia().WithFeatures([]*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}),
	)
}

// Open goes to an address and waits until all of it is there.
func (p *Tab) Open(address string) {
	p.t.Helper()
	p.load(address, chromedp.ActionFunc(func(ctx context.Context) error {
		_, _, failed, _, err := page.Navigate(address).Do(ctx)
		if err == nil && failed != "" {
			err = fmt.Errorf("open %s: %s", address, failed)
		}
		return err
	}))
}

// load does what leads to another page and waits for it.
func (p *Tab) load(what string, do chromedp.Action) {
	p.t.Helper()
	if !p.leads(do, patience) {
		p.t.Fatalf("%s leads to no other page", what)
	}
}

// leads does something and reports whether another page came of it in time.
func (p *Tab) leads(do chromedp.Action, within time.Duration) bool {
	p.t.Helper()
	for len(p.loaded) > 0 {
		<-p.loaded
	}
	p.run(do)
	ctx, cancel := context.WithTimeout(p.ctx, within)
	defer cancel()
	select {
	case <-p.loaded:
		return true
	case <-ctx.Done():
		return false
	}
}

// Ask gives what an expression is worth in the page; a promise is waited for.
func (p *Tab) Ask(expression string, v any) {
	p.t.Helper()
	if err := p.ask(expression, v); err != nil {
		p.t.Fatalf("%s: %v", expression, err)
	}
}

func (p *Tab) ask(expression string, v any) error {
	var text string
	err := p.try(chromedp.Evaluate("(async () => JSON.stringify(await ("+expression+")))()", &text,
		func(e *runtime.EvaluateParams) *runtime.EvaluateParams { return e.WithAwaitPromise(true) }))
	if err != nil {
		return err
	}
	return json.Unmarshal([]byte(text), v)
}

// At gives the path and query of the page.
func (p *Tab) At() (at string) {
	p.t.Helper()
	p.Ask("location.pathname + location.search", &at)
	return at
}

// Cookies gives the page's cookies, those too that no script sees.
func (p *Tab) Cookies() (out []*network.Cookie) {
	p.t.Helper()
	p.run(chromedp.ActionFunc(func(ctx context.Context) (err error) {
		out, err = network.GetCookies().Do(ctx)
		return err
	}))
	return out
}

// Print gives the page as PDF, as "print" in the browser would.
func (p *Tab) Print() (pdf []byte) {
	p.t.Helper()
	p.run(chromedp.ActionFunc(func(ctx context.Context) (err error) {
		pdf, _, err = page.PrintToPDF().WithPreferCSSPageSize(true).WithPrintBackground(false).Do(ctx)
		return err
	}))
	return pdf
}

// Shot gives the screen as PNG, to be looked at.
func (p *Tab) Shot() (png []byte) {
	p.t.Helper()
	p.run(chromedp.CaptureScreenshot(&png))
	return png
}

// Prepare has a script run before those of each page to come, and the pages'
// policy not hold it back. For tools that look at a page: what is seen after it
// says nothing about the policy.
func (p *Tab) Prepare(script string) {
	p.t.Helper()
	p.run(page.SetBypassCSP(true), chromedp.ActionFunc(func(ctx context.Context) error {
		_, err := page.AddScriptToEvaluateOnNewDocument(script).Do(ctx)
		return err
	}))
}
