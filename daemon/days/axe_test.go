package days_test

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"encoding/json"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/browser"
)

// axe is Deque's axe-core, for tests alone: see testdata/axe.
//
//go:embed testdata/axe/axe.min.js
var axe string

// TestAxeIsUnchanged holds the file to the sum that stands beside it.
func TestAxeIsUnchanged(t *testing.T) {
	said, err := os.ReadFile("testdata/axe/README.md")
	if err != nil {
		t.Fatal(err)
	}
	if sum := sha256.Sum256([]byte(axe)); !strings.Contains(string(said), hex.EncodeToString(sum[:])) {
		t.Errorf("the SHA-256 is %x, and another one is told", sum)
	}
}

// A fault is what axe found on a page.
type fault struct {
	ID, Impact, Help string
	Nodes            []struct{ HTML, FailureSummary string }
}

// runAxe gives the faults that keep somebody from using the page.
func runAxe(p *browser.Tab, rules string) (serious []fault) {
	var all []fault
	p.Ask(`axe.run(document, {`+rules+`resultTypes: ["violations"]}).then(r => r.violations.map(v =>
		({id: v.id, impact: v.impact, help: v.help, nodes: v.nodes.map(n => ({html: n.html.slice(0, 120), failureSummary: n.failureSummary}))})))`, &all)
	for _, f := range all {
		if f.Impact == "serious" || f.Impact == "critical" {
			serious = append(serious, f)
		}
	}
	return serious
}

// everyoneReads looks at each page that the room links to: none keeps out
// somebody who reads with a screen reader or sees little, by day or by night.
func everyoneReads(t *testing.T, b *browser.Browser) {
	if underRace || testing.Short() {
		t.Skip("a minute: it is left to the plain run, which .ci/run makes of this package alone")
	}
	s := breeder()
	s.locked = true
	s.before = fever
	h := begin(t, s)
	p := b.Tab(t, browser.Phone())
	p.Prepare(axe)
	dark := browser.Phone()
	dark.Dark = true
	look := func(at string) {
		p.Open(h.url + at)
		for _, f := range runAxe(p, "") {
			t.Errorf("%s: %s (%s, %s): %+v", at, f.Help, f.ID, f.Impact, f.Nodes)
		}
		p.Shape(dark)
		for _, f := range runAxe(p, `runOnly: ["color-contrast"], `) {
			t.Errorf("%s in the dark: %s: %+v", at, f.Help, f.Nodes)
		}
		p.Shape(browser.Phone())
	}
	look("/login")
	hears(t, p)
	h.login(p, "")
	seen := h.reach(p, look)
	for _, path := range sorted(h.pages()) {
		if !slices.Contains(seen, path) {
			t.Errorf("no page links to %s: it was not looked at", path)
		}
	}
	t.Logf("looked at %d kinds of page: %s", len(seen), strings.Join(seen, " "))
}

// hears makes sure that axe finds what is broken on purpose.
func hears(t *testing.T, p *browser.Tab) {
	p.Ask(`(() => { document.querySelector("label").remove(); document.querySelector("h1").style.color = "#eee"; return 1; })()`, new(int))
	var found []string
	for _, f := range runAxe(p, "") {
		found = append(found, f.ID)
	}
	if !slices.Contains(found, "label") || !slices.Contains(found, "color-contrast") {
		t.Errorf("of a field without a label and pale letters axe finds %q", found)
	}
}

// fever makes Box 1 too warm for half an hour.
func fever(w *world, ago time.Duration) {
	if ago < 25*time.Minute {
		w.set("w1-28-00a2", 34)
		w.set("w1-28-00a1", 34.2)
	}
}

// reach follows links from page to page and visits one of each kind: of each
// path in openapi.json, and of each form.
func (h *house) reach(p *browser.Tab, visit func(at string)) (seen []string) {
	pages := h.pages()
	for next := []string{"/", "/wall", "/settings/tokens", "/animals/basil", "/slots/pen-1"}; len(next) > 0; next = next[1:] {
		path, query, _ := strings.Cut(next[0], "?")
		kind := kindOf(pages, path)
		if kind == "/entries/new" {
			asks, _ := url.ParseQuery(query)
			kind += "?" + asks.Get("kind")
		}
		if kind == "" || slices.Contains(seen, kind) {
			continue
		}
		if strings.HasPrefix(kind, "/entries/new?") {
			seen = append(seen, "/entries/new")
		}
		seen = append(seen, kind)
		visit(next[0])
		var links []string
		p.Ask(`[...document.querySelectorAll("a[href^='/']")].map(a => a.getAttribute("href"))`, &links)
		next = append(next, links...)
	}
	slices.Sort(seen)
	return slices.Compact(seen)
}

// kindOf gives the path of openapi.json that an address belongs to; "": it is no
// page.
func kindOf(pages map[string]*regexp.Regexp, path string) string {
	if pages[path] != nil {
		return path
	}
	for _, kind := range sorted(pages) {
		if pages[kind].MatchString(path) {
			return kind
		}
	}
	return ""
}

var placeholder = regexp.MustCompile(`\{[^}]*\}`)

// pages gives the paths of all pages, as openapi.json tells them.
func (h *house) pages() map[string]*regexp.Regexp {
	h.t.Helper()
	var doc struct {
		Paths map[string]map[string]struct {
			Responses map[string]struct{ Content map[string]json.RawMessage }
		}
	}
	h.get("/api/openapi.json", &doc)
	out := map[string]*regexp.Regexp{}
	for path, methods := range doc.Paths {
		if _, html := methods["get"].Responses["200"].Content["text/html"]; html && path != "/login" {
			out[path] = regexp.MustCompile("^" + placeholder.ReplaceAllString(path, "[^/]+") + "$")
		}
	}
	if len(out) < 10 {
		h.t.Fatalf("openapi.json names %d pages", len(out))
	}
	return out
}
