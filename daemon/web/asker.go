package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"unicode"
)

// may is what somebody may do; each holds what stands before it.
type may int

const (
	mayNothing     may = iota
	mayLook            // see every page of the room
	mayAcknowledge     // and say that an alert was seen
	mayChange          // and write into the book
)

// An asker is who makes a request. The zero value is a stranger.
type asker struct {
	may    may
	keeper bool   // came with the password: may give others a way in
	bearer bool   // came with a token, right or wrong
	name   string // for the book; may be empty
}

// readOnly reports whether an asker who may see the room may not write.
func (a asker) readOnly() bool { return a.may > mayNothing && a.may < mayChange }

const (
	sessionCookie = "clutchd_session"
	nameCookie    = "clutchd_name"
	nameLongest   = 40 // characters
)

// who tells who asks. A token counts alone: one that is wrong is not made good
// by a cookie beside it.
func (l *login) who(r *http.Request) asker {
	if !l.needed {
		return asker{may: mayChange, keeper: true, name: nameIn(r)}
	}
	if token, ok := bearer(r); ok {
		k, known := l.holds(token)
		if !known || k.Scope == scopeLink {
			return asker{bearer: true}
		}
		return asker{may: k.may(), bearer: true, name: k.Name}
	}
	if c, err := r.Cookie(sessionName(r)); err == nil {
		if s, ok := l.resume(c.Value); ok {
			return l.visitor(s)
		}
	}
	if _, password, ok := r.BasicAuth(); ok && l.basic(r, password) {
		return asker{may: mayChange, keeper: true}
	}
	return asker{}
}

func (l *login) visitor(s session) asker {
	if s.key == "" {
		return asker{may: mayChange, keeper: true, name: s.name}
	}
	k, ok := l.keyOf(s.key)
	if !ok {
		return asker{}
	}
	return asker{may: k.may(), name: k.Name}
}

func bearer(r *http.Request) (token string, ok bool) {
	kind, token, _ := strings.Cut(r.Header.Get("Authorization"), " ")
	return strings.TrimSpace(token), strings.EqualFold(kind, "Bearer")
}

type askerKey struct{}

func withAsker(r *http.Request, a asker) *http.Request {
	return r.WithContext(context.WithValue(r.Context(), askerKey{}, a))
}

// askerOf gives who asks, as admit found out.
func askerOf(r *http.Request) asker {
	a, _ := r.Context().Value(askerKey{}).(asker)
	return a
}

// cleanName makes a name of what somebody typed: one line of at most 40
// characters that can be seen.
func cleanName(text string) string {
	text = strings.Map(func(c rune) rune {
		switch {
		case unicode.IsControl(c), unicode.IsSpace(c):
			return ' '
		case !unicode.IsPrint(c):
			return -1
		}
		return c
	}, strings.ToValidUTF8(text, ""))
	text = strings.Join(strings.Fields(text), " ")
	if long := []rune(text); len(long) > nameLongest {
		text = strings.TrimSpace(string(long[:nameLongest]))
	}
	return text
}

// nameIn is the name that this browser remembers for its user.
func nameIn(r *http.Request) string {
	c, err := r.Cookie(nameCookie)
	if err != nil {
		return ""
	}
	text, err := url.QueryUnescape(c.Value)
	if err != nil {
		return ""
	}
	return cleanName(text)
}
