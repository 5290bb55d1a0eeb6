package store_test

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// A disk is what a power cut may leave of the operations so far: those since
// the last sync may each have happened, or not, or in part.
type disk struct {
	names, sureNames map[string]int
	now, sure        map[int][]byte // content by file: as written, as synced
	pending          map[int][]op   // since the file's last sync
	acks             acks
}

func newDisk() *disk {
	return &disk{
		names: map[string]int{}, sureNames: map[string]int{}, now: map[int][]byte{},
		sure: map[int][]byte{}, pending: map[int][]op{}, acks: acks{},
	}
}

// apply gives content after a write or a change of size.
func apply(content []byte, o op) []byte {
	size := o.at + int64(len(o.data))
	for int64(len(content)) < size {
		content = append(content, make([]byte, size-int64(len(content)))...)
	}
	if o.kind == "cut" {
		return content[:o.at]
	}
	copy(content[o.at:], o.data)
	return content
}

// play takes one operation and shows every state that a power cut during it
// or right after it may leave.
func (d *disk) play(o op, show func(kind string, names map[string]int, content map[int][]byte)) {
	switch o.kind {
	case "ack":
		d.acks.note(o.name, o.step)
		return
	case "make":
		d.names[o.name] = o.file
		d.now[o.file], d.sure[o.file] = nil, nil
	case "rename":
		d.names[o.to] = d.names[o.name]
		delete(d.names, o.name)
	case "remove":
		delete(d.names, o.name)
	case "sync":
		d.sure[o.file] = slices.Clone(d.now[o.file])
		d.pending[o.file] = nil
	case "dirsync":
		d.sureNames = maps.Clone(d.names)
	case "data", "cut":
		d.torn(o, show)
		d.now[o.file] = apply(slices.Clone(d.now[o.file]), o)
		d.pending[o.file] = append(d.pending[o.file], o)
		d.dropped(o.file, show)
	}
	show("all written", d.names, d.now)
	if !maps.Equal(d.names, d.sureNames) {
		show("names as synced", d.sureNames, d.now)
	}
}

// with gives the content with one file's replaced.
func (d *disk) with(file int, content []byte) map[int][]byte {
	all := maps.Clone(d.now)
	all[file] = content
	return all
}

// torn shows the operation cut off between sectors.
func (d *disk) torn(o op, show func(string, map[string]int, map[int][]byte)) {
	const sector = 512
	step := max(sector, len(o.data)/2/sector*sector)
	for n := sector; n < len(o.data); n += step {
		part := o
		part.data = o.data[:n]
		show("torn", d.names, d.with(o.file, apply(slices.Clone(d.now[o.file]), part)))
	}
}

// dropped shows the file without each of the operations since its last sync,
// and without all of them.
func (d *disk) dropped(file int, show func(string, map[string]int, map[int][]byte)) {
	show("none since sync", d.names, d.with(file, d.sure[file]))
	for skip := range d.pending[file] {
		content := slices.Clone(d.sure[file])
		for i, o := range d.pending[file] {
			if i != skip {
				content = apply(content, o)
			}
		}
		show("one dropped", d.names, d.with(file, content))
	}
}

// A tally counts states and bad ones by kind.
type tally struct {
	states, bad map[string]int
	first       error
}

// cutEverywhere replays operations and opens every state a power cut may
// leave, in base.
func cutEverywhere(t *testing.T, ops []op, base string) tally {
	t.Helper()
	n := tally{states: map[string]int{}, bad: map[string]int{}}
	d := newDisk()
	shown := 0
	for i, o := range ops {
		d.play(o, func(kind string, names map[string]int, content map[int][]byte) {
			if shown++; shown%sampled != 0 {
				return
			}
			dir := filepath.Join(base, "state")
			lay(t, dir, names, content)
			n.states[kind]++
			if err := d.acks.kept(dir); err != nil {
				n.bad[kind]++
				if n.first == nil {
					n.first = fmt.Errorf("%s at operation %d (%s): %w", kind, i, o.kind, err)
				}
			}
			if err := os.RemoveAll(dir); err != nil {
				t.Fatal(err)
			}
		})
	}
	return n
}

func lay(t *testing.T, dir string, names map[string]int, content map[int][]byte) {
	t.Helper()
	if err := os.MkdirAll(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	for name, file := range names {
		if err := os.WriteFile(filepath.Join(dir, name), content[file], 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// Whenever the power goes, from the very first file on, what was acknowledged
// is there on the next opening and nothing is found damaged.
func TestPowerLossKeepsWhatWasAcknowledged(t *testing.T) {
	dir := folder(t)
	ops := trace(t, dir, stepsEnv+"=31")
	n := cutEverywhere(t, ops, filepath.Dir(dir))
	t.Logf("%d operations, states %v, bad %v", len(ops), n.states, n.bad)
	if n.first != nil {
		t.Error(n.first)
	}
	if len(n.states) < 5 {
		t.Errorf("not every kind of state was tried: %v", n.states)
	}
}

// The control: without syncs the same replay finds losses, so it can fail.
func TestPowerLossReplayFindsLossesWithoutSync(t *testing.T) {
	dir := folder(t)
	ops := trace(t, dir, stepsEnv+"=3", noSyncEnv+"=1")
	n := cutEverywhere(t, ops, filepath.Dir(dir))
	t.Logf("%d operations, states %v, bad %v", len(ops), n.states, n.bad)
	if n.first == nil {
		t.Error("a store that never syncs lost nothing: the replay proves nothing")
	}
}
