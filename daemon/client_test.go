package daemon_test

import (
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"
)

// A client asks a daemon that may not be there.
type client struct {
	base string
	http *http.Client
}

func newClient(addr string) client {
	return client{"http://" + addr, &http.Client{Timeout: 15 * time.Second}}
}

// get reads JSON and gives the status, 0 if nobody answered whole.
func (c client) get(path string, v any) int {
	code, text := c.text(path)
	if json.Unmarshal([]byte(text), v) != nil {
		return 0
	}
	return code
}

func (c client) text(path string) (int, string) {
	r, err := c.http.Get(c.base + path)
	return whole(r, err)
}

// post sends JSON and reads the answer into v, unless that is nil.
func (c client) post(path, body string, v any) int {
	code, text := whole(c.http.Post(c.base+path, "application/json", strings.NewReader(body)))
	if v != nil && json.Unmarshal([]byte(text), v) != nil {
		return 0
	}
	return code
}

func whole(r *http.Response, err error) (int, string) {
	if err != nil {
		return 0, ""
	}
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	if err != nil {
		return 0, ""
	}
	return r.StatusCode, string(text)
}

// A standing is an alert as the API lists it.
type standing struct {
	Alert, Occurrence, Rule, State, Acknowledged string
	Eggs                                         []string
}

// stands gives the alert of a rule, once it stands.
func (c client) stands(t *testing.T, rule string) standing {
	t.Helper()
	for late := time.Now().Add(2 * patience); time.Now().Before(late); time.Sleep(100 * time.Millisecond) {
		var all []standing
		c.get("/api/alerts", &all)
		for _, a := range all {
			if a.Rule == rule {
				return a
			}
		}
	}
	t.Fatalf("no alert %s stands within %s", rule, 2*patience)
	return standing{}
}
