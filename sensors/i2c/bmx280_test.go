package i2c_test

import (
	"testing"
	"testing/synctest"
	"time"

	"periph.io/x/conn/v3/physic"
	"periph.io/x/devices/v3/bmxx80"

	"clutchd/sensors/i2c"
)

const (
	// The example of the BMP280 data sheet (BST-BMP280-DS001, section 3.12):
	// T1 27504, T2 26435, T3 −1000, P1 36477 … P9 6000; then a byte of padding
	// and H1, which is ours.
	bmxCalib = "88 > 70 6B 43 67 18 FC 7D 8E 43 D6 D0 0B 27 0B 8C 00 F9 FF 8C 3C F8 C6 70 17 00 4B"
	// Invented, of the size that real chips have: H1 75 (above), H2 362, H3 0,
	// H4 315, H5 50, H6 30.
	bmeCalib = "E1 > 6A 01 00 13 2B 03 1E"

	bmeReady = "D0 > 60\n" + bmxCalib + "\n" + bmeCalib
	bmpReady = "D0 > 58\n" + bmxCalib
	// What periph's driver writes: sleep, humidity 1x, no filter, sleep.
	bmeSetUp   = bmeReady + "\nF4 40 F2 01 F5 A0 F4 40"
	bmpSetUp   = bmpReady + "\nF4 40 F5 A0 F4 40"
	bmxMeasure = "F4 41\nF3 > 08\nF3 > 00" // one forced measurement, once found busy
)

func TestBMP280WorkedExample(t *testing.T) {
	// adc_T 519888 gives 25.08 °C: BST-BMP280-DS001, section 3.12.
	play(t, "bmp280", 0x76, lines(bmpReady, bmpSetUp, bmxMeasure, "F7 > 80 00 00 7E ED 00"), "25.0800")
}

// The same example's pressure, which clutchd has no use for, through the
// driver alone: it shows that our calibration bytes are the example's.
func TestBMP280WorkedExamplePressure(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		bus := newScript(t, 0x76, lines(bmpReady, "F4 24 F5 A0 F4 24", "F4 25", "F3 > 00", "F7 > 65 5A C0 7E ED 00"))
		dev, err := bmxx80.NewI2C(bus, 0x76, &bmxx80.Opts{Temperature: bmxx80.O1x, Pressure: bmxx80.O1x})
		check(t, err)
		var e physic.Env
		check(t, dev.Sense(&e))
		// 100653.25390625 Pa in the data sheet's 64-bit arithmetic; periph keeps
		// steps of 3.906250 mPa.
		if got := float64(e.Pressure) / float64(physic.Pascal); got != 100653.253906250 {
			t.Errorf("pressure is %.9f Pa", got)
		}
		bus.used()
	})
}

func TestBMx280(t *testing.T) {
	const (
		good = "F7 > 80 00 00 7E ED 00 70 00"
		// Computed apart with the data sheet's floating-point formula: 46.893 %;
		// the driver's integers give 46.890.
		said = "25.0800 0.4689"
	)
	bmeRead := lines(bmeSetUp, bmxMeasure, good)
	for _, row := range []struct {
		about, model, script string
		want                 []string
	}{
		{
			"every read sets the chip up anew",
			"bme280", lines(bmeReady, bmeRead, bmeRead),
			[]string{said, said},
		},
		{
			"a chip that browned out between set-up and measurement says 0x8000, which would compensate to 69.7 %",
			"bme280", lines(bmeReady, bmeSetUp, bmxMeasure, "F7 > 80 00 00 7E ED 00 80 00", "F2 > 00 00 40", bmeRead),
			[]string{"power-on", said},
		},
		{
			"and 0x80000 for the temperature", "bme280",
			lines(bmeReady, bmeSetUp, bmxMeasure, "F7 > 80 00 00 80 00 00 80 00", "F2 > 00 00 00", bmeRead),
			[]string{"power-on", said},
		},
		{
			"the same in a bmp280",
			"bmp280", lines(bmpReady, bmpSetUp, bmxMeasure, "F7 > 80 00 00 80 00 00", "F2 > 00 00 00"),
			[]string{"power-on"},
		},
		{
			"but a chip with its settings intact did measure that (computed apart: 26.461 °C, 69.74 %)",
			"bme280", lines(bmeReady, bmeSetUp, bmxMeasure, "F7 > 80 00 00 80 00 00 80 00", "F2 > 01 00 40"),
			[]string{"26.4600 0.6974"},
		},
		{
			"settings that cannot be read decide nothing", "bmp280",
			lines(bmpReady, bmpSetUp, bmxMeasure, "F7 > 80 00 00 80 00 00", "F2 ! io"),
			[]string{"io"},
		},
		{
			"a measurement of zeros",
			"bmp280", lines(bmpReady, bmpSetUp, bmxMeasure, "F7 > 00 00 00 00 00 00"),
			[]string{"dead-bus"},
		},
		{
			"a measurement of ones",
			"bmp280", lines(bmpReady, bmpSetUp, bmxMeasure, "F7 > FF FF FF FF FF FF"),
			[]string{"dead-bus"},
		},
		{
			"humidity of ones",
			"bme280", lines(bmeReady, bmeSetUp, bmxMeasure, "F7 > 80 00 00 7E ED 00 FF FF"),
			[]string{"dead-bus"},
		},
		{
			"humidity of zeros",
			"bme280", lines(bmeReady, bmeSetUp, bmxMeasure, "F7 > 80 00 00 7E ED 00 00 00"),
			[]string{"dead-bus"},
		},
		{
			"humidity above the scale is saturated", "bme280",
			lines(bmeReady, bmeSetUp, bmxMeasure, "F7 > 80 00 00 7E ED 00 B0 00"),
			[]string{"25.0800 1.0000 saturated"},
		},
		{
			"a temperature beyond the chip's",
			"bmp280", lines(bmpReady, bmpSetUp, bmxMeasure, "F7 > 80 00 00 F0 00 00"),
			[]string{"out-of-range"},
		},
		{"nobody at the address", "bme280", "D0 ! absent", []string{"absent"}},
		{"a chip id of zeros", "bme280", "D0 > 00", []string{"dead-bus"}},
		{"a bmp280 sold as a bme280 is not one", "bme280", "D0 > 58", []string{"unsupported"}},
		{"a bme280 is no bmp280 either", "bmp280", "D0 > 60", []string{"unsupported"}},
		{
			"the chip is changed while it runs",
			"bme280", lines(bmeReady, "D0 > 58", bmxCalib, "F4 40 F5 A0 F4 40"),
			[]string{"unsupported"},
		},
		{
			"the id goes dead while it runs",
			"bme280", lines(bmeReady, "D0 > 00"),
			[]string{"dead-bus"},
		},
		{
			"the id is damaged while it runs",
			"bme280", lines(bmeReady, "D0 > 61"),
			[]string{"unsupported"},
		},
		{
			"calibration of zeros", "bmp280",
			lines("D0 > 58", zeroCalib, "D0 > 58", zeroCalib, "F4 40 F5 A0 F4 40"),
			[]string{"dead-bus"},
		},
		{
			"one damaged byte of calibration, which has no check sum, is noticed", "bmp280",
			lines(bmpReady, "D0 > 58", damagedCalib, "F4 40 F5 A0 F4 40", bmpSetUp, bmxMeasure, "F7 > 80 00 00 7E ED 00"),
			[]string{"checksum", "25.0800"},
		},
		{
			"calibration damaged when first read is given up after three reads", "bmp280",
			lines("D0 > 58", damagedCalib, bmpSetUp, bmpSetUp, bmpSetUp, bmpReady, bmpSetUp, bmxMeasure, "F7 > 80 00 00 7E ED 00"),
			[]string{"checksum", "checksum", "checksum", "25.0800"},
		},
		{
			"an error that the driver wraps away keeps its cause",
			"bmp280", lines(bmpReady, bmpSetUp, "F4 41", "F3 ! timeout"),
			[]string{"timeout"},
		},
		{
			"the chip goes away before the data are read",
			"bmp280", lines(bmpReady, bmpSetUp, bmxMeasure, "F7 ! absent"),
			[]string{"absent"},
		},
	} {
		t.Run(row.about, func(t *testing.T) { play(t, row.model, 0x76, row.script, row.want...) })
	}
}

const (
	zeroCalib    = "88 > 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00"
	damagedCalib = "88 > 70 6B 43 67 18 FD 7D 8E 43 D6 D0 0B 27 0B 8C 00 F9 FF 8C 3C F8 C6 70 17 00 4B"
)

// The driver would ask for ever, holding its lock.
func TestBMx280StuckBusyEnds(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		stuck := lines(bmpSetUp, "F4 41", "* F3 > 08")
		bus := newScript(t, 0x76, lines(bmpReady, stuck, bmpSetUp, bmxMeasure, "F7 > 80 00 00 7E ED 00"))
		s, err := i2c.Open(bus, "bmp280", 0x76)
		check(t, err)
		start := time.Now()
		if got := say(t.Context(), t, s); got != "not-ready" {
			t.Errorf("a chip that is busy for ever says %q", got)
		}
		if bus.count != i2c.MaxTransfers {
			t.Errorf("it took %d transfers, want %d", bus.count, i2c.MaxTransfers)
		}
		if waited := time.Since(start); waited < 20*time.Millisecond || waited > time.Second {
			t.Errorf("it was given %v: too little for an honest chip or too much for the bus", waited)
		}
		if got := say(t.Context(), t, s); got != "25.0800" {
			t.Errorf("the next read says %q", got)
		}
		bus.used()
	})
}
