package contact

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"clutchd/sensors"
	"clutchd/sensors/sysfs"
)

// A supply is a power supply as the kernel tells of it. That of a charger says
// whether it is online, that of a battery whether it is being drained.
type supply struct{ root, name string }

func (s supply) folder() string { return filepath.Join(cmp.Or(s.root, "/sys"), "class/power_supply") }

// read gives whether the mains are there.
func (s supply) read() (on bool, detail string, err error) {
	kind, err := s.word(s.name, "type")
	if err != nil {
		return false, "", err
	}
	switch {
	case kind == "Mains" || kind == "UPS" || strings.HasPrefix(kind, "USB"):
		on, err = s.online()
	case kind == "Battery":
		on, err = s.fed()
	default:
		err = fault(sensors.Unsupported, "%s is a supply of type %.40q, not Mains, USB, UPS or Battery", s.name, kind)
	}
	if err != nil {
		return false, "", err
	}
	return on, s.battery(), nil
}

func (s supply) online() (bool, error) {
	word, err := s.word(s.name, "online")
	if err != nil {
		return false, err
	}
	switch word {
	case "0":
		return false, nil
	case "1", "2": // 2: online at a voltage that can be set
		return true, nil
	}
	return false, fault(sensors.Unparsable, "%s/online says %.40q, not 0 or 1", s.name, word)
}

// fed reports whether a battery is not being drained.
func (s supply) fed() (bool, error) {
	word, err := s.word(s.name, "status")
	if err != nil {
		return false, err
	}
	switch word {
	case "Discharging":
		return false, nil
	case "Charging", "Full", "Not charging":
		return true, nil
	case "Unknown":
		return false, fault(sensors.NotReady, "%s does not know whether it is being drained", s.name)
	}
	return false, fault(sensors.Unparsable, "%s/status says %.40q, no state of a battery", s.name, word)
}

// battery says how full the machine's battery is; "" where none tells. It is
// no reason for a fault. A mouse's or keyboard's is none of the machine's.
func (s supply) battery() string {
	entries, _ := os.ReadDir(s.folder())
	for _, e := range entries {
		kind, err := s.word(e.Name(), "type")
		scope, _ := s.word(e.Name(), "scope")
		if err != nil || kind != "Battery" && kind != "UPS" || scope == "Device" {
			continue
		}
		text, err := s.word(e.Name(), "capacity")
		percent, bad := sysfs.ParseNumber(text)
		if err != nil || bad != nil || percent < 0 || percent > 100 {
			continue
		}
		said := fmt.Sprintf("battery %.0f %%", percent)
		switch status, _ := s.word(e.Name(), "status"); status {
		case "Charging", "Discharging", "Full", "Not charging":
			said += ", " + strings.ToLower(status)
		}
		return said
	}
	return ""
}

// word gives the one line that a file of a supply holds.
func (s supply) word(supply, file string) (string, error) {
	path := filepath.Join(s.folder(), supply, file)
	text, err := sysfs.Text(path)
	if err != nil {
		return "", err
	}
	word := strings.TrimSpace(text)
	if word == "" {
		return "", fault(sensors.Unparsable, "%s is empty", path)
	}
	return word, nil
}
