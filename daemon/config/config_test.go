package config_test

import (
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"clutchd/daemon/config"
)

// The sample is what an installation starts from: it must load, and its
// leading part must be the defaults that it says it shows.
func TestSampleLoads(t *testing.T) {
	c, err := config.Load("../../deploy/clutchd.toml")
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Contacts) != 3 {
		t.Errorf("sample has %d contacts; it shows 3", len(c.Contacts))
	}
	if len(c.Brokers) != 2 || len(c.Buses) != 1 || len(c.Devices) != 1 {
		t.Errorf("sample has %d brokers, %d buses, %d devices; it shows 2, 1, 1", len(c.Brokers), len(c.Buses), len(c.Devices))
	}
	text, err := os.ReadFile("../../deploy/clutchd.toml")
	if err != nil {
		t.Fatal(err)
	}
	defaults, _, found := strings.Cut(string(text), "# --- What follows")
	if !found {
		t.Fatal("the sample has lost the line between defaults and example")
	}
	got, err := config.Parse([]byte(defaults))
	if err != nil {
		t.Fatal(err)
	}
	want := config.Default()
	want.Kernel.IntervalSeconds, want.Web.Hosts = 10, []string{} // written out: 0 and none mean these
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("the sample's defaults are not the program's:\n%s", diff)
	}
}

func TestParseTellsEveryProblem(t *testing.T) {
	tests := []struct {
		about, text string
		want        []string // a part of each line
	}{
		{"a typo is an error, with the key", `sita = "x"`, []string{"sita: no such key"}},
		{"a typo in a table too", "[web]\nlissen = \"x\"", []string{"web.lissen: no such key"}},
		{"broken TOML names its line", "site = \"a\"\nsite = ", []string{"line 2:"}},
		{
			"several problems come at once, with key and value",
			"site = \"a/b\"\nunit = \"K\"\nzone = \"Nowhere/Land\"\nclock = \"maybe\"",
			[]string{`site = "a/b"`, `unit = "K"`, `clock = "maybe"`, `zone = "Nowhere/Land"`},
		},
		{
			"a broker needs a name, a URL that can be dialled, both halves of a certificate",
			"[[mqtt]]\nurl = \"ftp://x\"\ncert_file = \"a\"",
			[]string{"mqtt[0].name", "mqtt[0].url", "mqtt[0].cert_file"},
		},
		{
			"two brokers of one name",
			"[[mqtt]]\nname = \"a\"\nurl = \"mqtt://x\"\n[[mqtt]]\nname = \"a\"\nurl = \"mqtt://y\"",
			[]string{"mqtt[1].name"},
		},
		{
			"a bus without a name, a chip without a model, an address too high, an odd interval",
			"[[i2c]]\n[[i2c.chip]]\naddress = 0x80\ninterval_seconds = 0.1",
			[]string{"i2c[0].bus", "i2c[0].chip[0].model", "i2c[0].chip[0].interval_seconds"},
		},
		{
			"a chip that is not known, with those that are; one where it cannot be, with where it can",
			"[[i2c]]\nbus = \"1\"\n[[i2c.chip]]\nmodel = \"sht99\"\n[[i2c.chip]]\nmodel = \"sht31\"\naddress = 0x80",
			[]string{"i2c[0].chip[0].model = \"sht99\": one of", "i2c[0].chip[1].address = 0x80: this chip can be at 0x44, 0x45"},
		},
		{
			"addresses that nothing can listen on",
			"[web]\nlisten = \"8080\"\n[broker]\nlisten = \"127.0.0.1:99999\"",
			[]string{"web.listen = \"8080\"", "broker.listen = \"127.0.0.1:99999\""},
		},
		{
			"a contact without name, kind or input",
			"[[contact]]\nactive = \"closed\"\npull = \"hard\"\ndebounce_ms = -1",
			[]string{
				"contact[0].name", "contact[0].kind", "contact[0].gpio", "contact[0].active", "contact[0].pull",
				"contact[0].debounce_ms",
			},
		},
		{
			"two contacts of one name on one line",
			"[[contact]]\nname = \"a\"\nkind = \"door\"\ngpio = \"GPIO4\"\n" +
				"[[contact]]\nname = \"a\"\nkind = \"leak\"\ngpio = \"GPIO4\"",
			[]string{"contact[1].name", "contact[1].gpio = \"GPIO4\": two contacts"},
		},
		{
			"a contact that would be read in two places",
			"[[contact]]\nname = \"a\"\nkind = \"mains\"\ngpio = \"GPIO4\"\npower_supply = \"AC\"",
			[]string{"contact[0].gpio"},
		},
		{
			"a power supply tells of nothing but the mains, and has no level",
			"[[contact]]\nname = \"a\"\nkind = \"door\"\npower_supply = \"../AC\"\nactive = \"low\"",
			[]string{"contact[0].kind", "contact[0].power_supply", "contact[0].active"},
		},
		{
			"a name that is no topic", "[[contact]]\nname = \"The Door/1\"\nkind = \"door\"\ngpio = \"GPIO4\"",
			[]string{"contact[0].name"},
		},
		{
			"a device on a broker that is not there",
			"[[device]]\nprobe = \"p\"\nbroker = \"x\"\ntopic = \"t\"\ninterval_seconds = 60",
			[]string{`device[0].broker = "x"`},
		},
		{
			"a device that could never speak",
			"[[device]]\nprobe = \"p\"\ntopic = \"t/#\"\ninterval_seconds = 0",
			[]string{"device[0].interval_seconds", "device[0] = "},
		},
	}
	for _, test := range tests {
		t.Run(test.about, func(t *testing.T) {
			_, err := config.Parse([]byte(test.text))
			if err == nil {
				t.Fatal("accepted")
			}
			lines := strings.Split(err.Error(), "\n")
			for _, want := range test.want {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("no line tells %q in:\n%s", want, err)
				}
			}
			if len(lines) < len(test.want) {
				t.Errorf("%d lines for %d problems:\n%s", len(lines), len(test.want), err)
			}
		})
	}
}

func TestFolder(t *testing.T) {
	t.Setenv("STATE_DIRECTORY", "")
	t.Setenv("XDG_STATE_HOME", "/x/state")
	for _, test := range []struct{ about, set, systemd, want string }{
		{"the user's state folder without a word", "", "", "/x/state/clutchd"},
		{"systemd's, when it gives one", "", "/var/lib/clutchd", "/var/lib/clutchd"},
		{"the config's before both", "/srv/geckos", "/var/lib/clutchd", "/srv/geckos"},
	} {
		t.Setenv("STATE_DIRECTORY", test.systemd)
		c := config.Default()
		c.StateDir = test.set
		if got, err := c.Folder(); got != test.want || err != nil {
			t.Errorf("%s: %q, %v; want %q", test.about, got, err, test.want)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte("site = \"a\"\n[[device]]\nprobe = \"p\"\ntopic = \"t\"\ninterval_seconds = 60\n"))
	f.Add([]byte("[[i2c]]\nbus = \"1\"\n[[i2c.chip]]\nmodel = \"sht31\"\naddress = 0x44\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		c, err := config.Parse(text)
		if err != nil {
			if diff := cmp.Diff(config.Config{}, c); diff != "" {
				t.Errorf("refused, but not empty:\n%s", diff)
			}
			return
		}
		if c.Site == "" {
			t.Error("accepted without a site")
		}
		for _, d := range c.Devices {
			if err := d.In().Validate(); err != nil {
				t.Errorf("accepted a device that cannot speak: %v", err)
			}
		}
	})
}
