package web

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"net/netip"
	"net/url"
	"strings"

	"clutchd/incubation/handout"
)

// A Press prints what it is given, as PDF. The same input gives the same
// bytes. Its methods may be called from several goroutines; an error means
// that the input cannot be printed, and nothing was written.
type Press interface {
	Labels(w io.Writer, l handout.Labels) error
	Sheet(w io.Writer, s handout.Sheet) error
	Review(w io.Writer, r handout.Review) error
}

// printing is page, for what needs a press.
func (s *Server) printing(show func(*visit) error) http.HandlerFunc {
	return s.page(func(v *visit) error {
		if s.o.Press == nil {
			return missing{"printing"}
		}
		return show(v)
	})
}

// paperLook tells values on paper as this visitor's pages do.
func (v *visit) paperLook() handout.Look {
	form := v.say.dates.form()
	return handout.Look{
		Fahrenheit: v.say.fahrenheit, Zone: v.s.o.Zone, Printed: v.snap.Time, Site: v.snap.Site,
		Day: form.full, Short: form.short,
	}
}

// paper is what this visitor prints on: as asked for, as the labels before, or
// what is usual where temperatures are told so.
func (v *visit) paper() handout.Paper {
	if p, ok := handout.PaperNamed(v.asked("paper")); ok {
		return p
	}
	if v.remembered(labelsCookie) == "" && v.say.fahrenheit {
		return handout.Letter()
	}
	return v.lastSheet().stock.Paper
}

// send answers with a PDF that is named for what it is and its day.
func (v *visit) send(name string, print func(io.Writer) error) error {
	var out bytes.Buffer
	if err := print(&out); err != nil {
		return err
	}
	h := v.w.Header()
	h.Set("Content-Type", "application/pdf")
	// A browser shows a PDF by an object and styles of its own, which the pages'
	// policy would drop; there is no page here that it could guard.
	h.Set("Content-Security-Policy", "frame-ancestors 'none'")
	h.Set("Content-Disposition", fmt.Sprintf("inline; filename=%q",
		"clutchd-"+name+"-"+v.say.in(v.snap.Time).Format("2006-01-02")+".pdf"))
	_, _ = v.w.Write(out.Bytes())
	return nil
}

// address is where this visitor found the pages: what codes lead to unless
// they say otherwise.
func (v *visit) address() string {
	scheme := "http"
	if v.r.TLS != nil || v.r.Header.Get("X-Forwarded-Proto") == "https" {
		scheme = "https"
	}
	return scheme + "://" + v.r.Host
}

// readAddress reads where codes are to lead; ok is false for what is no
// address of pages.
func readAddress(text string) (base string, ok bool) {
	u, err := url.Parse(strings.TrimRight(strings.TrimSpace(text), "/"))
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" || u.User != nil ||
		u.RawQuery != "" || u.Fragment != "" || len(text) > maxAddress {
		return "", false
	}
	return u.String(), true
}

// maxAddress keeps codes coarse enough for a phone (judgement).
const maxAddress = 120

// alone reports whether an address leads to the machine itself only: a phone
// that reads it finds itself.
func alone(base string) bool {
	u, err := url.Parse(base)
	if err != nil {
		return false
	}
	host := u.Hostname()
	ip, err := netip.ParseAddr(host)
	return host == "localhost" || err == nil && ip.Unmap().IsLoopback()
}

// addressField asks where codes lead.
func addressField(value string) field {
	f := field{
		Name: "address", Label: "Codes lead to", Value: value,
		Hint: "The address under which your phone opens these pages.",
	}
	if alone(value) {
		f.Error = "This address leads to this machine alone: a phone that reads the code finds nothing. Write the " +
			"one that it uses."
	}
	return f
}

// remember keeps a choice in the browser that made it.
func (v *visit) remember(name, value string) {
	c := &http.Cookie{
		Name: name, Value: value, Path: "/", MaxAge: 400 * 24 * 3600, HttpOnly: true,
		SameSite: http.SameSiteLaxMode,
	}
	if value == "" {
		c.MaxAge = -1
	}
	http.SetCookie(v.w, c)
}

func (v *visit) remembered(name string) string {
	c, err := v.r.Cookie(name)
	if err != nil {
		return ""
	}
	return c.Value
}
