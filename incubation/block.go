package incubation

import (
	"math"
	"time"
)

// BlockLength is the step in which a record runs. Blocks are aligned to
// multiples of it, in UTC.
//
// Inside a block the temperature is its mean. Where the rate is a straight
// line that is exact. About its bend, near 30 °C, a thermostat that swings by
// half a degree either way in forty minutes comes out 0.01 % too far in
// development, one that swings by four degrees 0.8 %: see TestBlockLength.
const BlockLength = 10 * time.Minute

// Lapse is how long a reading speaks for the time after it: only a longer
// stretch without readings is a gap. Judgement: three steps of a slow probe.
const Lapse = 30 * time.Minute

// UnknownAccuracy is taken for a probe that nobody stated an accuracy for, K,
// two standard deviations: the figure that makers give for common one-wire
// chips, the coarsest of the probes usual for this job.
const UnknownAccuracy = 0.5

// doubtWeight is how much a doubtful reading counts beside a good one; a
// broken one does not count at all there. Judgement.
const doubtWeight = 0.25

// A Block is what one probe, or the mean of several, said in one aligned step.
type Block struct {
	Start   time.Time
	Celsius Celsius // mean, offsets applied
	// Covered is the share of the block that readings speak for, 0 to 1.
	Covered float64
	// Probe is whose value it is; of a mean, all of them, joined by "+".
	Probe    string
	Position Position
	// Accuracy is how far the value may be off, K, two standard deviations;
	// zero: unknown.
	Accuracy float64
	// Doubt is what it may be off beside that, K, two standard deviations,
	// where every reading in it was doubtful; zero: one at least was not.
	Doubt float64
	// Shelf names the box and the incubator it stood in, where the air of the
	// incubator is all that was measured: see Track.SetShelf. May be empty.
	Shelf string
	// Hot and Cold are what of it lay beyond the Aligner's limits.
	Hot, Cold Spell
}

// End is where the block ends; it is not part of it.
func (b Block) End() time.Time { return b.Start.Add(BlockLength) }

// An Aligner turns one probe's readings, offsets applied, into aligned blocks.
// Its zero value is ready. Readings must come oldest first; inside the open
// block any order will do, and whatever is older than that is dropped.
type Aligner struct {
	// Accuracy is put on every block: the maker's figure, K; zero: unknown.
	Accuracy float64
	// Limits are what Hot and Cold of a block are counted beyond; the zero
	// value counts nothing.
	Limits LimitSet

	probe  string
	start  time.Time // of the open block, or of the last one
	end    time.Time // of the open block
	floor  time.Time // end of the last closed block
	newest time.Time // of all readings taken
	silent time.Duration
	kept   tally // what may count
	broken tally // what counts where nothing else was said
}

// A tally is the readings of one block that count alike.
type tally struct {
	sum    float64
	weight float64 // zero: there is none
	count  float64 // readings
	sound  bool    // one of them is not doubtful
	doubt  float64 // the largest, K
	hot    beyond  // Limits
	cold   beyond
}

func (t *tally) add(r Reading, limits LimitSet) {
	weight := 1.0
	if r.Quality.Doubtful() {
		weight = doubtWeight
	} else {
		t.sound = true
	}
	t.doubt = max(t.doubt, r.Quality.Doubt())
	t.sum += weight * float64(r.Celsius)
	t.weight += weight
	t.count++
	if high := limits.High.Value; high > 0 {
		t.hot.add(float64(r.Celsius) - high)
	}
	if low := limits.Low.Value; low > 0 {
		t.cold.add(low - float64(r.Celsius))
	}
}

// beyond is readings on the far side of a limit.
type beyond struct {
	sum, n float64 // K, and how many
	worst  float64 // K
}

func (t *beyond) add(kelvin float64) {
	if kelvin > 0 {
		t.sum += kelvin
		t.n++
		t.worst = max(t.worst, kelvin)
	}
}

// spell is them as a share of all readings of a block that covers so many
// minutes; sign is that of the side.
func (t beyond) spell(limit, sign, all, minutes float64) Spell {
	if t.n == 0 {
		return Spell{}
	}
	return Spell{
		DegreeMinutes: t.sum / all * minutes, Minutes: t.n / all * minutes,
		Worst: Celsius(limit + sign*t.worst),
	}
}

// Add takes a reading and gives the block that it closed, if any. Readings
// without a temperature, of a second probe, or for a closed block are dropped.
func (a *Aligner) Add(r Reading) (Block, bool) {
	if r.Has&Temperature == 0 || !finite(float64(r.Celsius)) ||
		a.probe != "" && r.Probe != a.probe || r.Time.Before(a.start) || r.Time.Before(a.floor) {
		return Block{}, false
	}
	a.probe = r.Probe
	var closed Block
	var ok bool
	if a.opened() && !r.Time.Before(a.end) {
		closed, ok = a.Close(r.Time)
	}
	if !a.opened() {
		a.open(r.Time)
	}
	a.silent = min(a.silent, max(r.Time.Sub(a.start), 0))
	if r.Quality.Broken() {
		a.broken.add(r, a.Limits)
	} else {
		a.kept.add(r, a.Limits)
	}
	if r.Time.After(a.newest) {
		a.newest = r.Time
	}
	return closed, ok
}

func (a *Aligner) opened() bool { return a.kept.weight+a.broken.weight > 0 }

func (a *Aligner) open(first time.Time) {
	a.start = first.UTC().Truncate(BlockLength)
	a.end = a.start.Add(BlockLength)
	a.silent = 0
	if a.newest.IsZero() || first.Sub(a.newest) > Lapse {
		a.silent = first.Sub(a.start)
	}
}

// Close gives the open block once now is at or past its end.
func (a *Aligner) Close(now time.Time) (Block, bool) {
	if !a.opened() || now.Before(a.end) {
		return Block{}, false
	}
	t := a.kept
	if t.weight == 0 {
		t = a.broken
	}
	b := Block{
		Start: a.start, Celsius: Celsius(t.sum / t.weight), Probe: a.probe,
		Covered:  1 - float64(a.silent)/float64(BlockLength),
		Accuracy: a.Accuracy,
	}
	if !t.sound {
		b.Doubt = t.doubt
	}
	minutes := b.Covered * BlockLength.Minutes()
	b.Hot = t.hot.spell(a.Limits.High.Value, 1, t.count, minutes)
	b.Cold = t.cold.spell(a.Limits.Low.Value, -1, t.count, minutes)
	a.floor = b.End()
	a.kept, a.broken = tally{}, tally{}
	return b, true
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
