package sysfs

import (
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"

	"clutchd/incubation"
	"clutchd/sensors"
)

// A Scratchpad is the nine bytes that a 1-wire thermometer answers with:
// temperature low and high byte, two alarm bytes, configuration, three
// reserved, and the CRC of those eight.
type Scratchpad [9]byte

// A W1 is what w1_slave says: the bytes, and the temperature that the kernel
// made of them, in milli-°C.
type W1 struct {
	Bytes Scratchpad
	Milli int
}

// The values of t= that are no temperature, though their CRC is right.
const (
	powerOnMilli = 85000  // the register after a reset: no conversion took place
	starvedMilli = 127937 // all ones but the sign: too little power to convert
)

// ParseW1 reads w1_slave, believing nothing: the verdict of the kernel, the
// CRC of the bytes and, for the families that count sixteenths, the kernel's
// arithmetic must agree. Its error is a fault without a probe, with a zero W1.
func ParseW1(family byte, text string) (W1, error) {
	first, second, ok := strings.Cut(strings.TrimSuffix(text, "\n"), "\n")
	bytes, verdict, found := strings.Cut(first, " : crc=")
	again, milli, foundT := strings.Cut(second, " t=")
	if text == "" {
		return W1{}, fault(sensors.Absent, "w1_slave is empty: nobody answered")
	}
	if !ok || !found || !foundT {
		return W1{}, fault(sensors.Unparsable, "%.60q is not w1_slave", text)
	}
	pad, err := parseBytes(bytes)
	if err != nil {
		return W1{}, err
	}
	if err := pad.check(verdict); err != nil {
		return W1{}, err
	}
	t, err := strconv.Atoi(milli)
	if err != nil || strconv.Itoa(t) != milli {
		return W1{}, fault(sensors.Unparsable, "t=%.20q is no number", milli)
	}
	w := W1{Bytes: pad, Milli: t}
	if again != bytes || !w.agrees(family) {
		return W1{}, fault(sensors.Checksum, "%.60q contradicts %s", second, bytes)
	}
	if err := w.believe(); err != nil {
		return W1{}, err
	}
	return w, nil
}

// String gives w1_slave as the kernel writes it.
func (w W1) String() string {
	s := fmt.Sprintf("% x", w.Bytes[:])
	return fmt.Sprintf("%s : crc=%02x YES\n%s t=%d\n", s, w.Bytes[8], s, w.Milli)
}

func parseBytes(text string) (Scratchpad, error) {
	raw, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil || len(raw) != len(Scratchpad{}) || fmt.Sprintf("% x", raw) != text {
		return Scratchpad{}, fault(sensors.Unparsable, "%.40q is not nine bytes", text)
	}
	return Scratchpad(raw), nil
}

// check tells a dead line and damaged bytes from a scratchpad. All zeros have
// a right CRC and read as 0 °C: a line that somebody holds down.
func (s Scratchpad) check(verdict string) error {
	ones := Scratchpad{0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff}
	sum := CRC8(s[:8])
	given, answer, _ := strings.Cut(verdict, " ")
	switch {
	case s == Scratchpad{} || s == ones:
		return fault(sensors.DeadBus, "% x: nobody drives the line", s[:])
	case answer != "YES" && answer != "NO":
		return fault(sensors.Unparsable, "crc=%.20q is no verdict", verdict)
	case answer == "NO" || sum != s[8] || given != fmt.Sprintf("%02x", sum):
		return fault(sensors.Checksum, "% x: crc is %02x, kernel says %.20q", s[:], sum, verdict)
	}
	return nil
}

// CRC8 is the 1-wire CRC: x⁸+x⁵+x⁴+1, reflected, from zero.
func CRC8(data []byte) byte {
	var crc byte
	for _, b := range data {
		crc ^= b
		for range 8 {
			if crc&1 != 0 {
				crc = crc>>1 ^ 0x8c
			} else {
				crc >>= 1
			}
		}
	}
	return crc
}

// sixteenths reports whether the bytes count sixteenths of a kelvin: not in
// the DS18S20 (0x10), whose value needs the count that remains, nor in what
// may be a thermocouple amplifier (0x3b), nor with 13 or 14 bits.
func (s Scratchpad) sixteenths(family byte) bool {
	return (family == 0x28 || family == 0x22 || family == 0x42) && s[4]&0x80 == 0
}

func (s Scratchpad) raw() int { return int(int16(uint16(s[1])<<8 | uint16(s[0]))) }

// agrees reports whether the kernel's milli-°C are those of the bytes, cut off
// to whole ones.
func (w W1) agrees(family byte) bool {
	return !w.Bytes.sixteenths(family) || w.Milli == w.Bytes.raw()*1000/16
}

func (w W1) believe() error {
	switch {
	case w.Milli == powerOnMilli:
		return fault(sensors.PowerOn, "85 °C is what the chip says before it measures")
	case w.Milli == starvedMilli:
		return fault(sensors.OutOfRange, "127.94 °C: too little power to measure")
	case w.Milli < -55000 || w.Milli > 125000:
		return fault(sensors.OutOfRange, "%d milli-°C is not within −55 to 125 °C", w.Milli)
	}
	return nil
}

// Celsius gives the temperature, to the sixteenth where the bytes count those.
func (w W1) Celsius(family byte) incubation.Celsius {
	if w.Bytes.sixteenths(family) {
		return incubation.Celsius(w.Bytes.raw()) / 16
	}
	return incubation.Celsius(w.Milli) / 1000
}

// Resolution gives the step that the configuration byte sets, K: 0.5 for 9
// bits to 0.0625 for 12; 0 where that byte means something else.
func (s Scratchpad) Resolution(family byte) float64 {
	if !s.sixteenths(family) {
		return 0
	}
	return 0.5 / float64(int(1)<<(s[4]>>5&3))
}
