package i2c_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/i2c"
)

func TestOpen(t *testing.T) {
	bus := newScript(t, 0x44, "") // Open sends nothing
	s, err := i2c.Open(bus, "sht31", 0x45)
	check(t, err)
	want := sensors.Probe{
		ID: "i2c-1-45-sht31", Model: "sht31", Source: "i2c-1 0x45",
		Has:      incubation.Temperature | incubation.RelativeHumidity,
		Interval: 10 * time.Second, Accuracy: 0.2, Resolution: 175.0 / 65535,
	}
	if diff := cmp.Diff(want, s.Probe()); diff != "" {
		t.Errorf("probe (−want +got):\n%s", diff)
	}
	usual, err := i2c.Open(bus, "bme280", 0)
	check(t, err)
	if got := usual.Probe().ID; got != "i2c-1-76-bme280" {
		t.Errorf("without an address the probe is %q", got)
	}
	for _, row := range []struct {
		about, model string
		addr         uint16
		says         string
	}{
		{"a model that there is not", "sht99", 0x44, "no such model, there are sht3x, sht30, "},
		{"an address that the model cannot have", "aht20", 0x39, "can only be at 0x38"},
		{"an address beyond seven bits", "bme280", 0x1076, "can only be at 0x76, 0x77"},
	} {
		if s, err := i2c.Open(bus, row.model, row.addr); s != nil || err == nil || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: Open gives %v, %v; want an error with %q", row.about, s, err, row.says)
		}
	}
}

func TestID(t *testing.T) {
	for _, row := range []struct{ bus, model, want string }{
		{"i2c-1", "sht31", "i2c-1-44-sht31"},
		{
			"/dev/I2C 1",
			"TMP102", "-dev-i2c-1-44-tmp102",
		}, // lower case letters, digits and dashes only
	} {
		if got := i2c.ID(row.bus, row.model, 0x44); got != row.want {
			t.Errorf("ID of %s on %s is %q, want %q", row.model, row.bus, got, row.want)
		}
	}
}

func TestModels(t *testing.T) {
	seen := map[string]bool{}
	for _, m := range i2c.Models() {
		if seen[m.Name] {
			t.Errorf("%s is listed twice", m.Name)
		}
		seen[m.Name] = true
		if len(m.Addresses) == 0 || m.Has&incubation.Temperature == 0 || m.Interval <= 0 {
			t.Errorf("%s lacks an address, temperature or interval: %+v", m.Name, m)
		}
		if m.Accuracy <= 0 || m.Resolution <= 0 || m.Resolution > m.Accuracy || m.Low >= 0 || m.High < 85 {
			t.Errorf("%s has an odd accuracy, resolution or range: %+v", m.Name, m)
		}
		for _, addr := range m.Addresses {
			if addr < 0x08 || addr > 0x77 { // the rest is reserved: NXP UM10204, table 4
				t.Errorf("%s is at the reserved address 0x%02x", m.Name, addr)
			}
		}
	}
	for _, name := range []string{"bme280", "bmp280", "aht20", "hdc302x", "mcp9808", "tmp102", "tmp105", "lm75", "sht31", "sht45"} {
		if !seen[name] {
			t.Errorf("%s is not listed", name)
		}
	}
}

func TestModelsCannotBeChangedByACaller(t *testing.T) {
	i2c.Models()[0].Addresses[0] = 0x7f
	if got := i2c.Models()[0].Addresses[0]; got == 0x7f {
		t.Error("a caller changed the list of models")
	}
}

func TestReadEndsWithItsContext(t *testing.T) {
	for _, row := range []struct {
		about, model, script string
		addr                 uint16
	}{
		{"while our own driver waits for the chip", "sht31", "30 93\n30 A2\n24 00", 0x44},
		{
			"at the next transfer of a driver that cannot be cancelled",
			"hdc302x", "30 93\n30 A2\n20 32", 0x44,
		},
		{
			"in a driver's endless poll",
			"bmp280", lines(bmpReady, bmpSetUp, "F4 41", "* F3 > 08"), 0x76,
		},
		{"in a transfer that is slow and then ends", "lm75", "@20s 01 > 00", 0x48},
	} {
		t.Run(row.about, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				bus := newScript(t, row.addr, row.script)
				s, err := i2c.Open(bus, row.model, row.addr)
				check(t, err)
				ctx, cancel := context.WithTimeout(t.Context(), 15*time.Millisecond)
				defer cancel()
				_, err = s.Read(ctx)
				if sensors.CauseOf(err) != sensors.Timeout || !errors.Is(err, context.DeadlineExceeded) {
					t.Errorf("Read says %v, want a timeout that wraps the context's", err)
				}
				bus.used()
			})
		})
	}
}

func TestFaultSaysWhatHappened(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		bus := newScript(t, 0x44, lines(sht3xReady, "24 00", "> 6F E9 35 80 00 A2"))
		s, err := i2c.Open(bus, "sht31", 0)
		check(t, err)
		_, err = s.Read(t.Context())
		const want = "read probe i2c-1-44-sht31: checksum: measurement reads 6f e9 35 80 00 a2"
		if err == nil || err.Error() != want {
			t.Errorf("fault is %v, want %q", err, want)
		}
	})
}
