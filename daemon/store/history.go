package store

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"slices"
	"sync"
	"time"

	"go.etcd.io/bbolt"
)

// maxOpen is how many years are kept open: on a 32-bit machine each map of a
// file takes address space.
const maxOpen = 3

var errNoYear = errors.New("nothing is stored for that year")

// A history is the folder's readings: a file for each UTC year. A year that
// cannot be opened is an error of its own and keeps nothing else from
// working.
type history struct {
	cfg fileConfig

	writing sync.Mutex // held through a write and the packing behind it
	packer  *packer    // under writing

	// gate is held for reading while a file is used, for writing while one is
	// opened or closed.
	gate  sync.RWMutex
	files map[int]*file

	mu     sync.Mutex
	years  []int // that have a file, ascending
	newest int64 // second of the newest stored reading; 0: none
}

func openHistory(c fileConfig) (*history, error) {
	h := &history{cfg: c, files: map[int]*file{}}
	var err error
	if h.packer, err = newPacker(); err != nil {
		return nil, err
	}
	if err := h.list(); err != nil {
		return nil, err
	}
	for _, year := range slices.Backward(slices.Clone(h.years)) {
		err := h.with(year, false, func(f *file) error {
			at, err := newestIn(f)
			h.saw(at)
			return err
		})
		if errors.Is(err, ErrNewer) {
			return nil, orClose(err, h.close)
		}
		if err != nil {
			c.damage.tell("The readings of %d cannot be read: %v.", year, err)
		}
		if h.newestAt() != 0 {
			break
		}
	}
	return h, nil
}

// list finds the years that have a file.
func (h *history) list() error {
	entries, err := os.ReadDir(h.cfg.dir)
	if err != nil {
		return fmt.Errorf("list store: %w", err)
	}
	for _, e := range entries {
		var year int
		n, _ := fmt.Sscanf(e.Name(), "history-%d.db", &year)
		if n == 1 && e.Name() == yearName(year) {
			h.years = append(h.years, year)
		}
	}
	slices.Sort(h.years)
	return nil
}

func yearName(year int) string { return fmt.Sprintf("history-%04d.db", year) }

func yearOf(second int64) int { return time.Unix(second, 0).UTC().Year() }

// yearStart gives the second at which a year begins.
func yearStart(year int) int64 { return time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC).Unix() }

// with runs fn with the file of a year, which stays open meanwhile. create
// also sets a file that broke under a write aside and begins a new one.
func (h *history) with(year int, create bool, fn func(*file) error) error {
	for {
		if done, err := h.withOpen(year, create, fn); done {
			return err
		}
		if err := h.open(year, create); err != nil {
			return err
		}
	}
}

// withOpen runs fn if the year is open and fit for use.
func (h *history) withOpen(year int, create bool, fn func(*file) error) (done bool, err error) {
	h.gate.RLock()
	defer h.gate.RUnlock()
	f := h.files[year]
	if f == nil || create && f.broken.Load() {
		return false, nil
	}
	return true, fn(f)
}

// open opens a year, closing another if too many are open.
func (h *history) open(year int, create bool) error {
	h.gate.Lock()
	defer h.gate.Unlock()
	if f := h.files[year]; f != nil {
		if !f.broken.Load() {
			return nil
		}
		delete(h.files, year)
		f.close() // its handle only; what it says no longer matters
	}
	if !create && !h.has(year) {
		return errNoYear
	}
	if err := h.makeRoom(year); err != nil {
		return err
	}
	f, err := h.cfg.open(h.kind(year))
	if err != nil {
		return err
	}
	h.files[year] = f
	h.mu.Lock()
	defer h.mu.Unlock()
	if i, found := slices.BinarySearch(h.years, year); !found {
		h.years = slices.Insert(h.years, i, year)
	}
	return nil
}

// kind says how a year's file is opened.
func (h *history) kind(year int) kind {
	return kind{
		name: yearName(year), layout: historyLayout, schema: historySchema,
		check:   &yearChecker{fit: map[string]bool{}, tell: h.cfg.damage.tell, name: yearName(year)},
		renewed: func(tx *bbolt.Tx) error { return skipNumbers(tx, probesBucket) },
	}
}

// makeRoom closes the open year furthest from the wanted one.
func (h *history) makeRoom(wanted int) error {
	if len(h.files) < maxOpen {
		return nil
	}
	open := h.openYears()
	far := slices.MaxFunc(open, func(a, b int) int {
		return cmp.Compare(max(a-wanted, wanted-a), max(b-wanted, wanted-b))
	})
	f := h.files[far]
	delete(h.files, far)
	return f.close()
}

// openYears gives the open years, oldest first; the caller holds gate.
func (h *history) openYears() []int {
	open := make([]int, 0, len(h.files))
	for year := range h.files {
		open = append(open, year)
	}
	slices.Sort(open)
	return open
}

func (h *history) close() error {
	h.writing.Lock()
	defer h.writing.Unlock()
	h.gate.Lock()
	defer h.gate.Unlock()
	var errs []error
	for _, f := range h.files {
		errs = append(errs, f.close())
	}
	h.files = map[int]*file{}
	return errors.Join(errs...)
}

func (h *history) has(year int) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	_, found := slices.BinarySearch(h.years, year)
	return found
}

// yearsWithin gives the years with a file that overlap seconds [from, to).
func (h *history) yearsWithin(from, to int64) []int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return slices.DeleteFunc(slices.Clone(h.years), func(year int) bool {
		return yearStart(year) >= to || yearStart(year+1) <= from
	})
}

// saw notes the second of a stored reading.
func (h *history) saw(at int64) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.newest = max(h.newest, at)
}

func (h *history) newestAt() int64 {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.newest
}
