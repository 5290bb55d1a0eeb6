// Package browser drives a real chromium for tests: a phone or a desk that
// opens pages, taps what it can see, and holds against them whatever the
// browser complains of.
//
// Tests alone import it; it is not in the program. It asserts nothing about
// what pages say, and waits for events, never for a time. Sizes are CSS pixels.
package browser

import (
	"context"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"
)

// patience is how long one thing may take before the test has hung.
const patience = time.Minute

// A Browser is a running chromium. Tabs of one are quick to open; the browser
// itself takes a second or two to start.
type Browser struct{ ctx context.Context }

// Start starts a chromium that ends with the test. Without one on PATH the test
// is skipped with what to install, or fails if CLUTCHD_PEERS=required.
func Start(t testing.TB) *Browser {
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
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.UserDataDir(home), chromedp.NoSandbox,
		chromedp.WSURLReadTimeout(patience),
	)
	all, stop := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, end := chromedp.NewContext(all)
	t.Cleanup(func() {
		end()
		stop()
		_ = os.RemoveAll(home)
	})
	if err := chromedp.Run(ctx); err != nil {
		t.Fatalf("start chromium: %v", err)
	}
	return &Browser{ctx: ctx}
}

// Tab opens a tab with cookies of its own, that closes with the test. What the
// browser complains of in it fails the test, unless Heard was asked for it.
func (b *Browser) Tab(t testing.TB, s Shape) *Tab {
	t.Helper()
	own, id, err := b.window()
	if err != nil {
		t.Fatalf("open a tab: %v", err)
	}
	ctx, end := chromedp.NewContext(b.ctx, chromedp.WithTargetID(id))
	p := &Tab{t: t, ctx: ctx, loaded: make(chan struct{}, 100)}
	chromedp.ListenTarget(ctx, p.listen)
	t.Cleanup(func() {
		p.Blame()
		end()
		_ = target.DisposeBrowserContext(own).Do(b.executor())
	})
	p.run(network.Enable(), page.Enable())
	p.Shape(s)
	return p
}

// window opens one that shares nothing with the others. A headless chromium
// opens no tab for a new context without a window of its own, which chromedp
// does not ask for.
func (b *Browser) window() (cdp.BrowserContextID, target.ID, error) {
	own, err := target.CreateBrowserContext().Do(b.executor())
	if err != nil {
		return "", "", err
	}
	id, err := target.CreateTarget("about:blank").WithBrowserContextID(own).WithNewWindow(true).Do(b.executor())
	return own, id, err
}

func (b *Browser) executor() context.Context {
	return cdp.WithExecutor(b.ctx, chromedp.FromContext(b.ctx).Browser)
}

// A Shape is what somebody holds in the hand or has on the desk.
type Shape struct {
	Width, Height int
	Phone         bool // touched, not clicked
	Scale         float64
	Dark          bool
}

// Phone is a usual phone.
func Phone() Shape { return Shape{Width: 390, Height: 844, Phone: true, Scale: 2} }

// Desk is a usual screen.
func Desk() Shape { return Shape{Width: 1280, Height: 900, Scale: 1} }
