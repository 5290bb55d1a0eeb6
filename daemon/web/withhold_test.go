package web_test

import "testing"

func TestWithhold(t *testing.T) {
	s := open(t)
	for _, c := range []struct {
		sentence, page string
		acknowledge    bool
		want           string
	}{
		{"a form that posts goes, with all in it", `<p>a</p><form method="post" action="/entries"><button>x</button></form><p>b</p>`, false, "<p>a</p><p>b</p>"},
		{"one that asks stays", `<form action="/alerts/history"><input></form>`, false, `<form action="/alerts/history"><input></form>`},
		{"whose attributes stand in any order", `<form class="c" action="/entries" method="post">x</form>`, false, ""},
		{"a form to nowhere", `<form method="post">x</form>`, false, ""},
		{"a link to what only the password opens goes", `<a href="/settings/tokens">x</a>`, true, ""},
		{"a link that shows goes on, with its question", `<a href="/places/box-2?span=7d&amp;x=1">x</a>`, false, `<a href="/places/box-2?span=7d&amp;x=1">x</a>`},
		{"a link to another site is not ours to judge", `<a href="https://example.org/entries/new">x</a>`, false, `<a href="https://example.org/entries/new">x</a>`},
		{"units stay", `<form method="post" action="/units">x</form>`, false, `<form method="post" action="/units">x</form>`},
		{"acknowledging goes", `<form method="post" action="/alerts/a.b/acknowledge">x</form>`, false, ""},
		{"or stays for who may", `<form method="post" action="/alerts/a.b/acknowledge">x</form>`, true, `<form method="post" action="/alerts/a.b/acknowledge">x</form>`},
		{"but not shelving", `<form method="post" action="/alerts/a.b/shelve">x</form>`, true, ""},
		{"a form that only calls itself so goes", `<form method="post" action="/entries/acknowledge">x</form>`, true, ""},
		{"a link to a form goes, and the line that held it", `<ul><li><a href="/entries/new?kind=note">Note</a></li><li><a href="/a">A</a></li></ul>`, false, `<ul><li><a href="/a">A</a></li></ul>`},
		{"and the section that held nothing else", `<section><h2>Write down</h2><ul class="choices"><li><a class="b" href="/entries/new?kind=note">Note</a></li></ul></section>`, false, ""},
		{"a button of a form elsewhere goes", `<button form="f1">x</button><button type="button">y</button>`, false, `<button type="button">y</button>`},
		{"an article is no link", `<article><abbr>x</abbr></article>`, false, `<article><abbr>x</abbr></article>`},
		{"two forms", `<form method="post" action="/entries">1</form>-<form method="post" action="/clock">2</form>`, false, "-"},
		{"nothing is nothing", "", false, ""},
	} {
		if got := s.server.Withhold(c.page, c.acknowledge); got != c.want {
			t.Errorf("%s: got %q, want %q", c.sentence, got, c.want)
		}
	}
}
