package mqtt_test

import (
	"bufio"
	"io"
	"net"
)

// relay passes bytes between a client and a broker until either goes. Packets
// from the broker for which eat says true are lost on the way.
func relay(client, broker net.Conn, eat func(packet byte) bool) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		io.Copy(broker, client)
		broker.Close()
	}()
	passPackets(client, bufio.NewReader(broker), eat)
	client.Close()
	<-done // what the client said last still arrives
	broker.Close()
}

// passPackets copies whole MQTT packets: one byte of type and flags, a
// length in up to four groups of seven bits, then so many bytes.
func passPackets(to io.Writer, from *bufio.Reader, eat func(packet byte) bool) {
	for {
		first, err := from.ReadByte()
		if err != nil {
			return
		}
		packet := []byte{first}
		length := 0
		for shift := 0; ; shift += 7 {
			b, err := from.ReadByte()
			if err != nil {
				return
			}
			packet = append(packet, b)
			length |= int(b&0x7f) << shift
			if b < 0x80 {
				break
			}
		}
		body := make([]byte, length)
		if _, err := io.ReadFull(from, body); err != nil {
			return
		}
		if eat(first >> 4) {
			continue
		}
		if _, err := to.Write(append(packet, body...)); err != nil {
			return
		}
	}
}

// Packet types, as MQTT 3.1.1 numbers them (section 2.2.1).
const (
	publishPacket = 3
	pubackPacket  = 4
)
