package learn

import (
	"cmp"
	"math"
	"slices"
	"time"

	"clutchd/incubation"
)

// A Hindsight holds what was to be said of past eggs against what came of
// them: by the ensemble that ships, which has never seen them, and by what it
// had learned from the clutches that ended before each. Probabilities are
// ratios, differences days.
type Hindsight struct {
	Eggs    []Past `json:"eggs"` // newest first
	Shipped Marks  `json:"shipped"`
	Learned Marks  `json:"learned"`
}

// A Past is one egg that ended.
type Past struct {
	Egg    string `json:"egg"`
	Clutch string `json:"clutch"`
	// Found is when it was found hatched; absent: it was lost.
	Found time.Time `json:"found,omitzero"`
	Sex   string    `json:"sex,omitempty"` // as seen
	// Shipped and Learned are what its whole record said.
	Shipped Said `json:"shipped"`
	Learned Said `json:"learned"`
}

// Said is what an ensemble made of an egg's whole record.
type Said struct {
	Earliest time.Time `json:"earliest,omitzero"`
	Likely   time.Time `json:"likely,omitzero"`
	Latest   time.Time `json:"latest,omitzero"`
	Male     float64   `json:"male_probability"`
	// Late is how many days after Likely it was found; negative: before.
	Late   float64 `json:"late_days"`
	Inside bool    `json:"inside"` // found between Earliest and Latest
}

// Marks are how well an ensemble did.
type Marks struct {
	Hatched   int     `json:"hatched"`    // eggs counted
	Inside    int     `json:"inside"`     // of them within the window, which is to hold 9 of 10
	OffDays   float64 `json:"off_days"`   // mean distance from Likely
	LateDays  float64 `json:"late_days"`  // mean difference: above 0, later than said
	WidthDays float64 `json:"width_days"` // mean length of the windows
	Sexed     int     `json:"sexed"`
	// Brier is the mean squared difference between what was said of a male and
	// what came: 0 is knowing, 0.25 a coin (Brier 1950).
	Brier       float64 `json:"brier"`
	Reliability []Band  `json:"reliability"`
}

// A Band is the eggs of which about the same was said.
type Band struct {
	From  float64 `json:"from"`
	To    float64 `json:"to"`
	Eggs  int     `json:"eggs"`
	Said  float64 `json:"said"`  // mean chance of a male
	Males int     `json:"males"` // that came
	// Low and High hold the share of males behind such a count with 95 %
	// (Wilson 1927): with few eggs, nearly anything.
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// bands are how finely what was said of sex is looked at. With a keeper's
// numbers more would be empty.
var bands = [...]float64{0, 0.1, 0.35, 0.65, 0.9, 1}

// LookBack gives the hindsight over clutches of which something has ended, the
// latest Most of them.
func (p Class) LookBack(clutches []Clutch) (Hindsight, error) {
	clutches = ordered(clutches)
	out := Hindsight{Eggs: []Past{}}
	if len(clutches) == 0 {
		return out, nil
	}
	tables := newLecture(p, clutches).tables()
	fresh := view{p.Base, shares(make([]float64, len(p.Base.Members)))}
	so := pupil{Class: p, sums: make([]float64, len(p.Base.Members))}
	for k := range clutches {
		learned, err := so.view(clutches[:k])
		if err != nil {
			return out, err
		}
		for _, e := range clutches[k].Eggs {
			if past, ok := pastOf(clutches[k].ID, e, fresh, learned); ok {
				out.Eggs = append(out.Eggs, past)
			}
		}
		for i, l := range tables[k] {
			so.sums[i] += l
		}
	}
	out.Shipped = marks(out.Eggs, func(p Past) Said { return p.Shipped })
	out.Learned = marks(out.Eggs, func(p Past) Said { return p.Learned })
	slices.Reverse(out.Eggs)
	return out, nil
}

// A view is members and what each counts.
type view struct {
	ensemble *incubation.Ensemble
	weights  []float64
}

// A pupil learns as it goes. Where too few members are left it has others
// drawn anew, not for each clutch but when it has seen half as many again.
type pupil struct {
	Class
	sums  []float64
	drawn view
	seen  int // when they were drawn
}

func (u *pupil) view(clutches []Clutch) (view, error) {
	weights := shares(u.sums)
	if enough(Effective(weights), u.Base) {
		return view{u.Base, weights}, nil
	}
	if u.drawn.ensemble == nil || len(clutches)-u.seen >= max(3, u.seen/2) {
		r, err := u.From(clutches)
		if err != nil {
			return view{}, err
		}
		u.drawn = view{r.Ensemble, shares(make([]float64, len(r.Ensemble.Members)))}
		u.seen = len(clutches)
	}
	return u.drawn, nil
}

func pastOf(clutch string, o Outcome, shipped, learned view) (Past, bool) {
	if o.Track == nil || o.at().IsZero() {
		return Past{}, false
	}
	p := Past{Egg: o.Egg, Clutch: clutch, Found: o.By, Sex: o.Sex}
	var ok bool
	if p.Shipped, ok = said(o, shipped); !ok {
		return Past{}, false
	}
	p.Learned, ok = said(o, learned)
	return p, ok
}

// said is what weighted members say; false: nothing.
func said(o Outcome, v view) (Said, bool) {
	a := o.Track.Under(v.ensemble).Ask(incubation.Question{Now: o.at()})
	if a.Chances == nil {
		return Said{}, false
	}
	out := Said{}
	for i, c := range a.Chances {
		out.Male += v.weights[i] * c
	}
	from := o.Track.Laying().From
	date := func(share float64) time.Time {
		days := quantile(a.HatchDays, v.weights, share)
		if days > 365 {
			return time.Time{}
		}
		return from.Add(time.Duration(days * 24 * float64(time.Hour))).Truncate(time.Minute)
	}
	out.Earliest, out.Likely, out.Latest = date(0.05), date(0.5), date(0.95)
	if !o.By.IsZero() && !out.Likely.IsZero() {
		out.Late = o.By.Sub(out.Likely).Hours() / 24
		out.Inside = !o.By.Before(out.Earliest) && (out.Latest.IsZero() || !o.By.After(out.Latest))
	}
	return out, true
}

// quantile is the value that a share of the weight does not exceed.
func quantile(values, weights []float64, share float64) float64 {
	order := make([]int, len(values))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(values[a], values[b]) })
	sum := 0.0
	for _, i := range order {
		if sum += weights[i]; sum >= share {
			return values[i]
		}
	}
	return values[order[len(order)-1]]
}

func marks(eggs []Past, of func(Past) Said) Marks {
	out := Marks{Reliability: make([]Band, len(bands)-1)}
	for k := range out.Reliability {
		out.Reliability[k].From, out.Reliability[k].To = bands[k], bands[k+1]
	}
	for _, e := range eggs {
		s := of(e)
		if !e.Found.IsZero() && !s.Latest.IsZero() {
			out.Hatched++
			if s.Inside {
				out.Inside++
			}
			out.OffDays += math.Abs(s.Late)
			out.LateDays += s.Late
			out.WidthDays += s.Latest.Sub(s.Earliest).Hours() / 24
		}
		if e.Sex != "" {
			out.sexed(s.Male, e.Sex == incubation.Male)
		}
	}
	if n := float64(out.Hatched); n > 0 {
		out.OffDays, out.LateDays, out.WidthDays = out.OffDays/n, out.LateDays/n, out.WidthDays/n
	}
	if n := float64(out.Sexed); n > 0 {
		out.Brier /= n
	}
	for k := range out.Reliability {
		out.Reliability[k].close()
	}
	return out
}

func (m *Marks) sexed(chance float64, male bool) {
	b := &m.Reliability[0]
	for k := range m.Reliability {
		if chance >= bands[k] {
			b = &m.Reliability[k]
		}
	}
	came := 0.0
	if male {
		came = 1
		b.Males++
	}
	m.Sexed++
	m.Brier += (chance - came) * (chance - came)
	b.Eggs++
	b.Said += chance
}

// close turns sums into means.
func (b *Band) close() {
	b.High = 1
	if b.Eggs == 0 {
		return
	}
	n := float64(b.Eggs)
	b.Said /= n
	b.Low, b.High = Wilson(b.Males, b.Eggs)
}

// Wilson is the 95 % score interval of a share of which so many of n were seen
// (Wilson 1927). Of none it is everything.
func Wilson(seen, n int) (low, high float64) {
	if n == 0 {
		return 0, 1
	}
	const z = 1.959963984540054
	p, m := float64(seen)/float64(n), float64(n)
	middle := p + z*z/(2*m)
	half := z * math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	return max((middle-half)/(1+z*z/m), 0), min((middle+half)/(1+z*z/m), 1)
}
