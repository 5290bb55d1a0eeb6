package i2c

import (
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

// The models that measure temperature and humidity.
func climateModels() []Model {
	sht3x := func(name string, accuracy float64) Model { // accuracy: typical, SHT3x-DIS data sheet
		return Model{Name: name, Addresses: []uint16{0x44, 0x45}, Has: climate, Accuracy: accuracy,
			Resolution: shtStep, Low: -40, High: 125, Interval: interval, build: buildSHT3x}
	}
	sht4x := func(name string, accuracy float64) Model { // accuracy: typical, SHT4x data sheet
		return Model{Name: name, Addresses: []uint16{0x44, 0x45, 0x46}, Has: climate, Accuracy: accuracy,
			Resolution: shtStep, Low: -40, High: 125, Interval: interval, build: buildSHT4x}
	}
	return []Model{
		sht3x("sht30", 0.2), sht3x("sht31", 0.2), sht3x("sht35", 0.1),
		sht4x("sht40", 0.2), sht4x("sht41", 0.2), sht4x("sht45", 0.1),
		{Name: "hdc302x", Addresses: []uint16{0x44, 0x45, 0x46, 0x47}, Has: climate,
			Accuracy: 0.2, // limit for 0 to 50 °C, TI SNAS778
			// Same scale as the SHT chips.
			Resolution: shtStep, Low: -40, High: 125, Interval: interval, build: buildHDC302x},
		{Name: "aht20", Addresses: []uint16{0x38}, Has: climate,
			Accuracy:   0.3, // typical, maker's data sheet, from memory
			Resolution: 200.0 / (1 << 20), Low: -40, High: 85, Interval: interval, build: buildAHT20},
		{Name: "bme280", Addresses: []uint16{0x76, 0x77}, Has: climate,
			Accuracy:   1.0, // 0 to 65 °C, BST-BME280-DS002, from memory
			Resolution: 0.01, Low: -40, High: 85, Interval: interval, build: buildBME280},
	}
}

// The models that measure temperature alone.
func temperatureModels() []Model {
	lm75 := func(name string, bits int) Model { // accuracy: limit for −25 to +85 °C
		return Model{Name: name, Addresses: addressRange(0x48, 0x4f), Has: incubation.Temperature, Accuracy: 2.0,
			Resolution: 128.0 / float64(int(1)<<(bits-1)), Low: -55, High: 125, Interval: interval,
			build: buildLM75(bits)}
	}
	return []Model{
		{Name: "bmp280", Addresses: []uint16{0x76, 0x77}, Has: incubation.Temperature,
			Accuracy:   1.0, // 0 to 65 °C, BST-BMP280-DS001, from memory
			Resolution: 0.01, Low: -40, High: 85, Interval: interval, build: buildBMP280},
		{Name: "mcp9808", Addresses: addressRange(0x18, 0x1f), Has: incubation.Temperature,
			Accuracy:   0.5, // limit for −20 to +100 °C, Microchip DS25095
			Resolution: 0.0625, Low: -40, High: 125, Interval: interval, build: buildMCP9808},
		{Name: "tmp102", Addresses: addressRange(0x48, 0x4b), Has: incubation.Temperature,
			Accuracy:   2.0, // limit for −25 to +85 °C, TI SBOS397
			Resolution: 0.0625, Low: -40, High: 125, Interval: interval, build: buildTMP102},
		lm75("tmp105", 12), // TI SLLS648
		lm75("tmp75", 12),  // TI SBOS288
		lm75("lm75b", 11),  // NXP LM75B
		lm75("lm75", 9),    // the oldest: what is below 0.5 K is undefined
	}
}

func addressRange(first, last uint16) []uint16 {
	var all []uint16
	for a := first; a <= last; a++ {
		all = append(all, a)
	}
	return all
}
