package review

import (
	"math"
	"time"

	"clutchd/incubation"
)

// A Point is what was read in one even part of a time, extremes kept. N is 0
// where nothing was.
type Point struct {
	Time time.Time          `json:"time"` // its beginning
	Low  incubation.Celsius `json:"low_celsius"`
	Mean incubation.Celsius `json:"mean_celsius"`
	High incubation.Celsius `json:"high_celsius"`
	N    int                `json:"readings"`
}

// A Thinner thins readings into even columns as they stream by: memory for
// the columns alone, whatever is read.
type Thinner struct {
	from, to time.Time
	width    time.Duration
	points   []Point
}

// NewThinner makes at most so many columns of [from, to).
func NewThinner(from, to time.Time, points int) *Thinner {
	points = max(1, points)
	width := max(time.Second, (to.Sub(from)+time.Duration(points)-1)/time.Duration(points))
	n := int((to.Sub(from) + width - 1) / width)
	f := &Thinner{from: from, to: to, width: width, points: make([]Point, max(1, n))}
	for i := range f.points {
		f.points[i].Time = from.Add(time.Duration(i) * width)
	}
	return f
}

// Width is the time that a column stands for.
func (f *Thinner) Width() time.Duration { return f.width }

// Add takes a reading; outside [from, to) it is not counted.
func (f *Thinner) Add(t time.Time, c incubation.Celsius) {
	if t.Before(f.from) || !t.Before(f.to) {
		return
	}
	k := &f.points[t.Sub(f.from)/f.width]
	if k.N == 0 || c < k.Low {
		k.Low = c
	}
	if k.N == 0 || c > k.High {
		k.High = c
	}
	k.Mean += c // the sum, until Points
	k.N++
}

// Points ends the thinning and gives all columns, the empty ones too.
func (f *Thinner) Points() []Point {
	for i := range f.points {
		if k := &f.points[i]; k.N > 1 {
			k.Mean = min(k.High, max(k.Low, k.Mean/incubation.Celsius(k.N)))
		}
	}
	return f.points
}

// read gives the columns in which something was read, to a thousandth.
func read(all []Point) []Point {
	out := []Point{}
	for _, k := range all {
		if k.N > 0 {
			out = append(out, Point{k.Time.UTC(), thousandths(k.Low), thousandths(k.Mean), thousandths(k.High), k.N})
		}
	}
	return out
}

// thousandths rounds away what sums of floats leave behind.
func thousandths[T ~float64](v T) T { return T(math.Round(float64(v)*1000)/1000 + 0) } // no −0
