package web

import (
	"errors"
	"net/http"
	"time"
)

type tokensBody struct {
	Open          bool // no password is set: there is nothing to open
	Lines         []keyLine
	Request       string
	Error         string
	Made          *madeKey
	Own, Visitors int // sessions
	Name          string
}

// A keyLine is a token or a link that is in force.
type keyLine struct{ ID, Name, Does, Made, Used string }

// A madeKey is what is shown once.
type madeKey struct {
	Name, Secret string
	Address      string // of a link; "" for a token
	Again        bool   // it was shown before
}

func (s *Server) tokens(v *visit) error { return v.showTokens(tokensBody{}, http.StatusOK) }

func (v *visit) showTokens(b tokensBody, code int) error {
	l := v.s.login
	b.Open, b.Request, b.Name = !l.needed, newRequest(), v.asker.name
	b.Own, b.Visitors = l.count()
	for _, k := range l.listed() {
		line := keyLine{ID: k.ID, Name: k.Name, Does: k.says(), Made: v.say.day(k.Made), Used: "never used"}
		if !k.Used.IsZero() {
			line.Used = "last used " + v.say.moment(k.Used)
		}
		b.Lines = append(b.Lines, line)
	}
	return v.render("tokens", frame{Title: "Who may see this room", Body: b}, code)
}

// says tells what a key opens.
func (k key) says() string {
	switch {
	case k.Scope == scopeWrite:
		return "token of a program that reads and writes"
	case k.Scope == scopeRead:
		return "token of a program that reads"
	case k.Acknowledge:
		return "link to look at the room and acknowledge alerts"
	}
	return "link to look at the room"
}

// makeToken makes a token or a link and shows its secret, this once.
func (s *Server) makeToken(v *visit) error {
	if !s.login.needed {
		return v.showTokens(tokensBody{}, http.StatusUnprocessableEntity)
	}
	k := key{Name: cleanName(v.r.PostFormValue("name")), Request: v.r.PostFormValue("request")}
	switch what := v.r.PostFormValue("what"); what {
	case "read", "write":
		k.Scope = scope(what)
	case "wall", "room":
		k.Scope, k.Acknowledge = scopeLink, v.r.PostFormValue("acknowledge") == "yes"
		if k.Opens = "/"; what == "wall" {
			k.Opens = "/wall"
		}
	}
	wrong := ""
	switch {
	case k.Name == "":
		wrong = "Give it a name, so that you know later whom to shut out."
	case k.Scope == "" || k.Request == "" || len(k.Request) > 64:
		wrong = "This form is damaged: open it again."
	}
	if wrong != "" {
		return v.showTokens(tokensBody{Error: wrong}, http.StatusUnprocessableEntity)
	}
	made, secret, err := s.login.make(k)
	if err != nil {
		return v.showTokens(tokensBody{Error: s.notMade(err)}, http.StatusServiceUnavailable)
	}
	s.o.Log.Info("token made", "name", made.Name, "scope", made.Scope, "from", address(v.r))
	show := &madeKey{Name: made.Name, Secret: secret, Again: secret == ""}
	if made.Scope == scopeLink && secret != "" {
		scheme := "http://"
		if encrypted(v.r) {
			scheme = "https://"
		}
		show.Address = scheme + v.r.Host + "/watch/" + secret
	}
	return v.showTokens(tokensBody{Made: show}, http.StatusOK)
}

func (s *Server) notMade(err error) string {
	if errors.Is(err, errTooManyKeys) || errors.Is(err, errNotKept) {
		return "It was not made: " + err.Error() + "."
	}
	s.o.Log.Error("token not kept", "error", err)
	return "It was not made: it could not be written down just now. Try again."
}

func (s *Server) revokeToken(v *visit) error {
	there, err := s.login.revoke(v.r.PathValue("id"))
	switch {
	case err != nil:
		s.o.Log.Error("revoked, but not kept", "error", err)
		return v.showTokens(tokensBody{Error: "It opens nothing any more, but that could not be written down: " +
			"after a restart it would open again. Look after the disk."}, http.StatusServiceUnavailable)
	case !there:
		return missing{"token or link by that name"}
	}
	http.Redirect(v.w, v.r, "/settings/tokens", http.StatusSeeOther)
	return nil
}

// logoutEverywhere ends every session, this one and those of links too.
func (s *Server) logoutEverywhere(w http.ResponseWriter, r *http.Request) {
	if err := s.login.closeAll(); err != nil {
		s.o.Log.Error("sessions ended, but not kept", "error", err)
		s.visit(w, r).trouble(http.StatusServiceUnavailable, "Not everywhere",
			"All sessions have ended, but that could not be written down: after a restart they would go on. "+
				"Set another password with `clutchd password`, which ends them for good.")
		return
	}
	setCookie(w, r, sessionName(r), "", -1)
	http.Redirect(w, r, "/login", http.StatusSeeOther)
}

// setName puts another name beside what this browser writes.
func (s *Server) setName(w http.ResponseWriter, r *http.Request) {
	name := cleanName(r.PostFormValue("name"))
	if c, err := r.Cookie(sessionName(r)); err == nil {
		s.login.rename(c.Value, name)
	}
	rememberName(w, r, name)
	http.Redirect(w, r, "/settings/tokens", http.StatusSeeOther)
}

// watch opens the room to whoever has a link. The keeper's own browser stays
// the keeper's.
func (s *Server) watch(w http.ResponseWriter, r *http.Request) {
	k, ok := s.login.holds(r.PathValue("secret"))
	if !ok || k.Scope != scopeLink {
		s.o.Log.Warn("wrong link", "from", address(r))
		f := frame{Title: "This link opens nothing", Bare: true, Body: problemBody{
			"This link opens nothing",
			"It was revoked, or copied only in part. Ask the keeper for another.",
		}}
		if err := s.visit(w, r).render("problem", f, http.StatusForbidden); err != nil {
			http.Error(w, "this link opens nothing", http.StatusForbidden)
		}
		return
	}
	if !s.login.who(r).keeper {
		s.leave(r)
		setCookie(w, r, sessionName(r), s.login.open("", k.ID), int(sessionLife/time.Second))
	}
	http.Redirect(w, r, localPath(k.Opens), http.StatusSeeOther)
}
