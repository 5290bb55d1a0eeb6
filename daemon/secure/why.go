package secure

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"strings"
	"syscall"
	"time"
)

// Why says in one sentence, without a full stop, why a connection to a far
// side did not come about or broke; what it does not know it says in the
// error's own words. A nil error gives "".
func Why(err error) string {
	if err == nil {
		return ""
	}
	for _, say := range []func(error) string{theirCertificate, ourCertificate, theWay} {
		if text := say(err); text != "" {
			return text
		}
	}
	return err.Error()
}

// theirCertificate says why we do not believe the far side.
func theirCertificate(err error) string {
	if _, ok := errors.AsType[x509.UnknownAuthorityError](err); ok {
		return "its certificate is signed by nobody this machine knows: name the signer's certificate as ca_file"
	}
	if e, ok := errors.AsType[x509.CertificateInvalidError](err); ok && e.Reason == x509.Expired {
		return fmt.Sprintf("its certificate is valid from %s to %s and this machine's clock says %s",
			date(e.Cert.NotBefore), date(e.Cert.NotAfter), date(time.Now()))
	}
	if e, ok := errors.AsType[x509.HostnameError](err); ok {
		return fmt.Sprintf("its certificate is for %s, not for %s", namesIn(e.Certificate), e.Host)
	}
	if e, ok := errors.AsType[*tls.CertificateVerificationError](err); ok {
		return "its certificate is not good: " + e.Err.Error()
	}
	if e, ok := errors.AsType[tls.RecordHeaderError](err); ok && e.Conn != nil {
		return "no TLS is spoken at that address and port"
	}
	return ""
}

func date(t time.Time) string { return t.UTC().Format("2 January 2006") }

func namesIn(c *x509.Certificate) string {
	names := append([]string{}, c.DNSNames...)
	for _, ip := range c.IPAddresses {
		names = append(names, ip.String())
	}
	if len(names) == 0 {
		return "no name at all"
	}
	return strings.Join(names, ", ")
}

// ourCertificate says why the far side does not believe us: the alerts of RFC
// 8446, section 6, that speak of a client's certificate. Go gives them no type,
// only its words.
func ourCertificate(err error) string {
	e, ok := errors.AsType[*net.OpError](err)
	if !ok || e.Op != "remote error" {
		return ""
	}
	switch alert := strings.TrimPrefix(e.Err.Error(), "tls: "); alert {
	case "certificate required":
		return "it wants a client certificate: name one as cert_file and key_file"
	case "expired certificate":
		return "it says that our client certificate has expired"
	case "revoked certificate":
		return "it says that our client certificate was revoked"
	case "unknown certificate authority":
		return "it does not know who signed our client certificate"
	case "bad certificate", "unknown certificate", "unsupported certificate", "access denied":
		return "it refuses our client certificate"
	case "handshake failure":
		return "it breaks off the TLS handshake: it may want a client certificate, or a newer TLS"
	default:
		return "it breaks off TLS: " + alert
	}
}

// theWay says what is wrong between here and there.
func theWay(err error) string {
	if e, ok := errors.AsType[*net.DNSError](err); ok {
		switch {
		case e.IsNotFound:
			return "no address is known for the name " + e.Name
		case e.IsTimeout:
			return "the name server does not answer about " + e.Name
		}
		return "the name " + e.Name + " cannot be looked up now"
	}
	for _, k := range []struct {
		is   error
		text string
	}{
		{syscall.ECONNREFUSED, "nobody listens at that address and port"},
		{syscall.ENETUNREACH, "this machine has no way to that network"},
		{syscall.EHOSTUNREACH, "that machine cannot be reached from here"},
		{syscall.ECONNRESET, "the connection was broken by the far side"},
		{syscall.EPIPE, "the connection was broken by the far side"},
		{context.DeadlineExceeded, "no answer in time"},
		{os.ErrDeadlineExceeded, "no answer in time"},
		{syscall.ETIMEDOUT, "no answer in time"},
		{io.ErrUnexpectedEOF, "the connection ended in the middle"},
		{io.EOF, "the far side closed the connection without a word"},
	} {
		if errors.Is(err, k.is) {
			return k.text
		}
	}
	if e, ok := errors.AsType[net.Error](err); ok && e.Timeout() {
		return "no answer in time"
	}
	return ""
}
