package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
)

// where finds an element that a person could touch: there is one, it is on the
// screen after scrolling, and nothing lies over its middle.
const where = `(() => {
	const all = [...document.querySelectorAll(%s)].filter(e => e.checkVisibility());
	if (!all.length) return {why: "nothing that can be seen is"};
	const e = all[0];
	e.scrollIntoView({block: "center", inline: "center", behavior: "instant"});
	const box = e.getBoundingClientRect(), x = box.left + box.width / 2, y = box.top + box.height / 2;
	const hit = document.elementFromPoint(x, y);
	if (!hit) return {why: "off the screen is"};
	if (!e.contains(hit) && !hit.contains(e) && !(hit.closest("label") && hit.closest("label").control === e))
		return {why: "under " + hit.outerHTML.slice(0, 80) + " lies"};
	return {x, y};
})()`

type spot struct {
	X, Y float64
	Why  string
}

// Tap touches the first visible element that a selector finds, which leads to
// no other page.
func (p *Tab) Tap(selector string) {
	p.t.Helper()
	p.run(p.touch(selector))
}

// Follow touches what leads to another page, and waits for that.
func (p *Tab) Follow(selector string) {
	p.t.Helper()
	// A tick may have moved the page under the finger: then a person, too, taps
	// once more.
	const lost = patience / 3
	if !p.leads(p.touch(selector), lost) {
		p.load(selector, p.touch(selector))
	}
}

// touch finds the element when it is done, so that it is where it was found.
func (p *Tab) touch(selector string) chromedp.Action {
	p.t.Helper()
	p.Taps++
	var at spot
	p.Ask(fmt.Sprintf(where, quoted(selector)), &at)
	if at.Why != "" {
		var page string
		p.Ask("location.href + ' ' + document.body.innerText.slice(0, 1500)", &page)
		p.t.Fatalf("%s %s, on %s", at.Why, selector, page)
	}
	return chromedp.ActionFunc(func(ctx context.Context) error {
		if !p.shape.Phone {
			return chromedp.MouseClickXY(at.X, at.Y).Do(ctx)
		}
		point := []*input.TouchPoint{{X: at.X, Y: at.Y}}
		if err := input.DispatchTouchEvent(input.TouchStart, point).Do(ctx); err != nil {
			return err
		}
		return input.DispatchTouchEvent(input.TouchEnd, []*input.TouchPoint{}).Do(ctx)
	})
}

// Type touches a field, empties it and writes into it.
func (p *Tab) Type(selector, text string) {
	p.t.Helper()
	p.Tap(selector)
	var done bool
	p.Ask(`(() => { const e = document.activeElement; if (!e.matches(`+quoted(selector)+`)) return false;
		if (e.matches("[type=date], [type=time], [type=datetime-local]")) e.value = `+quoted(text)+`;
		else e.select(); return true; })()`, &done)
	if !done {
		p.t.Fatalf("a touch on %s puts the cursor elsewhere", selector)
	}
	var typed bool
	if p.Ask(`document.activeElement.value === `+quoted(text), &typed); !typed {
		p.run(input.InsertText(text))
	}
}

// Choose picks from a list by the value or the text of the choice.
func (p *Tab) Choose(selector, choice string) {
	p.t.Helper()
	p.Taps += 2
	var there bool
	p.Ask(`(() => { const e = document.querySelector(`+quoted(selector)+`);
		const o = e && [...e.options].find(o => o.value === `+quoted(choice)+` || o.text.trim() === `+quoted(choice)+`);
		if (!o) return false; e.value = o.value; e.dispatchEvent(new Event("input", {bubbles: true}));
		e.dispatchEvent(new Event("change", {bubbles: true})); return true; })()`, &there)
	if !there {
		var has string
		p.Ask(`location.href + " " + [...document.querySelectorAll(`+quoted(selector)+` + " option")].map(o => o.value + "=" + o.text).join(", ")`, &has)
		p.t.Fatalf("%s does not offer %q: %s", selector, choice, has)
	}
}

// Text gives what can be read of the first element that a selector finds; ""
// if there is none.
func (p *Tab) Text(selector string) (text string) {
	p.t.Helper()
	p.Ask(`(e => e ? e.innerText : "")(document.querySelector(`+quoted(selector)+`))`, &text)
	return strings.TrimSpace(text)
}

// Has reports whether a selector finds something that can be seen.
func (p *Tab) Has(selector string) (has bool) {
	p.t.Helper()
	p.Ask(`[...document.querySelectorAll(`+quoted(selector)+`)].some(e => e.checkVisibility())`, &has)
	return has
}

// Until waits for an expression to become true, over a change of pages, and
// says whether it did.
func (p *Tab) Until(expression string) (ok bool) {
	p.t.Helper()
	for range 5 {
		err := p.ask(`(async () => { for (let i = 0; i < 1200; i++) { if (`+expression+`) return true;
			await new Promise(r => setTimeout(r, 25)); } return false; })()`, &ok)
		if err == nil {
			return ok
		}
		if !strings.Contains(err.Error(), "navigated") && !strings.Contains(err.Error(), "destroyed") {
			p.t.Fatalf("%s: %v", expression, err)
		}
	}
	return false
}

// quoted is a text as JavaScript writes it.
func quoted(text string) string {
	out, _ := json.Marshal(text)
	return string(out)
}

// Upload gives a file to a field that asks for one.
func (p *Tab) Upload(selector, file string) {
	p.t.Helper()
	p.Taps += 2
	p.run(chromedp.SetUploadFiles(selector, []string{file}, chromedp.ByQuery))
}
