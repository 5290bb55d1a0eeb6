package config

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/sensors/contact"
)

// Contact is a yes/no input: a GPIO line, or a power supply of the kernel's.
type Contact struct {
	Name        string `toml:"name"`
	Kind        string `toml:"kind"`         // mains, door or leak
	GPIO        string `toml:"gpio"`         // a line's name: "GPIO17"
	PowerSupply string `toml:"power_supply"` // a name below /sys/class/power_supply
	// Active is the level at which it is on (mains there, door open, wet): "low"
	// or "high"; "": low.
	Active     string  `toml:"active"`
	Pull       string  `toml:"pull"`        // the line's resistor: up, down or none; "": up
	DebounceMS float64 `toml:"debounce_ms"` // 0: 50, of a leak 3000
}

// Spec is the contact as its reader knows it. root is where sysfs is mounted.
func (c Contact) Spec(root string) contact.Spec {
	return contact.Spec{
		ID: c.Name, Kind: incubation.ContactKind(c.Kind), Line: c.GPIO, ActiveHigh: c.Active == "high",
		Pull: contact.Pull(c.Pull), Supply: c.PowerSupply, Root: root,
		Debounce: time.Duration(c.DebounceMS * float64(time.Millisecond)),
	}
}

func (c Config) contactProblems(bad func(string, any, string)) {
	names, inputs := map[string]bool{}, map[string]bool{}
	for i, in := range c.Contacts {
		key := fmt.Sprintf("contact[%d].", i)
		if !plainID(in.Name) || names[in.Name] {
			bad(key+"name", in.Name, "each contact needs a name of its own: lower-case letters, digits and dashes")
		}
		names[in.Name] = true
		if !slices.Contains(incubation.ContactKinds(), incubation.ContactKind(in.Kind)) {
			bad(key+"kind", in.Kind, `"mains", "door" or "leak"`)
		}
		if (in.GPIO == "") == (in.PowerSupply == "") {
			bad(key+"gpio", in.GPIO, "a contact has a gpio line or a power_supply, one of the two")
		}
		if where := cmp.Or(in.GPIO, in.PowerSupply); where != "" && inputs[where] {
			bad(key+"gpio", where, "two contacts are read there")
		} else {
			inputs[where] = true
		}
		in.lineProblems(bad, key)
	}
}

func (c Contact) lineProblems(bad func(string, any, string), key string) {
	if c.Active != "" && c.Active != "low" && c.Active != "high" {
		bad(key+"active", c.Active, `"low" or "high": the level at which the contact is on`)
	}
	if !slices.Contains([]contact.Pull{"", contact.PullUp, contact.PullDown, contact.PullNone}, contact.Pull(c.Pull)) {
		bad(key+"pull", c.Pull, `"up", "down" or "none"`)
	}
	if !(c.DebounceMS >= 0 && c.DebounceMS <= 60_000) {
		bad(key+"debounce_ms", c.DebounceMS, "at most a minute, 60000")
	}
	if c.PowerSupply == "" {
		return
	}
	if c.Kind != string(incubation.Mains) {
		bad(key+"kind", c.Kind, `a power supply tells of the "mains"`)
	}
	if strings.ContainsAny(c.PowerSupply, "/\x00") || strings.HasPrefix(c.PowerSupply, ".") {
		bad(key+"power_supply", c.PowerSupply, "a name that `ls /sys/class/power_supply` shows")
	}
	if c.Active != "" || c.Pull != "" {
		bad(key+"active", c.Active, "active and pull are a gpio line's")
	}
}

// plainID reports whether an id is fit for topics and the book.
func plainID(id string) bool {
	return id != "" && len(id) <= 40 && strings.Trim(id, "abcdefghijklmnopqrstuvwxyz0123456789-") == ""
}
