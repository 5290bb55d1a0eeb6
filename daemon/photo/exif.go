package photo

import (
	"bytes"
	"encoding/binary"
)

// exifOrientation finds the orientation in an APP1 segment; 0 if it does not
// say.
func exifOrientation(body []byte) int {
	tiff, found := bytes.CutPrefix(body, []byte("Exif\x00\x00"))
	if !found || len(tiff) < 8 {
		return 0
	}
	var order binary.ByteOrder = binary.BigEndian
	if string(tiff[:2]) == "II" {
		order = binary.LittleEndian
	}
	const orientation, short, entry = 0x0112, 3, 12
	at := uint64(order.Uint32(tiff[4:]))
	if at+2 > uint64(len(tiff)) {
		return 0
	}
	n := uint64(order.Uint16(tiff[at:]))
	for i := range n {
		e := at + 2 + i*entry
		if e+entry > uint64(len(tiff)) {
			return 0
		}
		if order.Uint16(tiff[e:]) != orientation || order.Uint16(tiff[e+2:]) != short {
			continue
		}
		if o := int(order.Uint16(tiff[e+8:])); o >= 1 && o <= 8 {
			return o
		}
	}
	return 0
}
