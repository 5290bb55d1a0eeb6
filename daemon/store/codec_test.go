package store

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"go.etcd.io/bbolt"
)

// windowOf gives samples of one window from a source of values.
func windowOf(n int, value func(i int) (celsius, humid int32, flags uint8)) []sample {
	var all []sample
	for i := range n {
		c, h, f := value(i)
		at := int64(i) * windowSeconds / int64(n)
		all = append(all, sample{at: at, celsius: c, humid: h, flags: f})
	}
	return all
}

func TestBlocksComeBack(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, c := range []struct {
		why   string
		all   []sample
		bytes int // at most; 0: not looked at
	}{
		{"one sample", windowOf(1, func(int) (int32, int32, uint8) { return 280600, 0, 1 }), 16},
		{"a sample a second, all alike, is a run", windowOf(windowSeconds, func(int) (int32, int32, uint8) {
			return 280600, 0, 1
		}), 100},
		{"sixteenths that step now and then", windowOf(1440, func(i int) (int32, int32, uint8) {
			return int32(28*perKelvin + sixteenth*(i/100)), 0, 1
		}), 200},
		{"the widest steps", windowOf(1000, func(i int) (int32, int32, uint8) {
			if i%2 == 0 {
				return math.MinInt32, math.MaxInt32, 3
			}
			return math.MaxInt32, math.MinInt32, 3
		}), 0},
		{"either quantity, any quality", windowOf(1440, func(i int) (int32, int32, uint8) {
			flags := uint8(rng.IntN(3)+1) | uint8(rng.IntN(64))<<2
			c, h := int32(rng.Uint32()), int32(rng.Uint32())
			if flags&1 == 0 {
				c = 0
			}
			if flags&2 == 0 {
				h = 0
			}
			return c, h, flags
		}), 0},
	} {
		p, err := newPacker()
		if err != nil {
			t.Fatal(err)
		}
		block, err := p.pack(0, c.all)
		if err != nil {
			t.Fatalf("%s: %v", c.why, err)
		}
		var u unpacker
		got, err := u.unpack(block, 0)
		if err != nil || !slices.Equal(got, c.all) {
			t.Errorf("%s: it does not come back, %v", c.why, err)
		}
		if c.bytes > 0 && len(block) > c.bytes {
			t.Errorf("%s: %d bytes, want %d at most", c.why, len(block), c.bytes)
		}
	}
}

func TestSealFits(t *testing.T) {
	value := seal("b", []byte("key"), []byte("payload"))
	if got, err := unseal("b", []byte("key"), value); err != nil || string(got) != "payload" {
		t.Fatalf("%q, %v", got, err)
	}
	for i := range value {
		for bit := range 8 {
			hurt := bytes.Clone(value)
			hurt[i] ^= 1 << bit
			if got, err := unseal("b", []byte("key"), hurt); err == nil {
				t.Errorf("bit %d of byte %d flipped: still %q", bit, i, got)
			}
		}
	}
	for _, c := range []struct{ why, bucket, key string }{
		{"another bucket", "c", "key"},
		{"another key", "b", "kez"},
		{"bucket and key divided elsewhere", "bk", "ey"},
	} {
		if _, err := unseal(c.bucket, []byte(c.key), value); err == nil {
			t.Errorf("%s: the value fits", c.why)
		}
	}
	later := bytes.Clone(value)
	later[0] = sealVersion + 1
	binary.LittleEndian.PutUint32(later[1:], sum(later[0], "b", []byte("key"), []byte("payload")))
	if _, err := unseal("b", []byte("key"), later); err != errVersion {
		t.Errorf("a value of a later version: %v", err)
	}
}

// What the row parser accepts is printed and parsed again the same; what it
// refuses gives nothing.
func FuzzRow(f *testing.F) {
	seed := row{
		{1, windowOf(3, func(i int) (int32, int32, uint8) { return int32(i), 0, 1 })[:1]},
		{7, []sample{{at: 5, celsius: -100, humid: 9000, flags: 3}, {at: 59, humid: 1, flags: 2 | 4}}},
	}
	f.Add(appendRow(nil, 0, seed), uint32(0))
	f.Add(appendRow(nil, 0, seed), uint32(7))
	f.Add([]byte{1, 2, 3}, uint32(0))
	f.Fuzz(func(t *testing.T, src []byte, only uint32) {
		r, err := parseRow(src, 0, only)
		if err != nil {
			if r != nil {
				t.Fatalf("refused with %v", r)
			}
			return
		}
		for _, g := range r {
			checkSamples(t, g.samples, minuteSeconds)
		}
		again, err := parseRow(appendRow(nil, 0, r), 0, 0)
		if err != nil || !slices.EqualFunc(r, again, func(a, b group) bool {
			return a.probe == b.probe && slices.Equal(a.samples, b.samples)
		}) {
			t.Fatalf("%v came back as %v, %v", r, again, err)
		}
	})
}

// checkSamples holds for all that a parser accepts.
func checkSamples(t *testing.T, all []sample, length int64) {
	t.Helper()
	last := int64(-1)
	for _, s := range all {
		if s.at <= last || s.at >= length || s.flags&hasMask == 0 {
			t.Fatalf("accepted %+v", all)
		}
		last = s.at
	}
}

// The same of blocks.
func FuzzBlock(f *testing.F) {
	p, err := newPacker()
	if err != nil {
		f.Fatal(err)
	}
	for _, n := range []int{1, 2, 500} {
		block, err := p.pack(0, windowOf(n, func(i int) (int32, int32, uint8) {
			return int32(i * i), int32(-i), 3
		}))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(block)
	}
	f.Add([]byte{plainBlock, 0})
	f.Fuzz(func(t *testing.T, block []byte) {
		var u unpacker
		all, err := u.unpack(block, 0)
		if err != nil {
			if all != nil {
				t.Fatalf("refused with %v", all)
			}
			return
		}
		checkSamples(t, all, windowSeconds)
		all = slices.Clone(all)
		packed, err := p.pack(0, all)
		if err != nil {
			t.Fatal(err)
		}
		if again, err := u.unpack(packed, 0); err != nil || !slices.Equal(all, again) {
			t.Fatalf("%v came back as %v, %v", all, again, err)
		}
	})
}

// The page reader meets any file without a panic, and a file that it finds
// sound can be read through by bbolt, which sees the same.
func FuzzPages(f *testing.F) {
	whole := soundPages(f)
	f.Add(uint16(0), uint16(0), []byte{})
	f.Add(uint16(2), uint16(10), []byte{1})
	f.Add(uint16(13), uint16(32), []byte{1}) // a bucket that says it is a value
	f.Add(uint16(1), uint16(64), []byte{3})  // two metas of one transaction
	f.Add(uint16(0), uint16(pageHeader+16), []byte{0, 0, 0, 0, 0, 0, 0, 0, 1})
	path := filepath.Join(f.TempDir(), "pages.db")
	f.Fuzz(func(t *testing.T, page, at uint16, change []byte) {
		content := bytes.Clone(whole)
		for i, bits := range change {
			if at := int(page)%32*pageSize + int(at)%pageSize + i; at < len(content) {
				content[at] ^= bits
			}
		}
		for i := range 2 { // let the damage through to what lies behind
			mendMeta(content, i*pageSize)
		}
		seen := map[string]string{}
		note := func(path []string, key, value []byte) { seen[fmt.Sprint(path, key)] = string(value) }
		problems := walkPages(bytes.NewReader(content), int64(len(content)), note)
		if len(problems) > 0 {
			return
		}
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
		agree(t, path, seen)
	})
}

// agree checks that bbolt sees in a file what the page reader saw.
func agree(t *testing.T, path string, seen map[string]string) {
	t.Helper()
	b, err := openBolt(path, true)
	if err != nil {
		t.Fatalf("found sound, but bbolt says: %v", err)
	}
	defer b.close()
	err = b.view(func(tx *bbolt.Tx) error {
		return tx.ForEach(func(name []byte, b *bbolt.Bucket) error {
			return compareBucket(t, []string{string(name)}, b, seen)
		})
	})
	if err != nil || len(seen) > 0 {
		t.Fatalf("found sound, but bbolt says: %v; %d values it does not see", err, len(seen))
	}
}

// mendMeta makes a meta page's checksum fit.
func mendMeta(content []byte, at int) {
	if at+pageHeader+64 > len(content) {
		return
	}
	body := content[at+pageHeader:]
	sum := fnv.New64a()
	sum.Write(body[:56])
	binary.LittleEndian.PutUint64(body[56:], sum.Sum64())
}
