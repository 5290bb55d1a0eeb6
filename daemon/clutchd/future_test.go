package main

import (
	"encoding/binary"
	"hash/crc32"
	"net"
	"os"

	"github.com/rogpeppe/go-internal/testscript"
	"go.etcd.io/bbolt"
)

// future writes into a store's file the schema number of a later program, as
// that program would: sealed with where it belongs.
func future(ts *testscript.TestScript, _ bool, args []string) {
	db, err := bbolt.Open(ts.MkAbs(args[0]), 0o600, nil)
	ts.Check(err)
	ts.Check(db.Update(func(tx *bbolt.Tx) error {
		payload := binary.BigEndian.AppendUint32(nil, 1000)
		return tx.Bucket([]byte("meta")).Put([]byte("schema"), sealed("meta", "schema", payload))
	}))
	ts.Check(db.Close())
}

// sealed is a value as the store's files hold it: a version, a checksum of
// lengths, version, bucket, key and payload, and the payload.
func sealed(bucket, key string, payload []byte) []byte {
	const version = 1
	frame := binary.LittleEndian.AppendUint32(nil, uint32(len(bucket)))
	frame = binary.LittleEndian.AppendUint32(frame, uint32(len(key)))
	frame = append(frame, version)
	frame = append(frame, bucket+key...)
	frame = append(frame, payload...)
	sum := crc32.Checksum(frame, crc32.MakeTable(crc32.Castagnoli))
	return append(binary.LittleEndian.AppendUint32([]byte{version}, sum), payload...)
}

// answers reports whether a daemon answers in a state folder.
func answers(folder string) bool {
	conn, err := net.Dial("unix", folder+"/control.sock")
	if err != nil {
		return false
	}
	_ = conn.Close()
	_, err = os.Stat(folder + "/book.db")
	return err == nil
}
