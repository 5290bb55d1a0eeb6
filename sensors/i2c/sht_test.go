package i2c_test

import (
	"testing"

	"clutchd/sensors/i2c"
)

const (
	sht3xReady = "30 93\n30 A2"
	sht4xReady = "94"
)

func TestCheckSum(t *testing.T) {
	for _, row := range []struct {
		about string
		data  string
		want  byte
	}{
		{"the makers' example: SHT3x-DIS data sheet, table 20", "\xbe\xef", 0x92},
		{"a frame of zeros does not pass (computed apart)", "\x00\x00", 0x81},
		{"a frame of ones does not pass (computed apart)", "\xff\xff", 0xac},
		{"the check value of this CRC, known as CRC-8/NRSC-5 (computed apart)", "123456789", 0xf7},
		{
			"an AHT20's frame, status included: the aht20 wiki of elixir-sensors",
			"\x1c\x26\x9a\x76\x42\xe7", 0x76,
		},
	} {
		if got := i2c.CRC8([]byte(row.data)); got != row.want {
			t.Errorf("%s: got 0x%02x, want 0x%02x", row.about, got, row.want)
		}
	}
}

func TestSHTFormulas(t *testing.T) {
	for _, row := range []struct {
		about, model, frame, want string
	}{
		// Temperature: −45 + 175·raw/65535, both data sheets; results computed apart.
		{
			"scale's lower end is below what the chip measures",
			"sht31", "00 00 81 66 66 93", "out-of-range",
		},
		{"0x6666 is 25 °C and 40 %", "sht31", "66 66 93 66 66 93", "25.0000 0.4000"},
		{
			"the middle is divided by 65535, not 65536",
			"sht31", "80 00 A2 80 00 A2", "42.5013 0.5000",
		},
		{
			"scale's upper end is above what the chip measures",
			"sht31", "FF FF AC 66 66 93", "out-of-range",
		},
		{"SHT3x humidity ends at 0 %", "sht31", "66 66 93 00 00 81", "25.0000 0.0000"},
		{"SHT3x humidity ends at 100 %", "sht31", "66 66 93 FF FF AC", "25.0000 1.0000 saturated"},
		// Humidity: −6 + 125·raw/65535, cut to 0 and 100: SHT4x data sheet.
		{"0x6666 is 25 °C and 44 %", "sht40", "66 66 93 66 66 93", "25.0000 0.4400"},
		{"the middle is 56.5 %", "sht40", "66 66 93 80 00 A2", "25.0000 0.5650"},
		{"−6 % is cut to 0", "sht40", "66 66 93 00 00 81", "25.0000 0.0000"},
		{"119 % is cut to 100", "sht40", "66 66 93 FF FF AC", "25.0000 1.0000 saturated"},
	} {
		t.Run(row.about, func(t *testing.T) {
			script := lines(sht3xReady, "24 00", "> "+row.frame)
			if row.model == "sht40" {
				script = lines(sht4xReady, "FD", "> "+row.frame)
			}
			play(t, row.model, 0x44, script, row.want)
		})
	}
}

func TestSHTFaults(t *testing.T) {
	const good = "> 6F E8 35 80 00 A2" // 31.4996 °C
	for _, row := range []struct {
		about, script string
		want          []string
	}{
		{
			"nobody acknowledges the address",
			lines("30 93 ! absent", "30 A2 ! absent"),
			[]string{"absent"},
		},
		{
			"an adapter that says ENXIO means the same",
			lines("30 93 ! gone", "30 A2 ! gone"),
			[]string{"absent"},
		},
		{
			"a break that an idle chip refuses is no fault",
			lines("30 93 ! absent", "30 A2", "24 00", good),
			[]string{"31.4996 0.5000"},
		},
		{
			"a damaged temperature",
			lines(sht3xReady, "24 00", "> 6F E9 35 80 00 A2"),
			[]string{"checksum"},
		},
		{
			"a damaged humidity costs the temperature too",
			lines(sht3xReady, "24 00", "> 6F E8 35 80 00 A3"),
			[]string{"checksum"},
		},
		{
			"a line held low",
			lines(sht3xReady, "24 00", "> 00 00 00 00 00 00"),
			[]string{"dead-bus"},
		},
		{
			"a line nobody drives",
			lines(sht3xReady, "24 00", "> FF FF FF FF FF FF"),
			[]string{"dead-bus"},
		},
		{
			"a chip that is slow once",
			lines(sht3xReady, "24 00", "> ! absent", good),
			[]string{"31.4996 0.5000"},
		},
		{
			"a chip that took the command and never has a result",
			lines(sht3xReady, "24 00", "> ! absent", "> ! absent"),
			[]string{"not-ready"},
		},
		{"clock held for too long", lines(sht3xReady, "24 00 ! timeout"), []string{"timeout"}},
		{"arbitration lost", lines(sht3xReady, "24 00", "> ! io"), []string{"io"}},
		{
			"a good reading after a bad one needs nothing new",
			lines(sht3xReady, "24 00 ! absent", "24 00", good),
			[]string{"absent", "31.4996 0.5000"},
		},
		{
			"three faults in a row and the chip is made ready anew",
			lines(sht3xReady, "24 00 ! absent", "24 00 ! absent", "24 00 ! absent", sht3xReady, "24 00", good),
			[]string{"absent", "absent", "absent", "31.4996 0.5000"},
		},
		{
			"two faults, a reading and two faults are not three in a row",
			lines(sht3xReady, "24 00 ! io", "24 00 ! io", "24 00", good, "24 00 ! io", "24 00 ! io", "24 00", good),
			[]string{"io", "io", "31.4996 0.5000", "io", "io", "31.4996 0.5000"},
		},
	} {
		t.Run(row.about, func(t *testing.T) { play(t, "sht31", 0x44, row.script, row.want...) })
	}
}
