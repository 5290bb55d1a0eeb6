package i2c

import (
	"fmt"

	"periph.io/x/conn/v3/i2c"
)

// What the tests in package i2c_test look at from inside.
var (
	CRC8       = crc8
	BusesUnder = busesUnder
	NewBus     = newBus
)

// MaxTransfers is the cap on one Read.
const MaxTransfers = maxTransfers

// OpenError gives the error of OpenBus for an error of periph's.
func OpenError(number int, text string) error { return openError(number, fmt.Errorf("%s", text)) }

var _ i2c.Bus = (*Bus)(nil)
