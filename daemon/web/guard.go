package web

import (
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"strings"
)

// policy lets pages load only what this server sends: no inline script or
// style, no frame around them, no form that posts elsewhere.
const policy = "default-src 'self'; base-uri 'none'; form-action 'self'; " +
	"frame-ancestors 'none'; object-src 'none'"

// permissions are what no page here asks a browser for. A photograph comes as
// a file that the phone's own camera made, which needs none of them.
const permissions = "accelerometer=(), camera=(), display-capture=(), geolocation=(), gyroscope=(), " +
	"magnetometer=(), microphone=(), midi=(), payment=(), serial=(), usb=()"

// strict is how long a browser that has once spoken TLS with us speaks nothing
// else. Judgement: longer than a session, short enough to go back.
const strict = "max-age=2592000"

// headers go with every answer, a refusal too.
func headers(h http.Header, r *http.Request) {
	h.Set("Content-Security-Policy", policy)
	h.Set("Permissions-Policy", permissions)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY") // for browsers that do not know frame-ancestors
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	// Not no-referrer: it would blank the Origin of our own forms, which is
	// all that CrossOriginProtection has to go by over plain HTTP.
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Cache-Control", "no-store")
	if r.TLS != nil {
		h.Set("Strict-Transport-Security", strict)
	}
}

// bodyLimit is more than any entry needs.
const bodyLimit = 64 << 10

// bodyMost is how long a request's body may be.
func bodyMost(r *http.Request) int64 {
	if r.Method == http.MethodPost && strings.HasPrefix(r.URL.Path, "/animals/") && strings.HasSuffix(r.URL.Path, "/photos") {
		return photoBody
	}
	return bodyLimit
}

// guard holds what every request must pass before any handler sees it.
func (s *Server) guard(next http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		http.Error(w, "this change was asked for by another site's page: refused\n"+
			"open the page itself and try again", http.StatusForbidden)
	}))
	next = cross.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		headers(w.Header(), r)
		if !s.names.allows(r.Host) {
			http.Error(w, fmt.Sprintf("this room is not served under the name %q\n"+
				"open it by its address, or add the name to the config's hosts", r.Host),
				http.StatusMisdirectedRequest)
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, bodyMost(r))
		zip := zipped(w, r)
		next.ServeHTTP(zip, r)
		zip.end()
	})
}

// names are the hosts a request may be for. A page elsewhere whose name is
// made to point here (DNS rebinding) comes with a name that is not among them.
type names struct {
	known    map[string]bool
	anyIP    bool // listening on every address: any literal one may be ours
	loopback bool // only this machine can reach the address
}

func namesOf(listen string, hosts []string) (names, error) {
	host, _, err := net.SplitHostPort(listen)
	if err != nil {
		return names{}, fmt.Errorf("serve pages on %q: %w\nwrite it as 127.0.0.1:8080", listen, err)
	}
	n := names{known: map[string]bool{"localhost": true}}
	for _, h := range append([]string{host}, hosts...) {
		n.known[plainHost(h)] = true
	}
	delete(n.known, "")
	ip, err := netip.ParseAddr(plainHost(host))
	switch {
	case err == nil:
		n.loopback, n.anyIP = ip.Unmap().IsLoopback(), ip.IsUnspecified()
	case host == "":
		n.anyIP = true
	default:
		n.loopback = plainHost(host) == "localhost"
	}
	return n, nil
}

// allows reports whether a Host header names this server.
func (n names) allows(header string) bool {
	host := header
	if h, _, err := net.SplitHostPort(header); err == nil {
		host = h
	}
	host = plainHost(host)
	if n.known[host] {
		return true
	}
	ip, err := netip.ParseAddr(host)
	return err == nil && (n.anyIP || ip.Unmap().IsLoopback())
}

func plainHost(h string) string {
	h = strings.TrimSuffix(strings.ToLower(strings.TrimSpace(h)), ".")
	return strings.TrimSuffix(strings.TrimPrefix(h, "["), "]")
}

// local reports whether the request was made on this machine by itself, not
// through a proxy on it.
func local(r *http.Request) bool {
	for _, h := range []string{"Forwarded", "X-Forwarded-For", "X-Real-Ip", "Via"} {
		if r.Header.Get(h) != "" {
			return false
		}
	}
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	return err == nil && at.Addr().Unmap().IsLoopback()
}

// admit lets a request to the route if its asker may have it.
func (s *Server) admit(rt route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		a := s.login.who(r)
		switch {
		case rt.open, rt.local && local(r) && !a.bearer:
		case a.may == mayNothing:
			s.turnAway(w, r, a)
			return
		case !a.mayHave(rt):
			s.refuse(w, r, a, rt)
			return
		}
		rt.handle(w, withAsker(r, a))
	})
}

// turnAway answers someone who has shown nothing.
func (s *Server) turnAway(w http.ResponseWriter, r *http.Request, a asker) {
	if a.bearer {
		w.Header().Set("WWW-Authenticate", `Bearer realm="clutchd", error="invalid_token"`)
		s.fail(w, http.StatusUnauthorized, problem{Text: "this token is not known, or was revoked"})
		return
	}
	if isPage(r) {
		http.Redirect(w, r, "/login?next="+escapeQuery(r.URL.RequestURI()), http.StatusSeeOther)
		return
	}
	w.Header().Set("WWW-Authenticate", `Basic realm="clutchd", charset="UTF-8"`)
	s.fail(w, http.StatusUnauthorized, problem{Text: "a login is needed"})
}

// refuse answers someone who may see the room, but not do this.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, a asker, rt route) {
	text := "This way in is read-only: it shows the room and changes nothing. Ask the keeper, or log in with the password."
	switch {
	case rt.keeper && !a.readOnly():
		text = "Only the password opens this, no token."
	case a.bearer:
		text = "This token may only read."
	}
	if a.bearer || !isForPerson(r) {
		s.fail(w, http.StatusForbidden, problem{Text: strings.TrimSuffix(text, ".")})
		return
	}
	s.visit(w, withAsker(r, a)).trouble(http.StatusForbidden, "Not from here", text)
}

// isForPerson reports whether the answer is a page that somebody looks at.
func isForPerson(r *http.Request) bool { return !strings.HasPrefix(r.URL.Path, "/api/") }

func isPage(r *http.Request) bool {
	p := r.URL.Path
	return r.Method == http.MethodGet && !strings.HasPrefix(p, "/api/") &&
		p != "/metrics" && p != "/healthz" && p != "/events"
}
