package proof_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"clutchd/sensors/sysfs"
)

// A thermometer is a DS18B20 as the kernel's w1_therm shows it: a file of two
// lines of hexadecimal and a verdict.
type thermometer struct {
	t      *testing.T
	root   string
	master string
	serial string
	pad    []byte // what its scratchpad holds
	// damage makes of the file's text what is found in it instead; nil: nothing.
	damage func(text string) string
	// holds keeps the scratchpad as it is: no conversion takes place.
	holds bool
	said  string // in the file now
}

// newThermometer puts one on a master of the tree.
func newThermometer(t *testing.T, root, master, serial string) *thermometer {
	d := &thermometer{t: t, root: root, master: master, serial: serial}
	d.plug()
	return d
}

func (d *thermometer) folder() string { return filepath.Join(d.root, "devices", d.master, d.serial) }
func (d *thermometer) link() string   { return filepath.Join(d.root, "bus/w1/devices", d.serial) }

// probe is the id that the daemon gives it.
func (d *thermometer) probe() string { return "w1-" + d.serial }

// plug has the kernel find it.
func (d *thermometer) plug() {
	must(d.t, os.MkdirAll(d.folder(), 0o755))
	must(d.t, os.MkdirAll(filepath.Dir(d.link()), 0o755))
	must(d.t, os.Symlink(filepath.Join("../../../devices", d.master, d.serial), d.link()))
	d.said = ""
}

// pull has the kernel lose it.
func (d *thermometer) pull() {
	must(d.t, os.Remove(d.link()))
	must(d.t, os.RemoveAll(d.folder()))
}

// show has it convert: 12 bits, a sixteenth of a kelvin.
func (d *thermometer) show(celsius, _ float64) {
	if !d.holds || d.pad == nil {
		raw := uint16(int16(math.Round(celsius * 16)))
		d.pad = []byte{byte(raw), byte(raw >> 8), 0x4b, 0x46, 0x7f, 0xff, 0x0c, 0x10}
	}
	d.write(w1Slave(d.pad))
}

func (d *thermometer) write(text string) {
	if d.damage != nil {
		text = d.damage(text)
	}
	if text == d.said {
		return
	}
	if _, err := os.Stat(d.folder()); err != nil {
		return // it is unplugged
	}
	must(d.t, os.WriteFile(filepath.Join(d.folder(), "w1_slave"), []byte(text), 0o644))
	d.said = text
}

// w1Slave is the kernel's text for the eight bytes of a scratchpad.
func w1Slave(pad []byte) string {
	whole := append(append([]byte{}, pad...), sysfs.CRC8(pad))
	hex := fmt.Sprintf("% x", whole)
	milli := int(int16(uint16(pad[1])<<8|uint16(pad[0]))) * 1000 / 16
	return fmt.Sprintf("%s : crc=%02x YES\n%s t=%d\n", hex, whole[8], hex, milli)
}

// saying gives a damage that says the same whatever is measured.
func saying(text string) func(string) string { return func(string) string { return text } }

// badCRC is what the kernel says of bytes that arrived damaged.
func badCRC(text string) string { return strings.Replace(text, " YES", " NO", 1) }

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
