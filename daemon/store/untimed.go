package store

import (
	"bytes"
	"cmp"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"sync"
	"time"

	"go.etcd.io/bbolt"

	"clutchd/incubation"
)

const (
	untimedName = "untimed.db"
	bootsBucket = "boots" // by number: the boot's id
	// settleRows is how many minutes are settled in one step.
	settleRows = 60
)

// An untimed is the readings that wait for their true time. Its file exists
// only while there are any: most machines never have one. Rows lie by number
// of the boot and minute since it.
type untimed struct {
	cfg fileConfig
	mu  sync.Mutex
	f   *file // nil: not open
}

// Stage stores readings whose true time is not known. A reading of a boot,
// probe and second of it that is stored already replaces it. A reading that
// can never be stored is left out and logged, as by Append.
func (s *Store) Stage(ctx context.Context, readings []incubation.Untimed) error {
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("stage readings: %w", err)
	}
	if err := s.untimed.stage(s.elapsed(readings)); err != nil {
		return fmt.Errorf("stage readings: %w", err)
	}
	return nil
}

// elapsed gives the samples of readings by boot, timed from it.
func (s *Store) elapsed(readings []incubation.Untimed) map[string][]named {
	all := map[string][]named{}
	for _, u := range readings {
		smp, why := sampleOf(u.Reading, int64(u.Elapsed/time.Second))
		switch {
		case u.Boot == "" || len(u.Boot) > maxName:
			why = "its boot has no id, or too long a one"
		case u.Elapsed < 0:
			why = "it is older than its boot"
		}
		if why != "" {
			s.refuse(u.Reading, why)
			continue
		}
		all[u.Boot] = append(all[u.Boot], named{u.Reading.Probe, smp})
	}
	return all
}

func (u *untimed) stage(byBoot map[string][]named) error {
	u.mu.Lock()
	defer u.mu.Unlock()
	if len(byBoot) == 0 {
		return nil
	}
	if err := u.open(); err != nil {
		return err
	}
	return u.f.update(func(tx *bbolt.Tx) error {
		for boot, all := range byBoot {
			number, err := bootNumber(tx, boot, true)
			if err != nil {
				return err
			}
			if err := putSamples(tx, rowKeys{be32(number)}, inOrder(all)); err != nil {
				return err
			}
		}
		return nil
	})
}

// open opens the file, creating it; the caller holds mu.
func (u *untimed) open() error {
	if u.f != nil && u.f.broken.Load() {
		u.f.close() // its handle only
		u.f = nil
	}
	if u.f != nil {
		return nil
	}
	f, err := u.cfg.open(kind{
		name: untimedName, layout: untimedLayout, schema: untimedSchema, check: allSealed{}, renewed: skipUntimed,
	})
	u.f = f
	return err
}

// skipUntimed keeps the numbers of lost boots and probes from being given
// again.
func skipUntimed(tx *bbolt.Tx) error {
	if err := skipNumbers(tx, bootsBucket); err != nil {
		return err
	}
	return skipNumbers(tx, probesBucket)
}

// bootNumber gives the number of a boot; 0: it is not known and was not to be
// entered.
func bootNumber(tx *bbolt.Tx, boot string, enter bool) (uint32, error) {
	b := tx.Bucket([]byte(bootsBucket))
	c := b.Cursor()
	for key, value := c.First(); key != nil; key, value = c.Next() {
		name, err := unseal(bootsBucket, key, value)
		if err == nil && len(key) == 4 && string(name) == boot {
			return binary.BigEndian.Uint32(key), nil
		}
	}
	if !enter {
		return 0, nil
	}
	number, err := newNumber(b)
	if err != nil {
		return 0, fmt.Errorf("number boot: %w", err)
	}
	return number, putSealed(tx, bootsBucket, be32(number), []byte(boot))
}

// Settle gives the staged readings of a boot their true time, which is known
// once the time of the boot is, and returns how many there were. It works in
// steps: each stores its readings before it drops them, so that a power cut
// loses none and the next Settle goes on. Times come out up to two seconds
// early, never late.
func (s *Store) Settle(ctx context.Context, boot string, booted time.Time) (int, error) {
	n, err := s.untimed.settle(boot, func(u []incubation.Untimed) error {
		readings := make([]incubation.Reading, len(u))
		for i := range u {
			readings[i] = u[i].Timed(booted)
		}
		return s.Append(ctx, readings)
	})
	if err != nil {
		return n, fmt.Errorf("settle readings: %w", err)
	}
	return n, nil
}

func (u *untimed) settle(boot string, store func([]incubation.Untimed) error) (int, error) {
	u.mu.Lock()
	defer u.mu.Unlock()
	if _, err := os.Stat(u.cfg.path(untimedName)); errors.Is(err, os.ErrNotExist) {
		return 0, nil
	}
	if err := u.open(); err != nil {
		return 0, err
	}
	for total := 0; ; {
		b, err := u.batch(boot)
		if err != nil {
			return total, err
		}
		if len(b.keys) == 0 {
			return total, u.dropIfEmpty()
		}
		if err := store(b.readings); err != nil {
			return total, err
		}
		if err := u.f.update(b.drop); err != nil {
			return total, err
		}
		total += len(b.readings)
	}
}

// A batch is some minutes of a boot on their way into the history.
type batch struct {
	keys     [][]byte
	readings []incubation.Untimed
	damaged  [][]byte
}

// batch reads the oldest minutes of a boot.
func (u *untimed) batch(boot string) (*batch, error) {
	b := &batch{}
	err := u.f.view(func(tx *bbolt.Tx) error {
		number, err := bootNumber(tx, boot, false)
		if err != nil || number == 0 {
			return err
		}
		keys, probes := rowKeys{be32(number)}, names(tx)
		c := tx.Bucket([]byte(rowsBucket)).Cursor()
		key, value := c.Seek(keys.prefix)
		for ; bytes.HasPrefix(key, keys.prefix) && len(b.keys) < settleRows; key, value = c.Next() {
			base, ok := keys.base(key)
			at := spot{bytes.Clone(key), base}
			r, err := at.read(value, 0)
			if !ok || err != nil {
				b.damaged = append(b.damaged, at.key)
			}
			b.keys = append(b.keys, at.key)
			b.add(boot, r, probes)
		}
		return nil
	})
	return b, err
}

func (b *batch) add(boot string, r row, probes map[uint32]string) {
	for _, g := range r {
		name := cmp.Or(probes[g.probe], fmt.Sprintf("unnamed-%d", g.probe))
		for _, smp := range g.samples {
			elapsed := time.Duration(min(smp.at, math.MaxInt64/int64(time.Second))) * time.Second
			reading := smp.reading(name)
			reading.Time = time.Time{}
			b.readings = append(b.readings,
				incubation.Untimed{Boot: boot, Elapsed: elapsed, Reading: reading})
		}
	}
}

// drop deletes the batch's rows, keeping aside those that could not be read.
func (b *batch) drop(tx *bbolt.Tx) error {
	for _, key := range b.damaged {
		if err := condemn(tx, rowsBucket, key); err != nil {
			return err
		}
	}
	for _, key := range b.keys {
		if err := tx.Bucket([]byte(rowsBucket)).Delete(key); err != nil {
			return err
		}
	}
	return nil
}

// dropIfEmpty removes the file once nothing waits in it: bbolt's files never
// shrink. One with damaged rows is kept.
func (u *untimed) dropIfEmpty() error {
	empty := false
	err := u.f.view(func(tx *bbolt.Tx) error {
		waiting, _ := tx.Bucket([]byte(rowsBucket)).Cursor().First()
		empty = waiting == nil && tx.Bucket([]byte(damagedBucket)) == nil
		return nil
	})
	if err != nil || !empty {
		return err
	}
	if err := u.shut(); err != nil {
		return err
	}
	if err := os.Remove(u.cfg.path(untimedName)); err != nil {
		return fmt.Errorf("remove %s: %w", untimedName, err)
	}
	return syncFolder(u.cfg.dir)
}

// shut closes the file; the caller holds mu.
func (u *untimed) shut() error {
	if u.f == nil {
		return nil
	}
	f := u.f
	u.f = nil
	return f.close()
}

func (u *untimed) close() error {
	u.mu.Lock()
	defer u.mu.Unlock()
	return u.shut()
}
