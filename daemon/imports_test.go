package daemon_test

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// A room may import the packages of ours and the third-party modules named
// here, and nothing else. The trade stands in the middle and knows nobody;
// sensors and alerts never meet; adapters do not know each other; a library is
// known to one package, two at most. A new package must be entered to pass.
type room struct {
	ours  []string // import path below clutchd/; a trailing /... takes what lies below
	third []string // module path prefixes
}

var rooms = map[string]room{
	"incubation":         {},
	"incubation/book":    {ours: []string{"incubation"}},
	"incubation/season":  {ours: []string{"incubation", "incubation/book"}},
	"incubation/review":  {ours: []string{"incubation", "incubation/book"}},
	"incubation/species": {ours: []string{"incubation"}},
	"incubation/handout": {ours: []string{"incubation", "incubation/review"}},
	"incubation/thermal": {},
	"incubation/sampler": {third: []string{"gonum.org/v1/gonum"}},
	"incubation/learn":   {ours: []string{"incubation", "incubation/sampler"}},
	"incubation/species/fit": {
		ours:  []string{"incubation", "incubation/species", "incubation/sampler"},
		third: []string{"gonum.org/v1/gonum"},
	},

	"sensors":       {ours: []string{"incubation"}},
	"sensors/i2c":   {ours: []string{"incubation", "sensors"}, third: []string{"periph.io/x", "golang.org/x/sys"}},
	"sensors/sysfs": {ours: []string{"incubation", "sensors"}, third: []string{"golang.org/x/sys"}},
	"sensors/contact": {
		ours:  []string{"incubation", "sensors", "sensors/sysfs"},
		third: []string{"periph.io/x", "golang.org/x/sys"},
	},
	"sensors/mqttin":    {ours: []string{"incubation", "sensors"}},
	"sensors/logger":    {ours: []string{"incubation", "sensors"}},
	"sensors/simulated": {ours: []string{"incubation", "sensors"}},

	"alerts": {ours: []string{"incubation"}},

	"daemon/monitor": {ours: []string{"incubation/...", "sensors", "alerts"}},
	"daemon/store":   {ours: []string{"incubation/...", "alerts"}, third: []string{"go.etcd.io/bbolt"}},
	"daemon/mqtt": {
		ours:  []string{"incubation", "incubation/book", "sensors", "sensors/mqttin", "alerts", "daemon/monitor", "daemon/secure"},
		third: []string{"github.com/eclipse/paho.mqtt.golang"},
	},
	"daemon/secure":  {},
	"daemon/photo":   {third: []string{"golang.org/x/image"}},
	"daemon/webhook": {ours: []string{"alerts", "daemon/secure"}},
	"daemon/broker":  {third: []string{"github.com/mochi-mqtt/server/v2"}},
	"daemon/metrics": {
		ours:  []string{"incubation", "sensors", "alerts", "daemon/monitor"},
		third: []string{"github.com/prometheus/client_golang"},
	},
	"daemon/web": {
		ours:  []string{"incubation/...", "sensors", "alerts", "daemon/monitor"},
		third: []string{"golang.org/x/crypto"},
	},
	"daemon/paper": {
		ours:  []string{"incubation/..."},
		third: []string{"codeberg.org/go-pdf/fpdf", "rsc.io/qr"},
	},
	"daemon/config": {ours: []string{"incubation", "alerts", "sensors/..."}, third: []string{"github.com/BurntSushi/toml"}},

	// The wiring sees all; the program sees the wiring.
	"daemon":         {ours: []string{"..."}, third: []string{"golang.org/x/sync", "golang.org/x/sys", "github.com/coreos/go-systemd"}},
	"daemon/command": {ours: []string{"..."}, third: []string{"golang.org/x/term"}},
	"daemon/demo":    {ours: []string{"..."}},
	"daemon/proof":   {},                                       // nothing but tests, which may see all
	"daemon/days":    {},                                       // the same, in a browser
	"daemon/browser": {third: []string{"github.com/chromedp"}}, // for tests alone
	"daemon/clutchd": {ours: []string{"daemon", "daemon/command", "daemon/config", "daemon/demo"}},
}

type listed struct {
	ImportPath string
	Imports    []string
	Standard   bool
}

func TestImports(t *testing.T) {
	const module = "clutchd/"
	for _, p := range list(t) {
		name := strings.TrimPrefix(p.ImportPath, module)
		r, known := rooms[name]
		if !known {
			t.Errorf("package %s is not in the table: enter it with what it may import", name)
			continue
		}
		for _, imp := range p.Imports {
			switch {
			case strings.HasPrefix(imp, module):
				if !allowed(r.ours, strings.TrimPrefix(imp, module)) {
					t.Errorf("%s imports %s: trade <- sensors, alerts <- monitor <- adapters <- wiring; "+
						"an arrow the other way ties rooms together that should not know each other", name, imp)
				}
			case strings.Contains(strings.SplitN(imp, "/", 2)[0], "."):
				if !allowedThird(r.third, imp) {
					t.Errorf("%s imports %s: a library is known to one package, so that it can be replaced there", name, imp)
				}
			}
		}
	}
}

// TestImportsTable keeps the table itself honest: no entry for a package that
// is gone, and no third-party library spread over more than two packages.
func TestImportsTable(t *testing.T) {
	var names []string
	for _, p := range list(t) {
		names = append(names, strings.TrimPrefix(p.ImportPath, "clutchd/"))
	}
	users := map[string][]string{}
	for name, r := range rooms {
		if !slices.Contains(names, name) {
			t.Errorf("the table names %s, which does not exist", name)
		}
		for _, m := range r.third {
			users[m] = append(users[m], name)
		}
	}
	for m, by := range users {
		// x/sys is the kernel's own interface: each of its users reads
		// another part of it.
		if len(by) > 2 && m != "golang.org/x/sys" {
			t.Errorf("%s is imported by %v: two packages at most", m, by)
		}
	}
}

func list(t *testing.T) []listed {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Imports,Standard", "clutchd/...")
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var ps []listed
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			return ps
		} else if err != nil {
			t.Fatal(err)
		}
		ps = append(ps, p)
	}
}

func allowed(patterns []string, path string) bool {
	return slices.ContainsFunc(patterns, func(p string) bool {
		base, tree := strings.CutSuffix(p, "...")
		base = strings.TrimSuffix(base, "/")
		return p == path || tree && (base == "" || path == base || strings.HasPrefix(path, base+"/"))
	})
}

func allowedThird(prefixes []string, path string) bool {
	return slices.ContainsFunc(prefixes, func(p string) bool {
		return path == p || strings.HasPrefix(path, p+"/")
	})
}
