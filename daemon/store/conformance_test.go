package store_test

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"clutchd/alerts"
	"clutchd/daemon/store"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A plain is what a store should be: maps.
type plain struct {
	entries  map[uint64]book.Entry
	states   map[string]alerts.State
	notices  map[uint64]alerts.Notice
	cursors  map[string]uint64
	readings map[string]map[int64]incubation.Reading
	untimed  map[string]map[string]map[int64]incubation.Reading
	past     map[string]alerts.State // by occurrence
	next     uint64
}

// A pair is a store and the maps it must agree with.
type pair struct {
	t   *rapid.T
	dir string
	s   *store.Store
	m   plain
}

// Random operations on a store and on plain maps must give the same, over
// any number of closings and openings.
func TestStoreAgreesWithPlainMaps(t *testing.T) {
	base := folder(t)
	run := 0
	rapid.Check(t, func(rt *rapid.T) {
		run++
		p := &pair{t: rt, dir: fmt.Sprintf("%s-%d", base, run), m: plain{
			entries: map[uint64]book.Entry{}, states: map[string]alerts.State{},
			notices: map[uint64]alerts.Notice{}, cursors: map[string]uint64{},
			past:     map[string]alerts.State{},
			readings: map[string]map[int64]incubation.Reading{},
			untimed:  map[string]map[string]map[int64]incubation.Reading{}, next: 1,
		}}
		p.reopen(rt)
		defer func() { p.s.Close() }()
		rt.Repeat(map[string]func(*rapid.T){
			"append": p.append, "burst": p.burst, "stage": p.stage, "settle": p.settle,
			"commit": p.commit, "deliver": p.deliver, "reserve": p.reserve,
			"reopen": p.reopen, "range": p.part, "": p.check,
		})
	})
}

func (p *pair) must(err error) {
	p.t.Helper()
	if err != nil {
		p.t.Fatal(err)
	}
}

func (p *pair) reopen(rt *rapid.T) {
	if p.s != nil {
		p.must(p.s.Close())
	}
	s, err := store.Open(rt.Context(), p.dir, store.Options{})
	p.must(err)
	p.s = s
	if d := s.Damage(); len(d) > 0 {
		rt.Fatalf("a sound store is told damaged: %q", d)
	}
}

var probeNames = rapid.SampledFrom([]string{"shelf-1", "shelf-2", "28-00000a", "ü"})

// readingAt draws a reading: any second of a few days around a year's end.
func readingAt(rt *rapid.T) incubation.Reading {
	start := time.Date(2025, 12, 30, 0, 0, 0, 0, time.UTC)
	r := incubation.Reading{
		Probe: probeNames.Draw(rt, "probe"),
		Time: start.Add(time.Duration(rapid.IntRange(0, 4*24*3600*1000).Draw(rt, "ms")) *
			time.Millisecond),
		Has:     incubation.Quantity(rapid.IntRange(1, 3).Draw(rt, "has")),
		Quality: incubation.Quality(rapid.IntRange(0, 2).Draw(rt, "quality")),
	}
	if r.Has&incubation.Temperature != 0 {
		r.Celsius = incubation.Celsius(rapid.Float64Range(-55, 125).Draw(rt, "celsius"))
	}
	if r.Has&incubation.RelativeHumidity != 0 {
		r.Humidity = incubation.Humidity(rapid.Float64Range(0, 1.05).Draw(rt, "humidity"))
	}
	return r
}

func (p *pair) store(r incubation.Reading) {
	r.Time = r.Time.Truncate(time.Second)
	if p.m.readings[r.Probe] == nil {
		p.m.readings[r.Probe] = map[int64]incubation.Reading{}
	}
	p.m.readings[r.Probe][r.Time.Unix()] = r
}

func (p *pair) append(rt *rapid.T) {
	all := rapid.SliceOfN(rapid.Custom(readingAt), 0, 12).Draw(rt, "readings")
	p.must(p.s.Append(rt.Context(), all))
	for _, r := range all {
		p.store(r)
	}
}

// burst is a stretch of regular readings, long enough that windows close.
func (p *pair) burst(rt *rapid.T) {
	first := readingAt(rt)
	n := rapid.IntRange(1, 600).Draw(rt, "n")
	var all []incubation.Reading
	for i := range n {
		r := first
		r.Time = first.Time.Add(time.Duration(i) * time.Minute)
		all = append(all, r)
	}
	p.must(p.s.Append(rt.Context(), all))
	for _, r := range all {
		p.store(r)
	}
}

func (p *pair) stage(rt *rapid.T) {
	boot := rapid.SampledFrom([]string{"boot-a", "boot-b"}).Draw(rt, "boot")
	var all []incubation.Untimed
	for range rapid.IntRange(0, 80).Draw(rt, "n") {
		r := readingAt(rt)
		elapsed := time.Duration(rapid.IntRange(0, 20000).Draw(rt, "elapsed")) * time.Second
		r.Time = time.Time{}
		all = append(all, incubation.Untimed{Boot: boot, Elapsed: elapsed, Reading: r})
		if p.m.untimed[boot] == nil {
			p.m.untimed[boot] = map[string]map[int64]incubation.Reading{}
		}
		if p.m.untimed[boot][r.Probe] == nil {
			p.m.untimed[boot][r.Probe] = map[int64]incubation.Reading{}
		}
		p.m.untimed[boot][r.Probe][int64(elapsed/time.Second)] = r
	}
	p.must(p.s.Stage(rt.Context(), all))
}

func (p *pair) settle(rt *rapid.T) {
	boot := rapid.SampledFrom([]string{"boot-a", "boot-b", "boot-never"}).Draw(rt, "boot")
	booted := readingAt(rt).Time
	n, err := p.s.Settle(rt.Context(), boot, booted)
	p.must(err)
	want := 0
	for _, bySecond := range p.m.untimed[boot] {
		for elapsed, r := range bySecond {
			r.Time = booted.Add(time.Duration(elapsed) * time.Second)
			p.store(r)
			want++
		}
	}
	delete(p.m.untimed, boot)
	if n != want {
		rt.Fatalf("settle said %d readings, want %d", n, want)
	}
}

func (p *pair) commit(rt *rapid.T) {
	id := rapid.Uint64Range(1, 40)
	entry := book.Entry{
		Seq: id.Draw(rt, "seq"), At: noon, Made: noon, Zone: "Europe/Vienna", Kind: book.KindNote,
		Data: []byte(fmt.Sprintf(`{"text":"n%d"}`, rapid.IntRange(0, 9).Draw(rt, "text"))),
	}
	alert := rapid.SampledFrom([]string{"too-warm.place.a", "stale.probe.b", "clock.system."})
	value := rapid.Float64Range(0, 40).Draw(rt, "value")
	state := alerts.State{
		Alert: alert.Draw(rt, "alert"), Rule: "r", Phase: alerts.Active, Value: &value,
	}
	forget := rapid.SliceOfN(alert, 0, 2).Draw(rt, "forget")
	notice := alerts.Notice{ID: id.Draw(rt, "notice"), Reason: "raised", Time: noon, State: state}
	past := rapid.SliceOfN(rapid.Custom(pastAt), 0, 3).Draw(rt, "past")
	drop := rapid.SampledFrom([]time.Time{{}, {}, {}, noon.AddDate(0, 0, -3)}).Draw(rt, "drop")
	p.must(p.s.CommitBook(rt.Context(), []book.Entry{entry}, alerts.Changes{
		States: []alerts.State{state}, Forget: forget, Notices: []alerts.Notice{notice},
		Past: past, DropPast: drop,
	}))
	for _, s := range past {
		p.m.past[s.Occurrence] = s
	}
	maps.DeleteFunc(p.m.past, func(_ string, s alerts.State) bool { return s.Raised.Before(drop) })
	if _, has := p.m.entries[entry.Seq]; !has {
		p.m.entries[entry.Seq] = entry
	}
	for _, a := range forget {
		delete(p.m.states, a)
	}
	p.m.states[state.Alert] = state
	if _, has := p.m.notices[notice.ID]; !has {
		p.m.notices[notice.ID] = notice
	}
}

// pastAt draws a past occurrence of a few days; a clock that was set under it
// may give it another time of raising each time.
func pastAt(rt *rapid.T) alerts.State {
	ms := rapid.IntRange(-5*24*3600*1000, 2000).Draw(rt, "raised")
	return alerts.State{
		Alert: "too-warm.place.a", Occurrence: fmt.Sprintf("o%d", rapid.IntRange(1, 12).Draw(rt, "o")),
		Raised: noon.Add(time.Duration(ms) * time.Millisecond),
		Text:   rapid.SampledFrom([]string{"it is", "it was"}).Draw(rt, "text"),
	}
}

// wantPast gives the log's occurrences raised in [from, to) in order.
func (p *pair) wantPast(from, to time.Time) []alerts.State {
	var all []alerts.State
	for _, s := range p.m.past {
		if !s.Raised.Before(from) && s.Raised.Before(to) {
			all = append(all, s)
		}
	}
	slices.SortFunc(all, func(a, b alerts.State) int {
		return cmp.Or(a.Raised.Compare(b.Raised), cmp.Compare(a.Occurrence, b.Occurrence))
	})
	return all
}

func (p *pair) deliver(rt *rapid.T) {
	dests := []string{"broker", "hook"}
	dest := rapid.SampledFrom(dests).Draw(rt, "destination")
	id := rapid.Uint64Range(1, 40).Draw(rt, "id")
	p.must(p.s.Delivered(rt.Context(), dest, id, dests))
	p.m.cursors[dest] = max(p.m.cursors[dest], id)
	passed := min(p.m.cursors["broker"], p.m.cursors["hook"])
	maps.DeleteFunc(p.m.notices, func(id uint64, _ alerts.Notice) bool { return id <= passed })
}

func (p *pair) reserve(rt *rapid.T) {
	n := rapid.Uint64Range(1, 1000).Draw(rt, "n")
	first, err := p.s.Reserve(rt.Context(), n)
	p.must(err)
	if first != p.m.next {
		rt.Fatalf("reserved from %d, want %d", first, p.m.next)
	}
	p.m.next += n
}

// part compares a random range of one probe.
func (p *pair) part(rt *rapid.T) {
	probe := probeNames.Draw(rt, "probe")
	a, b := readingAt(rt).Time, readingAt(rt).Time
	p.compare(rt, probe, a, b)
}

func (p *pair) compare(rt *rapid.T, probe string, from, to time.Time) {
	var got, want []incubation.Reading
	for r, err := range p.s.Range(rt.Context(), probe, from, to) {
		p.must(err)
		got = append(got, r)
	}
	for _, r := range p.m.readings[probe] {
		if !r.Time.Before(from) && r.Time.Before(to) {
			want = append(want, r)
		}
	}
	slices.SortFunc(want, func(a, b incubation.Reading) int { return a.Time.Compare(b.Time) })
	if slices.EqualFunc(want, got, alike) {
		return
	}
	diff := gocmp.Diff(want, got, gocmp.Comparer(alike), cmpopts.EquateEmpty())
	rt.Fatalf("range of %s from %s to %s (-want +got):\n%s", probe, from, to, diff)
}

// alike reports whether two readings are the same on the store's grids: half
// a step apart at most.
func alike(a, b incubation.Reading) bool {
	return a.Probe == b.Probe && a.Time.Equal(b.Time) && a.Has == b.Has && a.Quality == b.Quality &&
		math.Abs(float64(a.Celsius-b.Celsius)) <= 0.005+1e-9 &&
		math.Abs(float64(a.Humidity-b.Humidity)) <= 0.00005+1e-9
}

// check compares everything.
func (p *pair) check(rt *rapid.T) {
	ctx := rt.Context()
	entries, err := p.s.Entries(ctx)
	p.must(err)
	states, err := p.s.States(ctx)
	p.must(err)
	notices, cursors, err := p.s.Outbox(ctx)
	p.must(err)
	newest, err := p.s.Newest(ctx)
	p.must(err)
	var want time.Time
	for _, bySecond := range p.m.readings {
		for _, r := range bySecond {
			if r.Time.After(want) {
				want = r.Time
			}
		}
	}
	same(rt, "entries", byKey(p.m.entries), entries)
	same(rt, "states", byKey(p.m.states), states)
	same(rt, "outbox", byKey(p.m.notices), notices)
	same(rt, "cursors", p.m.cursors, cursors)
	same(rt, "newest", want, newest)
	for _, from := range []time.Time{{}, noon.AddDate(0, 0, -2)} {
		past, err := p.s.Past(ctx, from, noon)
		p.must(err)
		same(rt, "past", p.wantPast(from, noon), past)
	}
	for probe := range p.m.readings {
		p.compare(rt, probe, time.Time{}, time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC))
	}
}

func same[T any](rt *rapid.T, what string, want, got T) {
	rt.Helper()
	if diff := gocmp.Diff(want, got, cmpopts.EquateEmpty()); diff != "" {
		rt.Fatalf("%s (-want +got):\n%s", what, diff)
	}
}

func byKey[K cmp.Ordered, V any](m map[K]V) []V {
	var all []V
	for _, k := range slices.Sorted(maps.Keys(m)) {
		all = append(all, m[k])
	}
	return all
}
