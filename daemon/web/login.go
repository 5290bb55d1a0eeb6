package web

import (
	"crypto/rand"
	"encoding/base64"
	"net/http"
	"net/url"
	"strings"
	"time"
)

// loginBody is what the login page shows.
type loginBody struct {
	Next, Error string
	Name        string // that this browser remembers
}

func (s *Server) loginPage(w http.ResponseWriter, r *http.Request) {
	// Who came in by a link may become the keeper here.
	if s.login.who(r).keeper {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	s.showLogin(w, r, loginBody{Next: localPath(r.URL.Query().Get("next")), Name: nameIn(r)}, http.StatusOK)
}

func (s *Server) showLogin(w http.ResponseWriter, r *http.Request, b loginBody, code int) {
	v := s.visit(w, r)
	if err := v.render("login", frame{Title: "Password", Bare: true, Body: b}, code); err != nil {
		s.o.Log.Error("page not shown", "page", "login", "error", err)
	}
}

func (s *Server) postLogin(w http.ResponseWriter, r *http.Request) {
	next := localPath(r.PostFormValue("next"))
	if !s.login.needed {
		http.Redirect(w, r, next, http.StatusSeeOther)
		return
	}
	name := cleanName(r.PostFormValue("name"))
	right, wait := s.login.try(r, r.PostFormValue("password"))
	switch {
	case wait > 0:
		w.Header().Set("Retry-After", seconds(wait))
		s.showLogin(w, r, loginBody{Next: next, Name: name, Error: "Too many wrong passwords. Try again in " +
			seconds(wait) + " seconds."}, http.StatusTooManyRequests)
	case !right:
		s.o.Log.Warn("wrong password", "from", address(r))
		s.showLogin(w, r, loginBody{Next: next, Name: name, Error: "That is not the password."},
			http.StatusForbidden)
	default:
		s.leave(r) // what this browser had before: its token may be known elsewhere
		setCookie(w, r, sessionName(r), s.login.open(name, ""), int(sessionLife/time.Second))
		rememberName(w, r, name)
		http.Redirect(w, r, next, http.StatusSeeOther)
	}
}

func (s *Server) logout(w http.ResponseWriter, r *http.Request) {
	s.leave(r)
	setCookie(w, r, sessionName(r), "", -1)
	http.Redirect(w, r, "/login", http.StatusSeeOther)
}

// leave ends the session that a request comes with.
func (s *Server) leave(r *http.Request) {
	if c, err := r.Cookie(sessionName(r)); err == nil {
		s.login.close(c.Value)
	}
}

// encrypted reports whether the browser speaks TLS, to this program or to a
// proxy before it. Who lies about it in a header deceives only himself.
func encrypted(r *http.Request) bool {
	return r.TLS != nil || r.Header.Get("X-Forwarded-Proto") == "https"
}

// sessionName is the session's cookie. Over TLS it bears the prefix by which a
// browser takes it from this very host alone, and never from plain HTTP.
func sessionName(r *http.Request) string {
	if encrypted(r) {
		return "__Host-" + sessionCookie
	}
	return sessionCookie
}

// setCookie sets a cookie that no script reads and no other site's form sends.
func setCookie(w http.ResponseWriter, r *http.Request, name, value string, age int) {
	http.SetCookie(w, &http.Cookie{
		Name: name, Value: value, Path: "/", MaxAge: age, HttpOnly: true,
		SameSite: http.SameSiteLaxMode, Secure: encrypted(r),
	})
}

// rememberName keeps a name in the browser for the next login.
func rememberName(w http.ResponseWriter, r *http.Request, name string) {
	if name == "" {
		if _, err := r.Cookie(nameCookie); err == nil {
			setCookie(w, r, nameCookie, "", -1)
		}
		return
	}
	setCookie(w, r, nameCookie, url.QueryEscape(name), 400*24*3600)
}

// localPath gives the path if it is one of this site's own, else "/".
func localPath(p string) string {
	u, err := url.Parse(p)
	if err != nil || u.IsAbs() || u.Host != "" || !strings.HasPrefix(p, "/") ||
		strings.HasPrefix(p, "//") || strings.ContainsAny(p, "\\\r\n\t") {
		return "/"
	}
	return p
}

func escapeQuery(p string) string { return url.QueryEscape(p) }

// newRequest is an id for one filled-in form.
func newRequest() string {
	var b [12]byte
	_, _ = rand.Read(b[:]) // never fails: it ends the program instead
	return "page-" + base64.RawURLEncoding.EncodeToString(b[:])
}
