package proof_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
)

// A climate is an SHT4x that a kernel driver reads, under class/hwmon: two
// files of thousandths.
type climate struct {
	t      *testing.T
	root   string
	number int    // of its hwmon folder, which a reboot may change
	at     string // adapter and address: "1-0046"
	said   string
	damage func(name, text string) string // nil: none
}

func newClimate(t *testing.T, root, at string, number int) *climate {
	c := &climate{t: t, root: root, at: at, number: number}
	c.plug()
	return c
}

func (c *climate) device() string { return filepath.Join(c.root, "devices/soc/i2c-1", c.at) }

func (c *climate) folder() string {
	return filepath.Join(c.device(), "hwmon", fmt.Sprintf("hwmon%d", c.number))
}

func (c *climate) link() string {
	return filepath.Join(c.root, "class/hwmon", fmt.Sprintf("hwmon%d", c.number))
}

func (c *climate) probe() string { return "hwmon-sht4x-" + c.at }

func (c *climate) plug() {
	must(c.t, os.MkdirAll(c.folder(), 0o755))
	must(c.t, os.MkdirAll(filepath.Dir(c.link()), 0o755))
	must(c.t, os.Symlink(c.folder(), c.link()))
	must(c.t, os.Symlink(c.device(), filepath.Join(c.folder(), "device")))
	must(c.t, os.WriteFile(filepath.Join(c.folder(), "name"), []byte("sht4x\n"), 0o644))
	c.said = ""
	c.show(21, 0.5)
}

func (c *climate) pull() {
	must(c.t, os.Remove(c.link()))
	must(c.t, os.RemoveAll(c.folder()))
}

// renumber has the driver come back under another number.
func (c *climate) renumber(number int) {
	c.pull()
	c.number = number
	c.plug()
}

func (c *climate) show(celsius, ratio float64) {
	text := fmt.Sprintf("%.0f\n%.0f\n", math.Round(celsius*1000), math.Round(ratio*100_000))
	if text == c.said {
		return
	}
	if _, err := os.Stat(c.folder()); err != nil {
		return
	}
	c.file("temp1_input", fmt.Sprintf("%.0f\n", math.Round(celsius*1000)))
	c.file("humidity1_input", fmt.Sprintf("%.0f\n", math.Round(ratio*100_000)))
	c.said = text
}

func (c *climate) file(name, text string) {
	if c.damage != nil {
		text = c.damage(name, text)
	}
	must(c.t, os.WriteFile(filepath.Join(c.folder(), name), []byte(text), 0o644))
}
