package daemon

import (
	"crypto/tls"
	"log/slog"

	"clutchd/daemon/config"
	"clutchd/daemon/secure"
)

// certificate gives what the pages speak TLS with; nil: they speak plain HTTP.
// Files that cannot be read stop no watch: connections are turned away until
// they can.
func certificate(w config.Web, log *slog.Logger) func(*tls.ClientHelloInfo) (*tls.Certificate, error) {
	if w.CertFile == "" {
		return nil
	}
	served := secure.NewServed(w.CertFile, w.KeyFile, func(err error) {
		if err != nil {
			log.Error("the pages' certificate cannot be read", "error", err)
			return
		}
		log.Info("the pages' certificate is read again")
	})
	_, _ = served.Get(nil) // what is wrong is logged at the start, not at the first visit
	return served.Get
}
