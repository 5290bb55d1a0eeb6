package i2c

// crc8 is the check sum of the SHT3x, SHT4x, HDC302x and AHT20: polynomial
// x⁸+x⁵+x⁴+1 (0x31), start 0xff, nothing reflected (SHT3x-DIS data sheet,
// table 20).
func crc8(data []byte) byte {
	crc := byte(0xff)
	for _, b := range data {
		crc ^= b
		for range 8 {
			top := crc&0x80 != 0
			crc <<= 1
			if top {
				crc ^= 0x31
			}
		}
	}
	return crc
}

// words takes the 16-bit words out of a frame in which each is followed by its
// check sum. It says false, and gives nothing, when one does not match.
func words(frame []byte) ([]uint16, bool) {
	var all []uint16
	for ; len(frame) >= 3; frame = frame[3:] {
		if crc8(frame[:2]) != frame[2] {
			return nil, false
		}
		all = append(all, uint16(frame[0])<<8|uint16(frame[1]))
	}
	return all, len(frame) == 0
}
