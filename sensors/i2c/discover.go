package i2c

import (
	"bytes"
	"context"
	"fmt"
	"iter"
	"slices"
	"time"

	"periph.io/x/conn/v3/i2c"

	"clutchd/sensors"
)

// A Found is something that answers on a bus.
type Found struct {
	Bus  string
	Addr uint16 // zero: this is about the bus itself
	// Models it may be, for Open: one when the chip has said so, several when
	// they cannot be told apart, none when it is not to be spoken to unasked.
	Models []string
	// Note is a sentence for the keeper: what cannot be told apart, or why it
	// is not read; "" when there is nothing to say.
	Note string
}

// Discover asks who is there at the addresses of the chips that Open knows. A
// bus that does not work ends with one Found without an address. With nobody
// there it takes some 0.1 s.
//
// What answers may be anything, a relay board too, so nobody is sent more than
// it takes:
//   - an address that a kernel driver holds is left alone;
//   - at 0x38 and 0x48 to 0x4f only bytes are read, without writing any:
//     port expanders and converters live there, to which a written byte is an
//     output;
//   - at 0x18 to 0x1f and 0x76, 0x77 the number of an identity register is
//     written and the register read;
//   - at 0x44 to 0x47 the chips answer commands alone. First comes the serial
//     number command of the SHT4x, one byte; where that gives no good check
//     sum, after a pause, the status command of the SHT3x and HDC302x, two
//     bytes, which to a chip with 8-bit registers is a write to 0xf3, where the
//     known ones have none; and only a chip that answers that with a good check
//     sum is asked for the HDC302x's maker.
func Discover(ctx context.Context, bus i2c.Bus, busName string) []Found {
	var all []Found
	failures := 0
	for addr, question := range questions() {
		if ctx.Err() != nil {
			return all
		}
		found, err := ask(ctx, bus, addr, question)
		if err != nil {
			failures++
			found = &Found{Note: "cannot be asked: " + err.Error()}
		}
		if failures == maxFailures {
			return append(all, Found{Bus: busName, Note: "the bus does not work: " + err.Error()})
		}
		if found != nil {
			found.Bus, found.Addr = busName, addr
			all = append(all, *found)
		}
	}
	return all
}

// maxFailures is how many addresses may fail otherwise than by silence before
// the bus itself is taken to be broken: each can take a second.
const maxFailures = 3

// A question finds out who is at an address. It gives nil, or an Absent error,
// when nobody is there.
type question func(*wire) (*Found, error)

func questions() iter.Seq2[uint16, question] {
	groups := []struct {
		addresses []uint16
		question  question
	}{
		{addressRange(0x18, 0x1f), askMCP9808},
		{[]uint16{0x38}, askAHT20},
		{addressRange(0x44, 0x47), askSHT},
		{addressRange(0x48, 0x4f), askLM75},
		{[]uint16{0x76, 0x77}, askBMX},
	}
	return func(yield func(uint16, question) bool) {
		for _, g := range groups {
			for _, addr := range g.addresses {
				if !yield(addr, g.question) {
					return
				}
			}
		}
	}
}

func ask(ctx context.Context, bus i2c.Bus, addr uint16, q question) (*Found, error) {
	if driver := claimed(bus, addr); driver != "" {
		note := fmt.Sprintf("read by the kernel's %s driver: use its files", driver)
		return &Found{Note: note}, nil
	}
	w := &wire{bus: bus, addr: addr}
	w.begin(ctx)
	found, err := q(w)
	if err != nil && sensors.CauseOf(err) == sensors.Absent {
		return nil, nil
	}
	return found, err
}

const (
	unknown       = "answers, but is no chip that is known here"
	accuracyClass = "its accuracy class is printed on it only: name the model if it is better"
)

// possible leaves out the models that cannot be at the address.
func possible(addr uint16, names ...string) []string {
	return slices.DeleteFunc(names, func(name string) bool {
		m, err := lookUp(name)
		return err != nil || !slices.Contains(m.Addresses, addr)
	})
}

func askMCP9808(w *wire) (*Found, error) {
	maker, err := w.register(mcpManufacturer, 2)
	if err != nil {
		return nil, err
	}
	device, err := w.register(mcpDevice, 2)
	if err != nil {
		return nil, err
	}
	if !isMCP9808(maker, device) {
		return &Found{Note: unknown}, nil
	}
	return &Found{Models: []string{"mcp9808"}}, nil
}

// askAHT20 can be sure only of a chip that has measured before: its last frame
// is still there. A port expander repeats one byte.
func askAHT20(w *wire) (*Found, error) {
	frame := make([]byte, 7)
	if err := w.read(frame); err != nil {
		return nil, err
	}
	switch same := bytes.Count(frame, frame[:1]) == len(frame); {
	case same:
		return &Found{Note: unknown + ": a port expander, perhaps"}, nil
	case crc8(frame[:6]) != frame[6]:
		return &Found{Note: "an aht20 that has not measured yet, or something else"}, nil
	}
	return &Found{Models: []string{"aht20"}}, nil
}

func askSHT(w *wire) (*Found, error) {
	answered, isSHT4x, err := shtAnswer(w, []byte{0x89}, 2)
	if err != nil {
		return nil, err
	}
	if isSHT4x != nil {
		return &Found{Models: []string{"sht4x"}, Note: accuracyClass}, nil
	}
	acknowledged, status, err := shtAnswer(w, []byte{0xf3, 0x2d}, 1)
	if err != nil {
		return nil, err
	}
	if status == nil {
		return strangerIf(answered || acknowledged), nil
	}
	_, maker, err := shtAnswer(w, []byte{0x37, 0x81}, 1)
	if err != nil {
		return nil, err
	}
	if maker != nil && maker[0] == hdcMakerID {
		return &Found{Models: []string{"hdc302x"}}, nil
	}
	return &Found{Models: possible(w.addr, "sht3x"), Note: accuracyClass}, nil
}

const hdcMakerID = 0x3000 // TI SNAS778

func strangerIf(somebody bool) *Found {
	if !somebody {
		return nil
	}
	return &Found{Note: unknown}
}

// shtAnswer sends a command and reads n words, nil unless all check sums are
// good. Acknowledged says that somebody took the command. The pause is the
// chip's time for it, and keeps what one chip would not understand apart from
// the next command, which it might then miss.
func shtAnswer(w *wire, command []byte, n int) (acknowledged bool, got []uint16, err error) {
	frame := make([]byte, 3*n)
	for _, step := range []func() error{
		func() error { return w.write(command...) },
		func() error { acknowledged = true; return w.pause(10 * time.Millisecond) },
		func() error { return w.read(frame) },
	} {
		switch err := step(); {
		case err == nil:
		case sensors.CauseOf(err) == sensors.Absent:
			return acknowledged, nil, w.pause(10 * time.Millisecond)
		default:
			return acknowledged, nil, err
		}
	}
	if got, ok := words(frame); ok {
		return true, got, nil
	}
	return true, nil, nil
}

func askLM75(w *wire) (*Found, error) {
	frame := make([]byte, 2)
	if err := w.read(frame); err != nil {
		return nil, err
	}
	if dead(frame) {
		return &Found{Note: unknown}, nil
	}
	return &Found{
		Models: possible(w.addr, "tmp105", "tmp75", "tmp102", "lm75b", "lm75"),
		Note:   "they do not say what they are, and a converter may answer too: see the board",
	}, nil
}

func askBMX(w *wire) (*Found, error) {
	id, err := w.register(bmxID, 1)
	if err != nil {
		return nil, err
	}
	switch id[0] {
	case bmp280ID:
		return &Found{Models: []string{"bmp280"}}, nil
	case bme280ID:
		return &Found{Models: []string{"bme280"}}, nil
	}
	if name := bmxName(id[0]); name != "" {
		return &Found{Note: "not read here" + name}, nil
	}
	return &Found{Note: unknown}, nil
}
