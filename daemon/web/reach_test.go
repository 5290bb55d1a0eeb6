package web_test

import (
	"html"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var (
	levels = regexp.MustCompile(`<h([1-6])[ >]`)
	asks   = regexp.MustCompile(`(?s)<(input|select|textarea)\b([^>]*)>`)
	named  = regexp.MustCompile(`\b(id|type|aria-label|name)="([^"]*)"`)
	words  = regexp.MustCompile(`(?s)<(?:a|button|summary)\b([^>]*)>(.*?)</(?:a|button|summary)>`)
)

// reachable tells what a keyboard or a screen reader would stumble over.
func reachable(page string) []string {
	var out []string
	last, ones := 0, 0
	for _, m := range levels.FindAllStringSubmatch(page, -1) {
		level := int(m[1][0] - '0')
		if level == 1 {
			ones++
		}
		if level > last+1 {
			out = append(out, "a heading skips from "+string(rune('0'+last))+" to "+m[1])
		}
		last = level
	}
	if ones != 1 {
		out = append(out, "the page has not one first heading")
	}
	for _, at := range asks.FindAllStringSubmatchIndex(page, -1) {
		has := map[string]string{}
		for _, n := range named.FindAllStringSubmatch(page[at[4]:at[5]], -1) {
			has[n[1]] = n[2]
		}
		before := page[:at[0]]
		inside := strings.LastIndex(before, "<label") > strings.LastIndex(before, "</label")
		if has["type"] != "hidden" && has["aria-label"] == "" && !inside && !strings.Contains(page, `for="`+has["id"]+`"`) {
			out = append(out, "a field has no label: "+has["name"])
		}
	}
	for _, m := range words.FindAllStringSubmatch(page, -1) {
		text := html.UnescapeString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(m[2], ""))
		if strings.TrimSpace(text) == "" && !strings.Contains(m[1], "aria-label") && !strings.Contains(m[2], `aria-label="`) {
			out = append(out, "something to tap has no words: "+m[0])
		}
	}
	if m := regexp.MustCompile(`tabindex="[1-9]`).FindString(page); m != "" {
		out = append(out, "an order of its own: "+m)
	}
	for _, want := range []string{`<html lang="en">`, `<a class="skip" href="#main">`, `<main id="main">`} {
		if !strings.Contains(page, want) {
			out = append(out, "no "+want)
		}
	}
	return out
}

func TestPagesCanBeReached(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		all := []string{"/help", "/entries/new?kind=gates", "/entries/new?kind=season", "/entries/new?kind=note"}
		for _, path := range pages {
			all = append(all, path)
		}
		for _, topic := range []string{"start", "belly", "pairing", "eggs", "power", "estimate", "alerts", "words"} {
			all = append(all, "/help/"+topic)
		}
		slices.Sort(all)
		for _, path := range all {
			for _, fault := range reachable(s.ask("GET", path, "").Body.String()) {
				t.Errorf("%s: %s", path, fault)
			}
		}
		empty, _ := withBook(t, nil)
		for _, path := range []string{"/", "/today", "/round", "/season", "/clutches", "/alerts", "/entries", "/settings"} {
			page := empty.ask("GET", path, "").Body.String()
			for _, fault := range reachable(page) {
				t.Errorf("%s, empty: %s", path, fault)
			}
			main, _, _ := strings.Cut(page, "</main>")
			if !regexp.MustCompile(`(?s)<main.*<(a|button|form)\b`).MatchString(main) {
				t.Errorf("%s, empty: it does not say what to do next", path)
			}
		}
		bad := `<h1>a</h1><h3>b</h3><input name="x"><a href="/"></a><p tabindex="2">`
		if got := reachable(bad); len(got) != 7 {
			t.Errorf("of a page with four faults and no frame this says %q", got)
		}
	})
}

// Every word in the list of words is used on some page, and every word that a
// page names is in the list.
func TestWordsAreExplained(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		list := s.ask("GET", "/help/words", "").Body.String()
		_, list, _ = strings.Cut(list, "<main")
		known := map[string]bool{}
		for _, m := range regexp.MustCompile(`<dt>([^<]*)</dt><dd>([^<]{15,})</dd>`).FindAllStringSubmatch(list, -1) {
			known[m[1]] = true
		}
		if len(known) < 30 {
			t.Fatalf("%d words are explained", len(known))
		}
		told := map[string]bool{}
		for name, path := range pages {
			page := s.ask("GET", path, "").Body.String()
			_, part, ok := strings.Cut(page, `<details class="explained">`)
			if !ok && !slices.Contains([]string{"about", "help-words", "help-belly", "tokens", "wall"}, name) {
				t.Errorf("%s explains no word", path)
			}
			for _, m := range regexp.MustCompile(`<dt>([^<]*)</dt>`).FindAllStringSubmatch(part, -1) {
				told[m[1]] = true
				if !known[m[1]] {
					t.Errorf("%s names %q, which the list has not", path, m[1])
				}
			}
		}
		if len(told) < 25 {
			t.Errorf("pages explain %d words of %d", len(told), len(known))
		}
	})
}
