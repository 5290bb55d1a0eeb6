package config

import (
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"
)

// ownHeaders are set by the program itself.
var ownHeaders = [...]string{
	"connection", "content-length", "content-type", "host", "idempotency-key", "transfer-encoding",
	"clutchd-signature",
}

func (c Config) webhookProblems(bad func(string, any, string)) {
	seen := map[string]bool{}
	for i, w := range c.Webhooks {
		key := fmt.Sprintf("webhook[%d].", i)
		if w.Name == "" || seen[w.Name] {
			bad(key+"name", w.Name, "each webhook needs a name of its own")
		}
		seen[w.Name] = true
		u, err := url.Parse(w.URL)
		switch {
		case err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Hostname() == "":
			bad(key+"url", w.URL, "such as https://push.example/alerts")
		case u.User != nil:
			bad(key+"url", u.Redacted(), "user and password belong in a file: token_file or header_files")
		}
		if !slices.Contains([]string{"", "json", "text"}, w.Format) {
			bad(key+"format", w.Format, `"json" or "text"`)
		}
		if (w.CertFile == "") != (w.KeyFile == "") {
			bad(key+"cert_file", w.CertFile, "a client certificate needs cert_file and key_file")
		}
		headerProblems(bad, key+"headers.", w.Headers)
		headerProblems(bad, key+"critical_headers.", w.CriticalHeaders)
		headerProblems(bad, key+"header_files.", w.HeaderFiles)
	}
}

func headerProblems(bad func(string, any, string), key string, set map[string]string) {
	for _, name := range slices.Sorted(maps.Keys(set)) {
		value := set[name]
		switch {
		case name == "" || strings.ContainsFunc(name, func(r rune) bool {
			return r <= ' ' || r > '~' || strings.ContainsRune(`"(),/:;<=>?@[\]{}`, r)
		}):
			bad(key+name, value, "no header can have that name")
		case slices.Contains(ownHeaders[:], strings.ToLower(name)):
			bad(key+name, value, "clutchd sets that header itself")
		case strings.ContainsAny(value, "\r\n\x00"):
			bad(key+name, value, "a header is one line")
		}
	}
}
