package web

import (
	"bytes"
	"regexp"
)

var (
	emptyPart    = regexp.MustCompile(`<li[^>]*>\s*</li>|<p[^>]*>\s*</p>|<ul[^>]*>\s*</ul>|<div class="(?:acts|both)">\s*</div>`)
	emptySection = regexp.MustCompile(`<section[^>]*>\s*(?:<h2[^>]*>[^<]*</h2>)?\s*</section>`)
)

// withhold takes out of a page what its reader may not do: every form that
// posts, but for those that change nothing of the room, and every link to a
// page that is nothing but a form. It goes by the finished page, so that a
// template which nobody thought of is covered too. What it takes out would be
// refused anyway.
//
// Pages come from html/template, where no "<" or ">" of a text or an attribute
// is left as it is, and HTML knows no form inside a form.
func withhold(page []byte, m may) []byte {
	page = cut(page, "<form", "</form>", func(tag []byte) bool {
		return bytes.Contains(tag, []byte(`method="post"`)) && !harmlessForm(tag, m)
	})
	page = cut(page, "<a ", "</a>", func(tag []byte) bool {
		return bytes.Contains(tag, []byte(`href="/entries/new`)) || bytes.Contains(tag, []byte(`href="/settings/`))
	})
	page = cut(page, "<button", "</button>", func(tag []byte) bool { // of a form elsewhere on the page
		return bytes.Contains(tag, []byte(` form="`)) || bytes.Contains(tag, []byte(` formaction="`))
	})
	for was := -1; was != len(page); {
		was = len(page)
		page = emptySection.ReplaceAll(emptyPart.ReplaceAll(page, nil), nil)
	}
	return page
}

// harmlessForm reports whether a reader may send the form. An action that
// holds /acknowledge is an alert's.
func harmlessForm(tag []byte, m may) bool {
	for _, action := range []string{`action="/units"`, `action="/settings"`, `action="/start"`, `action="/logout"`} {
		if bytes.Contains(tag, []byte(action)) {
			return true
		}
	}
	return m >= mayAcknowledge && bytes.Contains(tag, []byte(`action="/alerts/`)) &&
		bytes.Contains(tag, []byte(`acknowledge"`))
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
