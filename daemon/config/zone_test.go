package config

import "testing"

func TestSystemZone(t *testing.T) {
	for _, test := range []struct{ about, env, link, want string }{
		{"the environment comes first", "Europe/Lisbon", "/usr/share/zoneinfo/Asia/Tokyo", "Europe/Lisbon"},
		{"with the colon that POSIX allows", ":Europe/Lisbon", "", "Europe/Lisbon"},
		{"then what /etc/localtime points to", "", "/usr/share/zoneinfo/Asia/Tokyo", "Asia/Tokyo"},
		{"a relative link too", "", "../usr/share/zoneinfo/America/Argentina/Salta", "America/Argentina/Salta"},
		{"a name that no other machine would know is not taken", "Local", "", "UTC"},
		{"neither is a POSIX rule", "CET-1CEST", "", "UTC"},
		{"nothing at all", "", "", "UTC"},
	} {
		if got := systemZone(test.env, test.link).String(); got != test.want {
			t.Errorf("%s: %s, want %s", test.about, got, test.want)
		}
	}
}
