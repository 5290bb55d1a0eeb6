package sysfs_test

import (
	"fmt"
	"strings"
	"testing"

	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/sysfs"

	"github.com/google/go-cmp/cmp"
)

func TestCRC8(t *testing.T) {
	tests := []struct {
		why  string
		data []byte
		want byte
	}{
		{"Maxim application note 27, worked example", []byte("\x02\x1c\xb8\x01\x00\x00\x00"), 0xa2},
		{
			"residue: data and its CRC leave zero (computed)",
			[]byte("\x02\x1c\xb8\x01\x00\x00\x00\xa2"), 0,
		},
		{"check value of CRC-8/MAXIM (from memory, computed)", []byte("123456789"), 0xa1},
		{
			"power-on scratchpad (bytes from memory, computed)",
			[]byte("\x50\x05\x4b\x46\x7f\xff\x0c\x10"), 0x1c,
		},
	}
	for _, test := range tests {
		if got := sysfs.CRC8(test.data); got != test.want {
			t.Errorf("%s: CRC8(% x) = %02x, want %02x", test.why, test.data, got, test.want)
		}
	}
}

// slave writes w1_slave as the kernel would for a register and its milli-°C.
func slave(register uint16, config byte, milli int) string {
	w := sysfs.W1{Milli: milli}
	copy(w.Bytes[:], []byte{byte(register), byte(register >> 8), 0x4b, 0x46, config, 0xff, 0x0c, 0x10})
	w.Bytes[8] = sysfs.CRC8(w.Bytes[:8])
	return w.String()
}

// The DS18B20 data sheet's table of temperature and register.
func TestParseW1DataSheet(t *testing.T) {
	tests := []struct {
		register uint16
		milli    int // as the kernel cuts it off
		want     incubation.Celsius
		cause    sensors.Cause
	}{
		{0x07d0, 125000, 125, ""},
		{0x0550, 85000, 0, sensors.PowerOn}, // 85 °C is also the power-on value
		{0x0191, 25062, 25.0625, ""},
		{0x00a2, 10125, 10.125, ""},
		{0x0008, 500, 0.5, ""},
		{0x0000, 0, 0, ""},
		{0xfff8, -500, -0.5, ""},
		{0xff5e, -10125, -10.125, ""},
		{0xfe6f, -25062, -25.0625, ""},
		{0xfc90, -55000, -55, ""},
	}
	for _, test := range tests {
		text := slave(test.register, 0x7f, test.milli)
		got, err := sysfs.ParseW1(0x28, text)
		if test.cause != "" {
			if err == nil || sensors.CauseOf(err) != test.cause || got != (sysfs.W1{}) {
				t.Errorf("%04x gave %v, %v; want %s", test.register, got, err, test.cause)
			}
			continue
		}
		if err != nil || got.Celsius(0x28) != test.want {
			t.Errorf("%04x gave %v °C, %v; want %v", test.register, got.Celsius(0x28), err, test.want)
		}
		if diff := cmp.Diff(text, got.String()); diff != "" {
			t.Errorf("%04x prints otherwise (-want +got):\n%s", test.register, diff)
		}
	}
}

func TestParseW1Refuses(t *testing.T) {
	good := slave(0x01c8, 0x7f, 28500)
	zeros := strings.TrimSuffix(strings.Repeat("00 ", 9), " ")
	ones := strings.ReplaceAll(zeros, "0", "f")
	tests := []struct {
		why, text string
		want      sensors.Cause
	}{
		{"nothing at all: nobody answered", "", sensors.Absent},
		{"some text", "no such luck\n", sensors.Unparsable},
		{"cut off in the first line", good[:30], sensors.Unparsable},
		{"cut off before t=", good[:len(good)-9], sensors.Unparsable},
		{"a byte too few", strings.ReplaceAll(good, " 4b", ""), sensors.Unparsable},
		{"no verdict", strings.Replace(good, "YES", "MAYBE", 1), sensors.Unparsable},
		{
			"a fraction where whole milli-°C belong",
			strings.Replace(good, "28500", "28.5", 1), sensors.Unparsable,
		},
		{"the kernel saw a wrong CRC", strings.Replace(good, "YES", "NO", 1), sensors.Checksum},
		{
			"a bit fell over and the verdict still says YES",
			strings.ReplaceAll(good, "c8 01", "c8 03"), sensors.Checksum,
		},
		{
			"the two lines differ",
			strings.Replace(good, "c8 01", "c9 01", 2)[:40] + good[40:], sensors.Checksum,
		},
		{"t= is not what the bytes say", strings.Replace(good, "28500", "31500", 1), sensors.Checksum},
		{
			"the line is held down: right CRC, 0 °C",
			zeros + " : crc=00 YES\n" + zeros + " t=0\n", sensors.DeadBus,
		},
		{"the line floats", ones + " : crc=c9 NO\n" + ones + " t=-62\n", sensors.DeadBus},
		{"the power-on value", slave(0x0550, 0x7f, 85000), sensors.PowerOn},
		{"too little power to convert", slave(0x07ff, 0x7f, 127937), sensors.OutOfRange},
		{"beyond what the chip can measure", slave(0x07d1, 0x7f, 125062), sensors.OutOfRange},
	}
	for _, test := range tests {
		got, err := sysfs.ParseW1(0x28, test.text)
		if err == nil || sensors.CauseOf(err) != test.want || got != (sysfs.W1{}) {
			t.Errorf("%s: gave %v, %v; want %s and nothing", test.why, got, err, test.want)
		}
	}
}

func TestScratchpadResolution(t *testing.T) {
	for config, want := range map[byte]float64{0x1f: 0.5, 0x3f: 0.25, 0x5f: 0.125, 0x7f: 0.0625} {
		w, err := sysfs.ParseW1(0x28, slave(0x01c8, config, 28500))
		if err != nil || w.Bytes.Resolution(0x28) != want {
			t.Errorf("configuration %02x gives %v K, %v; want %v",
				config, w.Bytes.Resolution(0x28), err, want)
		}
	}
	ds18s20, err := sysfs.ParseW1(0x10, slave(0x0039, 0x7f, 28250))
	if err != nil || ds18s20.Celsius(0x10) != 28.25 || ds18s20.Bytes.Resolution(0x10) != 0 {
		t.Errorf("a DS18S20's bytes count otherwise: %v, %v; want the kernel's 28.25 °C",
			ds18s20.Celsius(0x10), err)
	}
}

// What ParseW1 accepts it prints back, but for the newline; what it refuses
// is a fault and no bytes.
func FuzzParseW1(f *testing.F) {
	f.Add(byte(0x28), slave(0x01c8, 0x7f, 28500))
	f.Add(byte(0x28), slave(0xff5e, 0x1f, -10125))
	f.Add(byte(0x10), slave(0x0039, 0x7f, 28250))
	f.Add(byte(0x28), "")
	f.Fuzz(func(t *testing.T, family byte, text string) {
		w, err := sysfs.ParseW1(family, text)
		if err != nil {
			if w != (sysfs.W1{}) {
				t.Fatalf("%q is refused and gives %v", text, w)
			}
			return
		}
		if got := w.String(); got != strings.TrimSuffix(text, "\n")+"\n" {
			t.Fatalf("%q prints as %q", text, got)
		}
		if c := w.Celsius(family); !(c >= -55 && c <= 125) {
			t.Fatalf("%q gives %v °C", text, c)
		}
	})
}

func FuzzParseNumber(f *testing.F) {
	seeds := []string{"28532\n", "-1250\n", "0.005000000\n", "-15887.515151", "", "nan", "1e5", "-"}
	for _, seed := range seeds {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := sysfs.ParseNumber(text)
		if err != nil {
			if v != 0 || sensors.CauseOf(err) != sensors.Unparsable {
				t.Fatalf("%q is refused with %v and %v", text, v, err)
			}
			return
		}
		again, err := sysfs.ParseNumber(fmt.Sprintf("%.400f\n", v))
		if err != nil || again != v {
			t.Fatalf("%q is %v, printed and read again %v, %v", text, v, again, err)
		}
	})
}
