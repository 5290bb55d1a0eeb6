package sysfs_test

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/sys/unix"

	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/sysfs"

	"github.com/google/go-cmp/cmp"
)

// trees holds captured and written trees; its README says which is which.
const trees = "../../testdata/sys"

// readAll renders what each sensor of a tree says, by id.
func readAll(t *testing.T, root string) map[string]string {
	t.Helper()
	said := map[string]string{}
	for _, f := range sysfs.Discover(root) {
		p := f.Sensor.Probe()
		r, err := f.Sensor.Read(t.Context())
		switch fault, ok := err.(*sensors.Fault); {
		case err == nil && r.Probe == p.ID && r.Has == p.Has && r.Time.IsZero():
			said[p.ID] = fmt.Sprintf("%s: %.4f", f.Bus, r.Celsius)
			if r.Has&incubation.RelativeHumidity != 0 {
				said[p.ID] += fmt.Sprintf(" %.4f %v", r.Humidity, r.Quality)
			}
		case ok && fault.Probe == p.ID && r == incubation.Reading{}:
			said[p.ID] = f.Bus + ": " + string(fault.Cause)
		default:
			said[p.ID] = fmt.Sprintf("neither reading nor fault: %+v, %v", r, err)
		}
	}
	return said
}

func TestDiscover(t *testing.T) {
	climate := map[string]string{
		"hwmon-sht3x-1-0044": "i2c-1: 28.5320 0.8125 good",
		// Behind a multiplexer, with the formula's −1.25 % cropped.
		"hwmon-sht4x-11-0044": "i2c-1: 30.0150 0.0000 good",
		"iio-bme280-1-0076":   "i2c-1: 27.9800 1.0000 saturated",
		// (raw + offset) × scale: 28.3455 and 81.25 %, computed apart.
		"iio-hdc1080-1-0040": "i2c-1: 28.3455 0.8125 good",
		"iio-dht11-dht11-4":  "iio-dht11-dht11-4: 26.0000 0.7100 good",
	}
	tests := []struct {
		tree, why string
		want      map[string]string
	}{
		{"w1-healthy", "thermometers of two masters, and not the switch beside them", map[string]string{
			"w1-28-0316a2797cff": "w1_bus_master1: 28.5000",
			"w1-28-0417c1d5aaff": "w1_bus_master1: -10.1250",
			"w1-10-000802f1a3b4": "w1_bus_master2: 28.2500",
		}},
		{"w1-damaged", "each damage has its name", map[string]string{
			"w1-28-0000000c0c00": "w1_bus_master1: checksum",
			"w1-28-0000000c0c01": "w1_bus_master1: checksum",
			"w1-28-0000008500ff": "w1_bus_master1: power-on",
			"w1-28-0000012794ff": "w1_bus_master1: out-of-range",
			"w1-28-000000000000": "w1_bus_master1: dead-bus",
			"w1-28-ffffffffffff": "w1_bus_master1: dead-bus",
			"w1-28-000000e3b0c4": "w1_bus_master1: absent",
			"w1-28-00000072a4c1": "w1_bus_master1: unparsable",
			"w1-28-0000007093ed": "w1_bus_master1: unparsable",
			"w1-28-000000c0147a": "w1_bus_master1: checksum",
			"w1-28-00000000014b": "w1_bus_master1: unparsable",
			"w1-28-000000d00d1e": "w1_bus_master1: out-of-range",
			"w1-28-0000009057ee": "w1_bus_master1: absent",
		}},
		{"pi-tmp105", "the chip at the temperature it was set to", map[string]string{
			"hwmon-tmp105-1-0048": "i2c-1: 31.5000",
		}},
		{"climate", "climate chips only, not the processor nor a converter", climate},
		{"climate-renumbered", "the same ids where the kernel numbers otherwise", climate},
		{"climate-damaged", "each damage has its name; what has no stable name is left out", map[string]string{
			"hwmon-sht3x-1-0044": "i2c-1: unparsable",
			"hwmon-sht3x-1-0045": "i2c-1: unparsable",
			"hwmon-lm75-1-0048":  "i2c-1: out-of-range",
			"hwmon-lm75-1-0049":  "i2c-1: unparsable",
			"iio-bme280-1-0076":  "i2c-1: out-of-range",
			"iio-hdc1080-1-0040": "i2c-1: unsupported",
			"iio-si7020-1-0042":  "i2c-1: unparsable",
			"iio-si7020-1-0043":  "i2c-1: out-of-range",
		}},
		{"no-such-tree", "a machine without any of it", map[string]string{}},
	}
	for _, test := range tests {
		if diff := cmp.Diff(test.want, readAll(t, filepath.Join(trees, test.tree))); diff != "" {
			t.Errorf("%s: %s (-want +got):\n%s", test.tree, test.why, diff)
		}
	}
}

func TestProbe(t *testing.T) {
	root := filepath.Join(trees, "w1-healthy")
	for _, f := range sysfs.Discover(root) {
		p := f.Sensor.Probe()
		if p.ID != "w1-28-0417c1d5aaff" {
			continue
		}
		if p.Model != "ds18b20" || p.Accuracy != 0.5 || p.Resolution != 0 || p.Interval <= 0 {
			t.Errorf("before its first reading: %+v", p)
		}
		if p.Source != filepath.Join(root, "bus/w1/devices/28-0417c1d5aaff/w1_slave") {
			t.Errorf("Source is %q", p.Source)
		}
		if _, err := f.Sensor.Read(t.Context()); err != nil {
			t.Fatal(err)
		}
		if got := f.Sensor.Probe().Resolution; got != 0.5 {
			t.Errorf("Resolution is %v, want the 0.5 K of the nine bits it is set to", got)
		}
		return
	}
	t.Fatal("the thermometer was not found")
}

// plant makes a w1 tree of one device and gives its sensor and folder.
func plant(t *testing.T) (sensors.Sensor, string) {
	t.Helper()
	root := t.TempDir()
	folder := filepath.Join(root, "bus/w1/devices/28-0316a2797cff")
	if err := os.MkdirAll(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	found := sysfs.Discover(root)
	if len(found) != 1 {
		t.Fatalf("Discover gave %d sensors, want one", len(found))
	}
	return found[0].Sensor, folder
}

func TestReadAnswersEAGAIN(t *testing.T) {
	s, folder := plant(t)
	pipe := filepath.Join(folder, "w1_slave")
	if err := unix.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	writer, err := os.OpenFile(pipe, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer writer.Close()
	if _, err := s.Read(t.Context()); err == nil || sensors.CauseOf(err) != sensors.NotReady {
		t.Errorf("a file that answers EAGAIN gave %v, want %s", err, sensors.NotReady)
	}
	if _, err := writer.WriteString(slave(0x01c8, 0x7f, 28500)); err != nil {
		t.Fatal(err)
	}
	if r, err := s.Read(t.Context()); err != nil || r.Celsius != 28.5 {
		t.Errorf("then gave %v, %v; want 28.5", r.Celsius, err)
	}
}

func TestReadSaysWhatTheKernelSaid(t *testing.T) {
	s, folder := plant(t)
	file := filepath.Join(folder, "w1_slave")
	if err := os.Mkdir(file, 0o755); err != nil { // reading it is EISDIR
		t.Fatal(err)
	}
	_, err := s.Read(t.Context())
	if err == nil || sensors.CauseOf(err) != sensors.IO || !strings.Contains(err.Error(), file) {
		t.Errorf("a read that the kernel refuses gave %v, want %s with the file", err, sensors.IO)
	}
	if err := os.RemoveAll(folder); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Read(t.Context()); err == nil || sensors.CauseOf(err) != sensors.Absent {
		t.Errorf("a thermometer that was unplugged gave %v, want %s", err, sensors.Absent)
	}
}

func TestDiscoverAgainIsTheSame(t *testing.T) {
	root := filepath.Join(trees, "climate")
	if first, second := readAll(t, root), readAll(t, root); !maps.Equal(first, second) {
		t.Errorf("two searches differ: %v, %v", first, second)
	}
}
