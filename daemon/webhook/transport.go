package webhook

import (
	"context"
	"crypto/tls"
	"net"
	"net/http"
	"time"
)

// How long a far side may take (judgement): it answers in a second, a phone
// service on a bad day in some. The outbox gives a post 30 s in all.
const (
	connectTimeout = 10 * time.Second
	shakeTimeout   = 10 * time.Second
	answerTimeout  = 15 * time.Second
)

// transport makes connections of our own: no proxy from the environment, none
// kept open (notices are rare, and certificates are read anew), HTTP/1.1.
// hop is told of each step there; it may be nil.
func (h *Hook) transport(hop func(name string, err error)) *http.Transport {
	if hop == nil {
		hop = func(string, error) {}
	}
	return &http.Transport{
		DisableKeepAlives:      true,
		ResponseHeaderTimeout:  answerTimeout,
		MaxResponseHeaderBytes: 32 << 10,
		TLSNextProto:           map[string]func(string, *tls.Conn) http.RoundTripper{},
		DialContext: func(ctx context.Context, _, addr string) (net.Conn, error) {
			return dial(ctx, addr, hop)
		},
		DialTLSContext: func(ctx context.Context, _, addr string) (net.Conn, error) {
			conn, err := dial(ctx, addr, hop)
			if err != nil {
				return nil, err
			}
			host, _, _ := net.SplitHostPort(addr)
			ctx, cancel := context.WithTimeout(ctx, shakeTimeout)
			defer cancel()
			conn, err = h.target.Files.Shake(ctx, conn, host)
			hop("agree on TLS with "+host, err)
			return conn, err
		},
	}
}

// dial looks a name up and connects to the first of its addresses that
// answers.
func dial(ctx context.Context, addr string, hop func(string, error)) (net.Conn, error) {
	ctx, cancel := context.WithTimeout(ctx, connectTimeout)
	defer cancel()
	host, port, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, err
	}
	ips := []string{host}
	if net.ParseIP(host) == nil {
		ips, err = net.DefaultResolver.LookupHost(ctx, host)
		hop("look up "+host, err)
		if err != nil {
			return nil, err
		}
	}
	var conn net.Conn
	for i, ip := range ips {
		if conn, err = dialOne(ctx, net.JoinHostPort(ip, port), len(ips)-i); err == nil {
			break
		}
	}
	hop("connect to "+addr, err)
	return conn, err
}

// dialOne tries one address, for its share of what time is left.
func dialOne(ctx context.Context, addr string, left int) (net.Conn, error) {
	if end, ok := ctx.Deadline(); ok {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, time.Until(end)/time.Duration(left))
		defer cancel()
	}
	return new(net.Dialer).DialContext(ctx, "tcp", addr)
}

// near follows a redirect only if the POST stays a POST and stays with the
// same host: a token is not carried elsewhere, and a GET that is answered with
// 200 has delivered nothing.
func near(r *http.Request, via []*http.Request) error {
	first := via[0]
	if len(via) > 3 || r.Method != http.MethodPost || r.URL.Host != first.URL.Host ||
		r.URL.Scheme != first.URL.Scheme {
		return http.ErrUseLastResponse
	}
	return nil
}
