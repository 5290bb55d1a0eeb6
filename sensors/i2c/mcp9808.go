package i2c

import (
	"time"

	"periph.io/x/conn/v3/physic"
	"periph.io/x/devices/v3/mcp9808"

	"clutchd/sensors"
)

// Registers and identity (Microchip DS25095).
const (
	mcpTemperature  = 0x05
	mcpManufacturer = 0x06
	mcpDevice       = 0x07
	mcpMakerID      = 0x0054
	mcpDeviceID     = 0x04 // high byte; the low one is the revision
)

type mcp struct {
	wire *wire
	dev  *mcp9808.Dev
}

// buildMCP9808 makes sure of the chip, since its registers have no check sum,
// and waits for the first conversion at the finest resolution, 250 ms.
func buildMCP9808(w *wire) (measurer, error) {
	if err := mcpIdentify(w); err != nil {
		return nil, err
	}
	dev, err := mcp9808.New(w, &mcp9808.Opts{Addr: int(w.addr), Res: mcp9808.Maximum})
	if err != nil {
		return nil, err
	}
	if err := w.pause(300 * time.Millisecond); err != nil {
		return nil, err
	}
	return &mcp{wire: w, dev: dev}, nil
}

func mcpIdentify(w *wire) error {
	maker, err := w.register(mcpManufacturer, 2)
	if err != nil {
		return err
	}
	device, err := w.register(mcpDevice, 2)
	if err != nil {
		return err
	}
	switch {
	case dead(maker):
		return deadFault("maker id", maker)
	case !isMCP9808(maker, device):
		return faultf(sensors.Unsupported, "maker and device ids are % x and % x", maker, device)
	}
	return nil
}

func isMCP9808(maker, device []byte) bool {
	return uint16(maker[0])<<8|uint16(maker[1]) == mcpMakerID && device[0] == mcpDeviceID
}

func (m *mcp) measure() (value, error) {
	var e physic.Env
	if err := m.dev.Sense(&e); err != nil {
		return value{}, err
	}
	if frame := m.wire.answer(mcpTemperature); dead(frame) {
		return value{}, deadFault("temperature", frame)
	}
	return fromEnv(e), nil
}
