package mqtt

import (
	"fmt"
	"net"
)

// maxPacket bounds what a broker may hand us in one packet. MQTT 3.1.1 lets a
// packet be 256 MiB, and the library would set that much memory aside on the
// packet's word.
const maxPacket = 256 << 10

// A limitedConn reads along and breaks the connection at the header of a
// packet over the limit. It is read by one goroutine at a time.
type limitedConn struct {
	net.Conn
	skip   int // bytes of the present packet still to come
	header int // bytes of the present fixed header seen
	length int // remaining length so far
	shift  uint
}

// Read passes bytes on as long as the packets they belong to are small.
func (c *limitedConn) Read(p []byte) (int, error) {
	n, err := c.Conn.Read(p)
	if over := c.follow(p[:n]); over != nil {
		c.Conn.Close()
		return 0, over
	}
	return n, err
}

func (c *limitedConn) follow(p []byte) error {
	for len(p) > 0 {
		if c.skip > 0 {
			n := min(c.skip, len(p))
			c.skip, p = c.skip-n, p[n:]
			continue
		}
		b := p[0]
		p = p[1:]
		if c.header++; c.header == 1 {
			continue // packet type and flags
		}
		c.length |= int(b&0x7f) << c.shift
		c.shift += 7
		if c.length > maxPacket || b&0x80 != 0 && c.header > 4 {
			return fmt.Errorf("packet of %d bytes or more from the broker: at most %d", c.length, maxPacket)
		}
		if b&0x80 == 0 {
			c.skip, c.header, c.length, c.shift = c.length, 0, 0, 0
		}
	}
	return nil
}
