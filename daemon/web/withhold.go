package web

import (
	"bytes"
	"html"
	"regexp"
	"strings"
)

var (
	emptyPart    = regexp.MustCompile(`<li[^>]*>\s*</li>|<p[^>]*>\s*</p>|<ul[^>]*>\s*</ul>|<div class="(?:acts|both)">\s*</div>`)
	emptySection = regexp.MustCompile(`<section[^>]*>\s*(?:<h2[^>]*>[^<]*</h2>)?\s*</section>`)
)

// withhold takes out of a page what its reader would be refused: every form
// that posts and every link, by the route it leads to. It goes by the finished
// page, so that a template which nobody thought of is covered too.
//
// Pages come from html/template, where no "<" or ">" of a text or an attribute
// is left as it is, and HTML knows no form inside a form.
func withhold(page []byte, permits func(method, address string) bool) []byte {
	page = cut(page, "<form", "</form>", func(tag []byte) bool {
		return bytes.Contains(tag, []byte(`method="post"`)) && !permits("POST", valueOf(tag, "action"))
	})
	page = cut(page, "<a ", "</a>", func(tag []byte) bool {
		href := valueOf(tag, "href")
		return strings.HasPrefix(href, "/") && !permits("GET", href)
	})
	page = cut(page, "<button", "</button>", func(tag []byte) bool { // of a form elsewhere on the page
		return valueOf(tag, "form") != "" || valueOf(tag, "formaction") != ""
	})
	for was := -1; was != len(page); {
		was = len(page)
		page = emptySection.ReplaceAll(emptyPart.ReplaceAll(page, nil), nil)
	}
	return page
}

// valueOf gives an attribute's value; "": it has none.
func valueOf(tag []byte, name string) string {
	_, after, found := bytes.Cut(tag, []byte(" "+name+`="`))
	if !found {
		return ""
	}
	value, _, _ := bytes.Cut(after, []byte(`"`))
	return html.UnescapeString(string(value))
}

// cut leaves out each stretch from begin to end whose tag is unwanted.
func cut(page []byte, begin, end string, unwanted func(tag []byte) bool) []byte {
	out := make([]byte, 0, len(page))
	for {
		at := bytes.Index(page, []byte(begin))
		if at < 0 {
			return append(out, page...)
		}
		close := bytes.IndexByte(page[at:], '>')
		stop := bytes.Index(page[at:], []byte(end))
		if close < 0 || stop < 0 { // no page of ours
			return append(out, page...)
		}
		out = append(out, page[:at]...)
		if !unwanted(page[at : at+close+1]) {
			out = append(out, page[at:at+close+1]...)
			page = page[at+close+1:]
			continue
		}
		page = page[at+stop+len(end):]
	}
}
