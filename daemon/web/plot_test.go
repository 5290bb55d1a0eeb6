package web_test

import (
	"testing"
)

// A clutch's chart in a real browser: drawn over the server's, moved by keys
// and buttons, nothing that the policy drops.
func TestChartCanBeLookedAtCloser(t *testing.T) {
	url, _ := serveToday(t)
	b := browse(t)
	for _, scheme := range []string{"light", "dark"} {
		b.screen(390, 844, true, scheme)
		b.open(url + "/clutches/k3")
		var got struct {
			Drawn, Hidden bool
			Focus         string
			Whole, Zoomed string
			Back          string
		}
		b.ask(`(async () => {
			const wait = async (f) => { for (let i = 0; i < 400 && !f(); i++) await new Promise(r => setTimeout(r, 25)); return f(); };
			const figure = document.querySelector("figure[data-plot]");
			const drawn = Boolean(await wait(() => figure.querySelector(".uplot canvas")));
			const out = figure.querySelector("output");
			const root = figure.querySelector(".uplot");
			root.focus();
			const press = (key) => root.dispatchEvent(new KeyboardEvent("keydown", { key, bubbles: true, cancelable: true }));
			await new Promise(r => setTimeout(r, 100));
			const whole = out.textContent;
			press("+"); press("+"); press("ArrowRight");
			await wait(() => out.textContent);
			const zoomed = out.textContent;
			press("0");
			await wait(() => !out.textContent);
			return { Drawn: drawn, Hidden: getComputedStyle(figure.querySelector("svg")).display === "none",
				Focus: document.activeElement === root ? "chart" : "elsewhere", Whole: whole, Zoomed: zoomed, Back: out.textContent };
		})()`, &got)
		if !got.Drawn || !got.Hidden || got.Focus != "chart" || got.Whole != "" || got.Zoomed == "" || got.Back != "" {
			t.Errorf("%s: %+v", scheme, got)
		}
		if len(b.heard) > 0 {
			t.Errorf("%s: the browser complains: %q", scheme, b.heard)
		}
	}
}

// Two fingers apart zoom, and what is shown is read anew, finer.
func TestPinchReadsFiner(t *testing.T) {
	url, _ := serveToday(t)
	b := browse(t)
	b.screen(390, 844, true, "light")
	b.open(url + "/clutches/k3")
	var got struct {
		Asked  []string
		Zoomed string
	}
	b.ask(`(async () => {
		const wait = async (f) => { for (let i = 0; i < 400 && !f(); i++) await new Promise(r => setTimeout(r, 25)); return f(); };
		const figure = document.querySelector("figure[data-plot]");
		await wait(() => figure.querySelector(".u-over"));
		const over = figure.querySelector(".u-over"), box = over.getBoundingClientRect();
		const asked = [], fetched = window.fetch;
		window.fetch = (...a) => { asked.push(String(a[0])); return fetched(...a); };
		const touch = (kind, xs) => over.dispatchEvent(new TouchEvent(kind, { bubbles: true, cancelable: true,
			touches: xs.map((x, i) => new Touch({ identifier: i, target: over, clientX: box.left + x, clientY: box.top + 50 })) }));
		touch("touchstart", [130, 190]);
		touch("touchmove", [40, 280]);
		touch("touchend", []);
		await wait(() => asked.length);
		return { Asked: asked, Zoomed: figure.querySelector("output").textContent };
	})()`, &got)
	if len(got.Asked) == 0 || got.Zoomed == "" {
		t.Errorf("after two fingers went apart: %+v", got)
	}
	if len(b.heard) > 0 {
		t.Errorf("the browser complains: %q", b.heard)
	}
}
