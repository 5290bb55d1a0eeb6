package store

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/fnv"
	"io"
)

// bbolt trusts its file: on a damaged page it panics, faults or recurses for
// ever. So a file is read here first, page by page with plain reads, before
// bbolt maps it; and what is left of a damaged one is read the same way.
// The layout is that of bbolt's file version 2.
const (
	pageSize      = 4096
	pageHeader    = 16
	elementSize   = 16
	bucketHeader  = 16
	branchPage    = 0x01
	leafPage      = 0x02
	freelistPage  = 0x10
	bucketElement = 0x01
	boltMagic     = 0xED0CDAED
	boltVersion   = 2
	noFreelist    = ^uint64(0)
	maxDepth      = 64       // of pages under each other
	maxOverflow   = 16 << 10 // pages of one value: far above any of ours
)

// A visit is shown each value that the file holds, with the names of the
// buckets it lies in. The slices are its own only until it returns.
type visit func(path []string, key, value []byte)

// pages reads a bbolt file.
type pages struct {
	r        io.ReaderAt
	high     uint64 // pages from here on are not in use
	root     uint64
	freelist uint64
	seen     []bool
	problems []error
	visit    visit
}

// walkPages shows every value that can be reached to visit and returns what
// is wrong with the file, nothing if it is sound. A damaged page costs what
// lies on it and below it; the walk goes on beside it.
func walkPages(r io.ReaderAt, size int64, visit visit) []error {
	p := &pages{r: r, visit: visit}
	if err := p.readMeta(size); err != nil {
		return []error{err}
	}
	p.seen = make([]bool, p.high)
	p.bucket(nil, p.root)
	p.checkFreelist()
	return p.problems
}

func (p *pages) problem(id uint64, what string) {
	p.problems = append(p.problems, fmt.Errorf("page %d: %s", id, what))
}

// readMeta takes the newer of the two meta pages that is whole.
func (p *pages) readMeta(size int64) error {
	best, found := uint64(0), false
	for i := range int64(2) {
		var m [pageHeader + 64]byte
		if _, err := p.r.ReadAt(m[:], i*pageSize); err != nil {
			continue
		}
		body := m[pageHeader:]
		if !metaWhole(body) {
			// A power cut does not do this: the page is one sector's worth.
			p.problem(uint64(i), "is not whole: the last change may be missing")
			continue
		}
		txid := binary.LittleEndian.Uint64(body[48:])
		if found && txid <= best {
			continue
		}
		best, found = txid, true
		p.root = binary.LittleEndian.Uint64(body[16:])
		p.freelist = binary.LittleEndian.Uint64(body[32:])
		p.high = binary.LittleEndian.Uint64(body[40:])
	}
	if !found {
		return errors.New("neither of its first two pages is whole")
	}
	if p.high < 4 || p.high > uint64(size/pageSize) {
		return fmt.Errorf("it is cut off: %d bytes of %d pages", size, p.high)
	}
	return nil
}

func metaWhole(body []byte) bool {
	sum := fnv.New64a()
	sum.Write(body[:56])
	return binary.LittleEndian.Uint32(body) == boltMagic &&
		binary.LittleEndian.Uint32(body[4:]) == boltVersion &&
		binary.LittleEndian.Uint32(body[8:]) == pageSize &&
		binary.LittleEndian.Uint64(body[56:]) == sum.Sum64()
}

// claim reads a page with its overflow, once.
func (p *pages) claim(id uint64) ([]byte, error) {
	if id < 2 || id >= p.high {
		return nil, errors.New("lies outside the file")
	}
	var head [pageHeader]byte
	if _, err := p.r.ReadAt(head[:], int64(id)*pageSize); err != nil {
		return nil, err
	}
	overflow := uint64(binary.LittleEndian.Uint32(head[12:]))
	if binary.LittleEndian.Uint64(head[:]) != id {
		return nil, errors.New("is not the page it should be")
	}
	if overflow > maxOverflow || id+overflow >= p.high {
		return nil, errors.New("reaches outside the file")
	}
	for i := id; i <= id+overflow; i++ {
		if p.seen[i] {
			return nil, errors.New("is used twice")
		}
	}
	for i := id; i <= id+overflow; i++ {
		p.seen[i] = true
	}
	page := make([]byte, (overflow+1)*pageSize)
	if _, err := p.r.ReadAt(page, int64(id)*pageSize); err != nil {
		return nil, err
	}
	return page, nil
}

// bucket walks the pages of a bucket.
func (p *pages) bucket(path []string, root uint64) {
	p.subtree(span{path: path, id: root, top: true})
}

// A span is a page to walk: keys in it must lie in [low, high); nil high is
// no limit.
type span struct {
	path      []string
	id        uint64
	low, high []byte
	top       bool // the bucket's first page, which may be empty
	depth     int
}

func (p *pages) subtree(s span) {
	if s.depth > maxDepth {
		p.problem(s.id, "lies too deep")
		return
	}
	page, err := p.claim(s.id)
	if err != nil {
		p.problem(s.id, err.Error())
		return
	}
	switch kind := binary.LittleEndian.Uint16(page[8:]); kind {
	case branchPage:
		p.branch(s, page)
	case leafPage:
		p.leaf(s, page)
	default:
		p.problem(s.id, fmt.Sprintf("is of kind %#x", kind))
	}
}

// An element is one entry of a page: a leaf's key and value, or a branch's
// first key and page.
type element struct {
	flags      uint32
	key, value []byte
	page       uint64
}

// elements reads a page's entries, checking that they lie one behind the other
// as bbolt writes them, so that none is missing, and that their keys ascend
// within the span.
func (p *pages) elements(s span, page []byte, leaf bool) []element {
	count := int(binary.LittleEndian.Uint16(page[10:]))
	if pageHeader+count*elementSize > len(page) || count == 0 && !(s.top && leaf) {
		p.problem(s.id, "has an impossible count")
		return nil
	}
	all := make([]element, 0, count)
	last, next := s.low, pageHeader+count*elementSize
	for i := range count {
		e, end, ok := slot{pageHeader + i*elementSize, next, leaf}.read(page)
		inOrder := ok && (bytes.Compare(e.key, last) > 0 || i == 0 && bytes.Equal(e.key, last)) &&
			(s.high == nil || bytes.Compare(e.key, s.high) < 0)
		if !inOrder {
			p.problem(s.id, fmt.Sprintf("entry %d is damaged", i))
			continue
		}
		last, next = e.key, end
		all = append(all, e)
	}
	return all
}

// A slot is where an entry stands: its offset, and where its key must lie.
type slot struct {
	at, next int
	leaf     bool
}

// read reads the entry and says where its value ends.
func (s slot) read(page []byte) (e element, end int, ok bool) {
	raw := page[s.at : s.at+elementSize]
	word := func(i int) uint64 { return uint64(binary.LittleEndian.Uint32(raw[i:])) }
	var pos, ksize, vsize uint64
	if s.leaf {
		e.flags, pos, ksize, vsize = uint32(word(0)), word(4), word(8), word(12)
	} else {
		pos, ksize, e.page = word(0), word(4), binary.LittleEndian.Uint64(raw[8:])
	}
	from := uint64(s.at) + pos
	to := from + ksize + vsize
	if from != uint64(s.next) || ksize == 0 || e.flags > bucketElement || to > uint64(len(page)) {
		return element{}, 0, false
	}
	e.key = page[from : from+ksize]
	e.value = page[from+ksize : to]
	return e, int(to), true
}

func (p *pages) branch(s span, page []byte) {
	all := p.elements(s, page, false)
	for i, e := range all {
		high := s.high
		if i+1 < len(all) {
			high = all[i+1].key
		}
		p.subtree(span{s.path, e.page, e.key, high, false, s.depth + 1})
	}
}

func (p *pages) leaf(s span, page []byte) {
	for _, e := range p.elements(s, page, true) {
		switch {
		case e.flags&bucketElement != 0:
			p.nested(s, e)
		case len(s.path) == 0:
			p.problem(s.id, fmt.Sprintf("%q should be a bucket", e.key))
		default:
			p.visit(s.path, e.key, e.value)
		}
	}
}

// nested walks a bucket inside a bucket: small ones lie whole in the value.
func (p *pages) nested(s span, e element) {
	if len(e.value) < bucketHeader {
		p.problem(s.id, "holds a damaged bucket")
		return
	}
	path := append(s.path[:len(s.path):len(s.path)], string(e.key))
	if root := binary.LittleEndian.Uint64(e.value); root != 0 {
		p.bucket(path, root)
		return
	}
	inline := e.value[bucketHeader:]
	if len(inline) < pageHeader || binary.LittleEndian.Uint16(inline[8:]) != leafPage {
		p.problem(s.id, "holds a damaged bucket")
		return
	}
	p.leaf(span{path: path, id: s.id, top: true, depth: s.depth + 1}, inline)
}

// checkFreelist makes sure that no page in use is also free to be written.
func (p *pages) checkFreelist() {
	if p.freelist == noFreelist {
		return
	}
	page, err := p.claim(p.freelist)
	if err != nil {
		p.problem(p.freelist, err.Error())
		return
	}
	count, at := uint64(binary.LittleEndian.Uint16(page[10:])), uint64(pageHeader)
	if count == 0xFFFF {
		count, at = binary.LittleEndian.Uint64(page[at:]), at+8
	}
	if binary.LittleEndian.Uint16(page[8:]) != freelistPage || count > (uint64(len(page))-at)/8 {
		p.problem(p.freelist, "is no list of free pages")
		return
	}
	for ; count > 0; count, at = count-1, at+8 {
		id := binary.LittleEndian.Uint64(page[at:])
		if id < 2 || id >= p.high || p.seen[id] {
			p.problem(p.freelist, fmt.Sprintf("lists page %d as free", id))
			return
		}
		p.seen[id] = true
	}
}
