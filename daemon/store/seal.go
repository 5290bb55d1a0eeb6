package store

import (
	"encoding/binary"
	"errors"
	"hash/crc32"
)

// Every stored value is sealed: a version byte, the CRC-32C of where it
// belongs and what it says, then what it says. bbolt has no checksums on its
// data pages; without ours a flipped bit would come back as a reading.
const (
	sealVersion = 1
	sealSize    = 1 + 4
)

var (
	castagnoli = crc32.MakeTable(crc32.Castagnoli)
	errSeal    = errors.New("checksum does not fit")
	errVersion = errors.New("value of an unknown version")
)

// seal gives payload sealed for its bucket and key.
func seal(bucket string, key, payload []byte) []byte {
	out := make([]byte, sealSize, sealSize+len(payload))
	out[0] = sealVersion
	binary.LittleEndian.PutUint32(out[1:], sum(sealVersion, bucket, key, payload))
	return append(out, payload...)
}

// unseal gives the payload of a value found in bucket under key. It shares
// the value's memory.
func unseal(bucket string, key, value []byte) ([]byte, error) {
	if len(value) < sealSize {
		return nil, errSeal
	}
	payload := value[sealSize:]
	if binary.LittleEndian.Uint32(value[1:]) != sum(value[0], bucket, key, payload) {
		return nil, errSeal
	}
	if value[0] != sealVersion {
		return nil, errVersion
	}
	return payload, nil
}

func sum(version byte, bucket string, key, payload []byte) uint32 {
	var frame [9]byte
	binary.LittleEndian.PutUint32(frame[:], uint32(len(bucket)))
	binary.LittleEndian.PutUint32(frame[4:], uint32(len(key)))
	frame[8] = version
	c := crc32.Update(0, castagnoli, frame[:])
	c = crc32.Update(c, castagnoli, []byte(bucket))
	c = crc32.Update(c, castagnoli, key)
	return crc32.Update(c, castagnoli, payload)
}

// be64 and be32 are keys that sort as their numbers do.
func be64(v uint64) []byte { return binary.BigEndian.AppendUint64(nil, v) }
func be32(v uint32) []byte { return binary.BigEndian.AppendUint32(nil, v) }
