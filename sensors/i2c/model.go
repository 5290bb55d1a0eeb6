package i2c

import (
	"slices"
	"time"

	"clutchd/incubation"
)

// A Model is a kind of chip that can be read.
type Model struct {
	Name      string   // as in the configuration: "sht31"
	Addresses []uint16 // where it can be; the first is the usual one
	Has       incubation.Quantity
	// Accuracy is the maker's figure for temperature at egg temperatures, K:
	// the guaranteed limit where there is one, else the typical figure.
	Accuracy   float64
	Resolution float64            // step of its temperature, K
	Low, High  incubation.Celsius // what it is specified to measure
	Interval   time.Duration      // how often it is read

	build func(*wire) (measurer, error)
}

// A measurer is one chip made ready. Measure takes one measurement; its error
// is a *sensors.Fault wherever the cause is known.
type measurer interface {
	measure() (value, error)
}

// A value is what a chip said, before it is believed.
type value struct {
	celsius  float64
	humidity float64 // ratio; ignored unless the model has it
}

// Models lists what Open can open.
func Models() []Model {
	return append(climateModels(), temperatureModels()...)
}

const (
	interval = 10 * time.Second
	climate  = incubation.Temperature | incubation.RelativeHumidity
)

// The models that measure temperature and humidity. A family's own name is for
// a chip whose class is not known: the class is printed on it and cannot be
// read, so it has the accuracy of the widest.
func climateModels() []Model {
	sht3x := Model{
		Has: climate, Addresses: []uint16{0x44, 0x45}, Resolution: shtStep,
		Low: -40, High: 125, Interval: interval, build: buildSHT3x,
	}
	sht4x := Model{
		Has: climate, Addresses: []uint16{0x44, 0x45, 0x46}, Resolution: shtStep,
		Low: -40, High: 125, Interval: interval, build: buildSHT4x,
	}
	return []Model{
		// Typical, SHT3x-DIS and SHT4x data sheets.
		sht3x.called("sht3x", 0.2), sht3x.called("sht30", 0.2),
		sht3x.called("sht31", 0.2), sht3x.called("sht35", 0.1),
		sht4x.called("sht4x", 0.2), sht4x.called("sht40", 0.2),
		sht4x.called("sht41", 0.2), sht4x.called("sht45", 0.1),
		{
			Name: "hdc302x", Has: climate, Addresses: []uint16{0x44, 0x45, 0x46, 0x47},
			Accuracy:   0.2,     // limit for 0 to 50 °C, TI SNAS778
			Resolution: shtStep, // it has the same scale
			Low:        -40, High: 125, Interval: interval, build: buildHDC302x,
		},
		{
			Name: "aht20", Has: climate, Addresses: []uint16{0x38},
			Accuracy:   0.3, // typical, maker's data sheet, from memory
			Resolution: 200.0 / (1 << 20),
			Low:        -40, High: 85, Interval: interval, build: buildAHT20,
		},
		{
			Name: "bme280", Has: climate, Addresses: []uint16{0x76, 0x77},
			Accuracy:   1.0, // 0 to 65 °C, BST-BME280-DS002, from memory
			Resolution: 0.01,
			Low:        -40, High: 85, Interval: interval, build: buildBME280,
		},
	}
}

// The models that measure temperature alone.
func temperatureModels() []Model {
	lm75 := Model{
		Has: incubation.Temperature, Addresses: addressRange(0x48, 0x4f),
		Low: -55, High: 125, Interval: interval,
	}
	return []Model{
		{
			Name: "bmp280", Has: incubation.Temperature, Addresses: []uint16{0x76, 0x77},
			Accuracy:   1.0, // 0 to 65 °C, BST-BMP280-DS001, from memory
			Resolution: 0.01,
			Low:        -40, High: 85, Interval: interval, build: buildBMP280,
		},
		{
			Name: "mcp9808", Has: incubation.Temperature, Addresses: addressRange(0x18, 0x1f),
			Accuracy:   0.5, // limit for −20 to +100 °C, Microchip DS25095
			Resolution: 0.0625,
			Low:        -40, High: 125, Interval: interval, build: buildMCP9808,
		},
		{
			Name: "tmp102", Has: incubation.Temperature, Addresses: addressRange(0x48, 0x4b),
			Accuracy:   2.0, // limit for −25 to +85 °C, TI SBOS397
			Resolution: 0.0625,
			Low:        -40, High: 125, Interval: interval, build: buildTMP102,
		},
		// Limits for −25 to +85 °C: TI SLLS648 for the tmp105, the others' from
		// memory. What an lm75 has below its ninth bit is undefined.
		lm75.called("tmp105", 2.0).withBits(12), lm75.called("tmp75", 2.0).withBits(12),
		lm75.called("lm75b", 2.0).withBits(11), lm75.called("lm75", 2.0).withBits(9),
	}
}

func (m Model) called(name string, accuracy float64) Model {
	m.Name, m.Accuracy = name, accuracy
	m.Addresses = slices.Clone(m.Addresses)
	return m
}

// withBits sets how many bits of a temperature up to ±128 °C the chip gives.
func (m Model) withBits(bits int) Model {
	m.Resolution = 256 / float64(int(1)<<bits)
	m.build = buildLM75(bits)
	return m
}

func addressRange(first, last uint16) []uint16 {
	var all []uint16
	for a := first; a <= last; a++ {
		all = append(all, a)
	}
	return all
}
