package config

import (
	"fmt"
	"net"
	"slices"
	"strconv"
	"strings"

	"clutchd/sensors/i2c"
)

// problems lists everything that could not work.
func (c Config) problems() []error {
	var out []error
	bad := func(key string, value any, why string) {
		out = append(out, fmt.Errorf("%s = %#v: %s", key, value, why))
	}
	if c.Site == "" || strings.ContainsAny(c.Site, "/+#\x00") {
		bad("site", c.Site, "it becomes one level of the topics: no slash, plus or hash")
	}
	if c.Unit != "C" && c.Unit != "F" {
		bad("unit", c.Unit, `"C" or "F"`)
	}
	if c.Clock != ClockChecked && c.Clock != ClockSystem {
		bad("clock", c.Clock, `"checked" or "system"`)
	}
	if _, err := c.Location(); err != nil {
		bad("zone", c.Zone, "an IANA name such as Europe/Lisbon")
	}
	checkListen(bad, "web.listen", c.Web.Listen)
	if (c.Web.CertFile == "") != (c.Web.KeyFile == "") {
		bad("web.cert_file", c.Web.CertFile, "TLS needs cert_file and key_file")
	}
	checkListen(bad, "broker.listen", c.Broker.Listen)
	if c.Kernel.IntervalSeconds != 0 {
		checkInterval(bad, "kernel.interval_seconds", c.Kernel.IntervalSeconds)
	}
	c.brokerProblems(bad)
	c.webhookProblems(bad)
	c.busProblems(bad)
	c.deviceProblems(bad)
	c.contactProblems(bad)
	return out
}

func (c Config) brokerProblems(bad func(string, any, string)) {
	seen := map[string]bool{BuiltIn: true}
	for i, r := range c.Brokers {
		key := fmt.Sprintf("mqtt[%d].", i)
		if r.Name == "" || seen[r.Name] {
			bad(key+"name", r.Name, "each broker needs a name of its own, and not "+BuiltIn)
		}
		seen[r.Name] = true
		scheme, host, _ := strings.Cut(r.URL, "://")
		if !slices.Contains([]string{"mqtt", "mqtts"}, scheme) || host == "" {
			bad(key+"url", r.URL, "such as mqtt://192.168.1.5:1883 or mqtts://broker.example:8883")
		}
		if (r.CertFile == "") != (r.KeyFile == "") {
			bad(key+"cert_file", r.CertFile, "a client certificate needs cert_file and key_file")
		}
	}
}

func (c Config) busProblems(bad func(string, any, string)) {
	for i, b := range c.Buses {
		if b.Bus == "" {
			bad(fmt.Sprintf("i2c[%d].bus", i), b.Bus, `the number in /dev/i2c-N, such as "1"`)
		}
		for j, chip := range b.Chips {
			key := fmt.Sprintf("i2c[%d].chip[%d].", i, j)
			chipProblems(bad, key, chip)
			if chip.IntervalSeconds != 0 {
				checkInterval(bad, key+"interval_seconds", chip.IntervalSeconds)
			}
		}
	}
}

func chipProblems(bad func(string, any, string), key string, chip Chip) {
	known := i2c.Models()
	i := slices.IndexFunc(known, func(m i2c.Model) bool { return m.Name == chip.Model })
	if i < 0 {
		names := make([]string, len(known))
		for j, m := range known {
			names[j] = m.Name
		}
		bad(key+"model", chip.Model, "one of "+strings.Join(names, ", "))
		return
	}
	if at := known[i].Addresses; chip.Address != 0 && !slices.Contains(at, chip.Address) {
		places := make([]string, len(at))
		for j, a := range at {
			places[j] = fmt.Sprintf("0x%02x", a)
		}
		bad(key+"address", chip.Address, "this chip can be at "+strings.Join(places, ", "))
	}
}

func (c Config) deviceProblems(bad func(string, any, string)) {
	names := []string{}
	if c.Broker.Listen != "" {
		names = append(names, BuiltIn)
	}
	for _, r := range c.Brokers {
		names = append(names, r.Name)
	}
	seen := map[string]bool{}
	for i, d := range c.Devices {
		key := fmt.Sprintf("device[%d].", i)
		checkInterval(bad, key+"interval_seconds", d.IntervalSeconds)
		if seen[d.Probe] {
			bad(key+"probe", d.Probe, "two devices have this name")
		}
		seen[d.Probe] = true
		if !slices.Contains(names, d.On()) {
			bad(key+"broker", d.On(), "there is no such broker")
		}
		if err := d.In().Validate(); err != nil {
			bad(strings.TrimSuffix(key, "."), d.Probe, err.Error())
		}
	}
}

func checkInterval(bad func(string, any, string), key string, seconds float64) {
	if !(seconds >= 1 && seconds <= 24*3600) {
		bad(key, seconds, "between 1 second and a day")
	}
}

// checkListen looks at an address to listen on; none is as good.
func checkListen(bad func(string, any, string), key, addr string) {
	if addr == "" {
		return
	}
	_, port, err := net.SplitHostPort(addr)
	if _, nan := strconv.ParseUint(port, 10, 16); err != nil || nan != nil {
		bad(key, addr, "host and port, such as 127.0.0.1:8080")
	}
}
