// Package config reads the file that describes the machine: buses, brokers,
// the address of the pages, the state folder.
//
// It does not describe the room: places, limits, plans and animals are in the
// book. Nothing is reloaded while running. Keys carry their units; secrets
// are named by file, never written here.
package config

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"
	_ "time/tzdata" // a small machine may have no zones of its own

	"github.com/BurntSushi/toml"

	"clutchd/incubation"
	"clutchd/sensors/contact"
	"clutchd/sensors/mqttin"
)

// A Config is a machine's description. Default gives one that works.
type Config struct {
	Site     string `toml:"site"`         // a topic level: clutchd/<site>/…
	StateDir string `toml:"state_folder"` // "": the user's state folder
	Zone     string `toml:"zone"`         // IANA name; "": the system's
	Unit     string `toml:"unit"`         // "C" or "F": pages and texts
	// Clock says when the system's clock is believed: "checked", once
	// something has set it; "system", always.
	Clock    string    `toml:"clock"`
	Web      Web       `toml:"web"`
	Broker   Broker    `toml:"broker"`
	Brokers  []Remote  `toml:"mqtt"`
	Webhooks []Webhook `toml:"webhook"`
	Kernel   Kernel    `toml:"kernel"`
	Buses    []Bus     `toml:"i2c"`
	Devices  []Device  `toml:"device"`
	Contacts []Contact `toml:"contact"`
}

// Web says where the pages are served.
type Web struct {
	Listen string   `toml:"listen"` // "": no pages
	Hosts  []string `toml:"hosts"`  // further names they may be opened under
	// CertFile and KeyFile are what TLS is spoken with; "": plain HTTP.
	CertFile string `toml:"cert_file"`
	KeyFile  string `toml:"key_file"`
}

// Broker is the built-in broker, on this machine only.
type Broker struct {
	Listen string `toml:"listen"` // "": none
}

// Remote is a broker that is told: in the house or elsewhere.
type Remote struct {
	Name         string `toml:"name"`
	URL          string `toml:"url"` // mqtt://host:1883, mqtts://host:8883
	User         string `toml:"user"`
	PasswordFile string `toml:"password_file"`
	CAFile       string `toml:"ca_file"`
	CertFile     string `toml:"cert_file"`
	KeyFile      string `toml:"key_file"`
}

// Webhook is an address that notices are posted to.
type Webhook struct {
	Name            string            `toml:"name"`
	URL             string            `toml:"url"`
	Format          string            `toml:"format"` // "json" or "text"; "": json
	Headers         map[string]string `toml:"headers"`
	CriticalHeaders map[string]string `toml:"critical_headers"`
	HeaderFiles     map[string]string `toml:"header_files"`
	TokenFile       string            `toml:"token_file"`
	SecretFile      string            `toml:"secret_file"`
	CAFile          string            `toml:"ca_file"`
	CertFile        string            `toml:"cert_file"`
	KeyFile         string            `toml:"key_file"`
}

// Kernel says whether probes are looked for in the kernel's files.
type Kernel struct {
	Off             bool    `toml:"off"`
	Root            string  `toml:"root"`             // "": /sys
	IntervalSeconds float64 `toml:"interval_seconds"` // 0: 10
}

// Bus is an I2C bus that is read directly.
type Bus struct {
	Bus   string `toml:"bus"` // "1" for /dev/i2c-1
	Chips []Chip `toml:"chip"`
}

// Chip is a sensor on a bus.
type Chip struct {
	Model           string  `toml:"model"`
	Address         uint16  `toml:"address"` // 0: the model's own
	IntervalSeconds float64 `toml:"interval_seconds"`
}

// Device is a thermometer that publishes over MQTT.
type Device struct {
	Probe           string  `toml:"probe"`
	Broker          string  `toml:"broker"` // name of an [[mqtt]], "": the built-in one
	Topic           string  `toml:"topic"`
	Pointer         string  `toml:"pointer"`
	Unit            string  `toml:"unit"`
	HumidityPointer string  `toml:"humidity_pointer"`
	HumidityUnit    string  `toml:"humidity_unit"`
	HumidityOnly    bool    `toml:"humidity_only"`
	TimePointer     string  `toml:"time_pointer"`
	IntervalSeconds float64 `toml:"interval_seconds"`
	AccuracyKelvin  float64 `toml:"accuracy_kelvin"`
}

// Default is what runs without a file: pages and broker on this machine only,
// probes found in the kernel's files.
func Default() Config {
	return Config{
		Site: "home", Unit: "C", Clock: ClockChecked,
		Web:    Web{Listen: "127.0.0.1:8080"},
		Broker: Broker{Listen: "127.0.0.1:1883"},
	}
}

// Load reads a file over the defaults; an empty path gives the defaults. The
// error holds every problem, one a line.
func Load(path string) (Config, error) {
	if path == "" {
		return Default(), nil
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return Config{}, fmt.Errorf("read the config: %w", err)
	}
	c, err := Parse(text)
	if err != nil {
		return Config{}, fmt.Errorf("config %s:\n%w", path, err)
	}
	return c, nil
}

// Parse reads a config over the defaults. The error holds every problem.
func Parse(text []byte) (Config, error) {
	c := Default()
	meta, err := toml.NewDecoder(bytes.NewReader(text)).Decode(&c)
	if err != nil {
		if p, ok := errors.AsType[toml.ParseError](err); ok {
			return Config{}, fmt.Errorf("line %d: %s", p.Position.Line, p.Message)
		}
		return Config{}, err
	}
	var problems []error
	for _, key := range meta.Undecoded() {
		problems = append(problems, fmt.Errorf("%s: no such key", key))
	}
	problems = append(problems, c.problems()...)
	if err := errors.Join(problems...); err != nil {
		return Config{}, err
	}
	return c, nil
}

// The values of clock.
const (
	ClockChecked = "checked"
	ClockSystem  = "system"
)

// BuiltIn is the name of the built-in broker.
const BuiltIn = "built-in"

// On is the name of the broker the device speaks on.
func (d Device) On() string {
	if d.Broker == "" {
		return BuiltIn
	}
	return d.Broker
}

// ContactSpecs are the contacts as their reader knows them.
func (c Config) ContactSpecs() []contact.Spec {
	var out []contact.Spec
	for _, in := range c.Contacts {
		out = append(out, in.Spec(c.Kernel.Root))
	}
	return out
}

// In is the device as its decoder knows it.
func (d Device) In() mqttin.Device {
	in := mqttin.Device{
		ProbeID: d.Probe, Topic: d.Topic,
		Pointer: d.Pointer, Unit: mqttin.TemperatureUnit(d.Unit),
		HumidityPointer: d.HumidityPointer, HumidityUnit: mqttin.HumidityUnit(d.HumidityUnit),
		TimePointer: d.TimePointer, Interval: Seconds(d.IntervalSeconds), Accuracy: d.AccuracyKelvin,
	}
	if d.HumidityOnly {
		in.Has = incubation.RelativeHumidity
	}
	return in
}

// Location is the room's zone: under an IANA name, since an entry made in it
// carries that name to other machines.
func (c Config) Location() (*time.Location, error) {
	if c.Zone != "" {
		return time.LoadLocation(c.Zone)
	}
	link, _ := os.Readlink("/etc/localtime") // not a link: no name to be had
	return systemZone(os.Getenv("TZ"), link), nil
}

// systemZone is the zone that the system names, UTC if it names none.
func systemZone(env, link string) *time.Location {
	name := strings.TrimPrefix(env, ":")
	if name == "" {
		_, name, _ = strings.Cut(link, "zoneinfo/")
	}
	if zone, err := time.LoadLocation(name); err == nil && name != "Local" {
		return zone
	}
	return time.UTC
}

// Folder is where the state lives.
func (c Config) Folder() (string, error) {
	if c.StateDir != "" {
		return c.StateDir, nil
	}
	if dir := os.Getenv("STATE_DIRECTORY"); dir != "" { // systemd gives it
		return dir, nil
	}
	if dir := os.Getenv("XDG_STATE_HOME"); dir != "" {
		return filepath.Join(dir, "clutchd"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", fmt.Errorf("find the state folder: %w", err)
	}
	return filepath.Join(home, ".local", "state", "clutchd"), nil
}

// Seconds is a number of seconds as a duration.
func Seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
