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
}

func (s *Server) loginPage(w http.ResponseWriter, r *http.Request) {
	if s.login.knows(r) {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return
	}
	s.showLogin(w, r, loginBody{Next: localPath(r.URL.Query().Get("next"))}, http.StatusOK)
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
	right, wait := s.login.try(r, r.PostFormValue("password"))
	switch {
	case wait > 0:
		w.Header().Set("Retry-After", seconds(wait))
		s.showLogin(w, r, loginBody{Next: next, Error: "Too many wrong passwords. Try again in " +
			seconds(wait) + " seconds."}, http.StatusTooManyRequests)
	case !right:
		s.o.Log.Warn("wrong password", "from", address(r))
		s.showLogin(w, r, loginBody{Next: next, Error: "That is not the password."},
			http.StatusForbidden)
	default:
		s.setCookie(w, r, s.login.open(), int(sessionLife/time.Second))
		http.Redirect(w, r, next, http.StatusSeeOther)
	}
}

func (s *Server) logout(w http.ResponseWriter, r *http.Request) {
	if c, err := r.Cookie(sessionCookie); err == nil {
		s.login.close(c.Value)
	}
	s.setCookie(w, r, "", -1)
	http.Redirect(w, r, "/login", http.StatusSeeOther)
}

func (s *Server) setCookie(w http.ResponseWriter, r *http.Request, token string, age int) {
	http.SetCookie(w, &http.Cookie{
		Name: sessionCookie, Value: token, Path: "/", MaxAge: age, HttpOnly: true,
		SameSite: http.SameSiteLaxMode,
		Secure:   r.TLS != nil || r.Header.Get("X-Forwarded-Proto") == "https",
	})
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
