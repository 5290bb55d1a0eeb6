package incubation

import "time"

// recentBlocks is a day of them.
const recentBlocks = int64(24 * time.Hour / BlockLength)

// recent keeps the blocks of the last day, for the mean that the future runs
// on when there is no plan.
type recent struct {
	celsius [recentBlocks]float32
	number  [recentBlocks]int32 // the block's number since 1970, to know old ones by
}

func blockNumber(start time.Time) int64 { return start.Unix() / int64(BlockLength/time.Second) }

func (r *recent) add(b Block) {
	n := blockNumber(b.Start)
	slot := (n%recentBlocks + recentBlocks) % recentBlocks
	r.celsius[slot], r.number[slot] = float32(b.Celsius), int32(n)
}

// mean is over the blocks of the day that ended with the given one.
func (r *recent) mean(last Block) float64 {
	newest := blockNumber(last.Start)
	sum, n := 0.0, 0
	for i, number := range r.number {
		if age := newest - int64(number); age >= 0 && age < recentBlocks {
			sum += float64(r.celsius[i])
			n++
		}
	}
	if n == 0 {
		return float64(last.Celsius)
	}
	return sum / float64(n)
}
