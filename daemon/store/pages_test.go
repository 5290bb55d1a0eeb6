package store

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"go.etcd.io/bbolt"
)

// soundPages gives the content of a small bbolt file with buckets in buckets.
func soundPages(t testing.TB) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "pages.db")
	f, err := openBolt(path, true)
	if err != nil {
		t.Fatal(err)
	}
	err = f.update(func(tx *bbolt.Tx) error {
		for _, name := range []string{"few", "many", "none"} {
			b, err := tx.CreateBucket([]byte(name))
			if err != nil {
				return err
			}
			inner, err := b.CreateBucket([]byte("inner"))
			if err != nil {
				return err
			}
			for i := range map[string]int{"few": 3, "many": 400}[name] {
				if err := inner.Put(be32(uint32(i)), fmt.Appendf(nil, "value %d", i)); err != nil {
					return err
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := f.close(); err != nil {
		t.Fatal(err)
	}
	content, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return content
}

// The page reader sees in a file exactly what bbolt does, whatever has been
// put in and taken out, with large values and small.
func TestPageReaderAgreesWithBolt(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pages.db")
	f, err := openBolt(path, true)
	if err != nil {
		t.Fatal(err)
	}
	defer f.close()
	for round := range 60 {
		err := f.update(func(tx *bbolt.Tx) error { return churn(tx, round) })
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]string{}
		problems, err := walkFile(path, func(path []string, key, value []byte) {
			seen[fmt.Sprint(path, key)] = string(value)
		})
		if err != nil || len(problems) > 0 {
			t.Fatalf("round %d: %v, %v", round, problems, err)
		}
		err = f.view(func(tx *bbolt.Tx) error {
			return tx.ForEach(func(name []byte, b *bbolt.Bucket) error {
				return compareBucket(t, []string{string(name)}, b, seen)
			})
		})
		if err != nil {
			t.Fatal(err)
		}
		if len(seen) > 0 {
			t.Fatalf("round %d: the reader saw %d values that bbolt does not have", round, len(seen))
		}
	}
}

// churn puts values of many sizes in and takes others out.
func churn(tx *bbolt.Tx, round int) error {
	b, err := tx.CreateBucketIfNotExists(fmt.Appendf(nil, "bucket %d", round%5))
	if err != nil {
		return err
	}
	inner, err := b.CreateBucketIfNotExists(fmt.Appendf(nil, "inner %d", round%3))
	if err != nil {
		return err
	}
	for i := range 200 {
		key := be32(uint32(i * (round%7 + 1)))
		if (i+round)%3 == 0 {
			err = inner.Delete(key)
		} else {
			err = inner.Put(key, make([]byte, i*i%9000))
		}
		if err != nil {
			return err
		}
	}
	if round%11 == 10 {
		return b.DeleteBucket(fmt.Appendf(nil, "inner %d", round%3))
	}
	return nil
}

func compareBucket(t *testing.T, path []string, b *bbolt.Bucket, seen map[string]string) error {
	return b.ForEach(func(key, value []byte) error {
		if value == nil {
			inner := append(path[:len(path):len(path)], string(key))
			return compareBucket(t, inner, b.Bucket(key), seen)
		}
		at := fmt.Sprint(path, key)
		if got, has := seen[at]; !has || got != string(value) {
			t.Errorf("%s: bbolt has %d bytes, the reader saw %d (%v)", at, len(value), len(got), has)
		}
		delete(seen, at)
		return nil
	})
}
