package web_test

import (
	"regexp"
	"strings"
	"testing"
)

var (
	formKind  = regexp.MustCompile(`href="(/entries/new\?[^"]*kind=([a-z]+)[^"]*)"`)
	fieldName = regexp.MustCompile(`<(?:input|select|textarea)[^>]* name="([^"]+)"[^>]*>`)
)

// A form that sends a name twice is refused as damaged, whatever was typed: the
// names that every form carries beside its data must be nobody's data.
func TestFormsSendEachNameOnce(t *testing.T) {
	s := open(t)
	text := s.ask("GET", "/entries", "").Body.String() + s.ask("GET", "/clutches/k3", "").Body.String()
	tried := map[string]bool{}
	for _, m := range formKind.FindAllStringSubmatch(text, -1) {
		at, kind := strings.ReplaceAll(m[1], "&amp;", "&"), m[2]
		if tried[kind] {
			continue
		}
		tried[kind] = true
		_, form, _ := strings.Cut(s.ask("GET", at, "").Body.String(), `class="entry`)
		form, _, _ = strings.Cut(form, "</form>")
		seen := map[string]string{} // what asks, by name
		for _, f := range fieldName.FindAllStringSubmatch(form, -1) {
			what, name := "field", f[1]
			if strings.Contains(f[0], `type="radio"`) || strings.Contains(f[0], `type="checkbox"`) {
				what = "choice"
			}
			if before := seen[name]; before != "" && (before != "choice" || what != "choice") {
				t.Errorf("the form of %s sends %s twice", kind, name)
			}
			seen[name] = what
		}
		if len(seen) < 4 {
			t.Errorf("the form of %s has the names %v", kind, seen)
		}
	}
	if len(tried) < 15 {
		t.Errorf("only %d kinds were tried", len(tried))
	}
}
