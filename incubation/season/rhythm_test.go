package season_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/season"
)

// laysEvery writes n clutches of a female, so many days apart from a first day.
func (k *keeper) laysEvery(first, female string, gaps ...int) {
	k.t.Helper()
	t := on(first)
	k.lays(t.Format(time.DateOnly), female, female+"-0")
	for i, gap := range gaps {
		t = t.AddDate(0, 0, gap)
		k.lays(t.Format(time.DateOnly), female, fmt.Sprintf("%s-%d", female, i+1))
	}
}

// The starting value is 21 days, 14 to 28 at 5 % and 95 %: S = 14/3.289707 =
// 4.25570, S² = 18.1110; h² = b² = 4.52774, w² = 9.05548.
func TestIntervals(t *testing.T) {
	for _, c := range []struct {
		says       string
		write      func(k *keeper)
		days, sd   float64
		own, herd  int
		low, hiigh float64
	}{
		{
			// The next one's variance is h²+b²+w² = S².
			says:  "nothing known: the starting value with its own range",
			write: func(*keeper) {},
			days:  21, sd: 4.2557, low: 21 - 1.28155*4.2557, hiigh: 21 + 1.28155*4.2557,
		},
		{
			// One interval of 28: w² stays (6·9.05548+0)/6. M = 21, V = h².
			// P = 1/(1/9.05548 + 1/9.05548) = 4.52774; f = (21+28)/2 = 24.5.
			// sd = √(4.52774+9.05548) = 3.68555.
			says:  "one of her own counts as much as all that was assumed: halfway from 21 to 28",
			write: func(k *keeper) { k.laysEvery("2026-03-01", "saffron", 28) },
			days:  24.5, sd: 3.68555, own: 1,
		},
		{
			// Pumice alone laid, at 28 and 28: k = 1/(b²+w²/2) with
			// w² = (6·9.05548+0)/7 = 7.76184: k = 1/8.40866 = 0.118925.
			// V = 1/(1/4.52774+0.118925) = 2.943090, M = V·(21/4.52774+28·0.118925)
			// = 23.450023. Saffron's: mean M, variance V+b² = 7.47083; next one's
			// sd = √(7.47083+7.76184) = 3.902910.
			says:  "another's intervals move the herd, and with it hers: 21 to 23.45",
			write: func(k *keeper) { k.laysEvery("2026-03-01", "pumice", 28, 28) },
			days:  23.450023, sd: 3.902910, herd: 2,
		},
		{
			// 20 and 24 of her own, mean 22, squares 8: w² = (54.3329+8)/7 = 8.90470.
			// P = 1/(1/9.05548 + 2/8.90470) = 2.98551; f = P·(21/9.05548+44/8.90470)
			// = 21.675462; sd = √(2.98551+8.90470) = 3.448219.
			says:  "what differs within her own widens the band",
			write: func(k *keeper) { k.laysEvery("2026-03-01", "saffron", 20, 24) },
			days:  21.670, sd: 3.4482, own: 2,
		},
		{
			says:  "sixty days between two layings are a pause, and no interval",
			write: func(k *keeper) { k.laysEvery("2026-02-01", "saffron", 60) },
			days:  21, sd: 4.2557,
		},
	} {
		t.Run(c.says, func(t *testing.T) {
			k := keeps(t)
			c.write(k)
			l := k.look("2026-05-20").Rhythm("saffron").Interval
			if math.Abs(l.Days-c.days) > 0.01 || math.Abs(l.SD-c.sd) > 0.001 {
				t.Errorf("%.5f days, sd %.5f; want %.5f, %.5f", l.Days, l.SD, c.days, c.sd)
			}
			if l.Own != c.own || l.Herd != c.herd {
				t.Errorf("rests on %d of her own and %d of the herd; want %d, %d", l.Own, l.Herd, c.own, c.herd)
			}
			if c.low != 0 && (math.Abs(l.Low-c.low) > 0.001 || math.Abs(l.High-c.hiigh) > 0.001) {
				t.Errorf("%.3f to %.3f days; want %.3f to %.3f", l.Low, l.High, c.low, c.hiigh)
			}
		})
	}
}

// A female's own rhythm wins over the herd's as she lays: shrinkage.
func TestHerOwnIntervalsWinInTheEnd(t *testing.T) {
	k := keeps(t)
	k.laysEvery("2025-02-01", "pumice", 15, 15, 15, 15, 15)
	k.laysEvery("2025-02-01", "saffron", 27, 27, 27, 27, 27)
	got := k.look("2026-01-01").Rhythm("saffron").Interval
	if got.Days < 25 || got.Days > 27 {
		t.Errorf("after five intervals of 27 days in a herd of 15 hers is %.1f", got.Days)
	}
}

func TestTheNextLaying(t *testing.T) {
	day := func(e *season.Expected) string {
		if e == nil {
			return "none"
		}
		return e.From.Format("01-02") + " " + e.Likely.Format("01-02") + " " + e.By.Format("01-02")
	}
	for _, c := range []struct {
		says  string
		write func(k *keeper)
		on    string
		want  string // from, likely, by
		comes float64
		past  bool
		rests string // said of what it goes by
	}{
		{
			// 1 March noon + 21 days; ±5.4539 days: 17 March 01:06 and 27 March 22:53.
			// k = 1: atLeast(2)/atLeast(1) of N(6, 1.8238): 0.99320/0.99872 = 0.99447.
			says:  "after one laying: 21 days later, 80 % from 17 to 27 March",
			write: func(k *keeper) { k.lays("2026-03-01", "saffron", "c-1") },
			on:    "2026-03-10", want: "03-17 03-22 03-27", comes: 0.9945,
		},
		{
			// Gravid from 18 March: +7 days, sd 14/3.2897 = 4.2557: 25 March. The
			// interval says 22 March with the same sd: both together the middle,
			// 23.5 March noon, sd 3.0092. Not laid by 18 March, when she was
			// looked at: z = -5.5/3.0092 = -1.8277, cut mass 0.03380. Points at
			// 0.0338+0.9662·(0.1, 0.5, 0.9): z = -1.1190, 0.04237, 1.3036:
			// 20 March 03:11, 23 March 15:03, 27 March 10:09 (from midnight).
			says: "white eggs date it with the interval: each counts by its certainty",
			write: func(k *keeper) {
				k.lays("2026-03-01", "saffron", "c-1")
				k.check("2026-03-18", "saffron", incubation.Gravid, "")
			},
			on: "2026-03-19", want: "03-20 03-24 03-27", comes: 1,
		},
		{
			// First paired on 1 March: 28 days, 15 to 42: sd 27/3.2897 = 8.2074;
			// noon of 29 March ± 10.518 days: from 18 March 23:34. A clutch follows by 0.9.
			says:  "before the first clutch the first pairing dates it",
			write: func(k *keeper) { k.pair("2026-03-01", "saffron", "flint", incubation.Accepted) },
			on:    "2026-03-05", want: "03-18 03-29 04-09", comes: 0.9,
		},
		{
			says:  "a refused pairing expects none",
			write: func(k *keeper) { k.pair("2026-03-01", "saffron", "flint", incubation.Refused) },
			on:    "2026-03-05", want: "none",
		},
		{
			says: "after follicles went back none is expected",
			write: func(k *keeper) {
				k.lays("2026-03-01", "saffron", "c-1")
				k.check("2026-03-18", "saffron", incubation.Resorbed, "")
			},
			on: "2026-03-19", want: "none",
		},
		{
			// From a quiet belly to a laying 24-√(4²+6²) = 16.789 days at the least:
			// quiet on 10 March, so not before 27 March 06:56. z = 4.789/4.2557 =
			// 1.1253, cut mass 0.8698; points at 0.8698+0.1302·(0.1, 0.5, 0.9): z =
			// 1.1891, 1.513, 2.2254: 27 March 13:27, 28 March 22:33, 31 March 23:17.
			says: "a quiet belly puts it off, whatever the interval says",
			write: func(k *keeper) {
				k.lays("2026-03-01", "saffron", "c-1")
				k.check("2026-03-10", "saffron", incubation.Quiet, "")
			},
			on: "2026-03-15", want: "03-27 03-28 03-31", comes: 0.9945,
			rests: "; quiet on 10 March, so not before 27 March",
		},
		{
			// Not before 30 March 06:56: z = 8.789/4.2557 = 2.065.
			says: "quiet so late that one clutch in fifty is left of the interval: nothing dates the next",
			write: func(k *keeper) {
				k.lays("2026-03-01", "saffron", "c-1")
				k.check("2026-03-14", "saffron", incubation.Quiet, "")
			},
			on: "2026-03-15", want: "none",
		},
		{
			says: "the whole window behind and seen without eggs: none is expected of that interval",
			write: func(k *keeper) {
				k.lays("2026-03-01", "saffron", "c-1")
				k.check("2026-03-30", "saffron", incubation.Quiet, "")
			},
			on: "2026-03-31", want: "none",
		},
		{
			says: "a look that was not sure rules nothing out: the window is past, and said so",
			write: func(k *keeper) {
				k.lays("2026-03-01", "saffron", "c-1")
				k.check("2026-03-30", "saffron", incubation.Unsure, "")
			},
			on: "2026-03-31", want: "03-17 03-22 03-27", comes: 0.9945, past: true,
		},
		{
			// The interval says 9 November ± 5.45; from shells of the 20th it is 17
			// days, sd 13/3.2897 = 3.9517: 7 December ± 5.064. The two never meet.
			says: "shells first seen after the interval's window: they alone date it",
			write: func(k *keeper) {
				k.lays("2025-10-19", "saffron", "c-1")
				k.check("2025-11-06", "saffron", incubation.Follicular, incubation.Small)
				k.check("2025-11-20", "saffron", incubation.Shelling, "")
			},
			on: "2025-11-26", want: "12-02 12-07 12-12", comes: 1, rests: "shells first seen on 20 November",
		},
		{
			// 25 November + 7 days, cut at z = -7/4.2557 = -1.645, mass 0.05; points at
			// 0.05+0.95·(0.1, 0.5, 0.9): z = -1.0581, 0.0627, 1.3106.
			says: "white eggs after the interval's window: they alone date it, from that look on",
			write: func(k *keeper) {
				k.lays("2025-10-19", "saffron", "c-1")
				k.check("2025-11-17", "saffron", incubation.Follicular, incubation.Large)
				k.check("2025-11-25", "saffron", incubation.Gravid, "")
			},
			on: "2025-11-26", want: "11-27 12-02 12-08", comes: 1, rests: "; she had not laid on 25 November",
		},
		{
			// z = 12/4.2557 = 2.8197, left 0.00240: z = 2.854, 3.036, 3.492.
			says: "white eggs still there after their own window: no window ends before the last look",
			write: func(k *keeper) {
				k.check("2026-03-01", "saffron", incubation.Gravid, "")
				k.check("2026-03-20", "saffron", incubation.Gravid, "")
			},
			on: "2026-03-21", want: "03-20 03-21 03-23", comes: 1, rests: "; she had not laid on 20 March",
		},
		{
			// z = 19/4.2557 = 4.4646; -ln(1-p)/z·4.2557 = 0.10, 0.66, 2.19 days later.
			says: "and far out in the tail it begins there as well",
			write: func(k *keeper) {
				k.check("2026-03-01", "saffron", incubation.Gravid, "")
				k.check("2026-03-27", "saffron", incubation.Gravid, "")
			},
			on: "2026-03-27", want: "03-27 03-28 03-29", comes: 1,
		},
	} {
		t.Run(c.says, func(t *testing.T) {
			k := keeps(t)
			c.write(k)
			e := k.look(c.on).Rhythm("saffron").Next
			if got := day(e); got != c.want {
				t.Fatalf("%s, want %s", got, c.want)
			}
			if e == nil {
				return
			}
			if !strings.Contains(e.Rests, c.rests) {
				t.Errorf("rests on %q, which does not say %q", e.Rests, c.rests)
			}
			if math.Abs(e.Comes-c.comes) > 0.002 || e.Past != c.past {
				t.Errorf("comes %.4f, past %v; want %.4f, %v", e.Comes, e.Past, c.comes, c.past)
			}
		})
	}
}

func TestWhenSeasonsOpen(t *testing.T) {
	for _, c := range []struct {
		says     string
		southern bool
		write    func(k *keeper)
		on       string
		likely   string
		look     string
		own      int
	}{
		{
			// 15 January; 5 to 95 %: 11 December to 6 March: sd 85/3.2897 = 25.838,
			// 80 %: 33.11 days before is 12 December.
			says: "nothing known: mid-winter in the north, looked for from the earliest",
			on:   "2025-11-01", likely: "2026-01-15", look: "2025-12-12",
		},
		{
			says: "half a year later in the south", southern: true,
			on: "2026-05-01", likely: "2026-07-15", look: "2026-06-11",
		},
		{
			// Follicles on 14 February 2025, 30 days after 15 January. S² = 667.6;
			// P halves: 15 + 30·½ = 30 January 2026. Looked for two weeks earlier.
			says: "one past year moves it halfway",
			write: func(k *keeper) {
				k.check("2025-01-20", "saffron", incubation.Quiet, "")
				k.check("2025-02-14", "saffron", incubation.Follicular, incubation.Small)
			},
			on: "2025-11-01", likely: "2026-01-30", look: "2026-01-16", own: 1,
		},
		{
			// A first laying on 27 March 2025 stands for a beginning 28 days before,
			// 27 February: 43 days after 15 January; halfway is 21.5.
			says: "a first laying stands for a beginning four weeks earlier",
			write: func(k *keeper) {
				k.lays("2025-03-27", "saffron", "c-1")
			},
			on: "2025-11-01", likely: "2026-02-05", look: "2026-01-22", own: 1,
		},
		{
			// By 17 February 2026 (15 January + 33.11 days) none was seen: 2027's.
			says: "an opening whose time is past is next year's",
			on:   "2026-02-18", likely: "2027-01-15", look: "2026-12-12",
		},
		{
			says: "and one that is not over yet is this year's",
			on:   "2026-02-16", likely: "2026-01-15", look: "2025-12-12",
		},
		{
			// 20 July is 178.6 days before 15 January. w² = 333.8·6/10 = 200.3, k =
			// 1/(166.9+66.8); V = 97.4, M = -74.4; 1/(1/264.3+3/200.3) = 53.3, times
			// (-74.4/264.3-3·178.6/200.3) = -157.6 days: 10 August. That of 2026, from
			// which on the season of 2027 is counted, is past.
			says: "a herd that opens in the summer opens next summer, not the last",
			write: func(k *keeper) {
				for _, id := range []string{"saffron", "pumice"} {
					k.check("2023-07-20", id, incubation.Follicular, incubation.Small)
					k.check("2024-07-20", id, incubation.Follicular, incubation.Small)
					k.check("2025-07-20", id, incubation.Follicular, incubation.Small)
				}
			},
			on: "2026-11-26", likely: "2027-08-10", look: "2027-07-27", own: 3,
		},
		{
			// From 10 February 2025, begun 13 January, on to 12 November: one
			// beginning, two days before the 15th; halfway is one. The season of
			// 2026 runs already.
			says: "a season into which she laid on from the last has no beginning",
			write: func(k *keeper) {
				k.laysEvery("2025-02-10", "saffron", 25, 25, 25, 25, 25, 25, 25, 25, 25, 25, 25)
			},
			on: "2026-01-01", likely: "2027-01-14", look: "2026-12-31", own: 1,
		},
	} {
		t.Run(c.says, func(t *testing.T) {
			k := keeps(t)
			if c.southern {
				k.add(begin, book.KindSeason, book.SeasonData{Southern: true})
			}
			if c.write != nil {
				c.write(k)
			}
			o := k.look(c.on).Rhythm("saffron").Opens
			if got := o.Likely.Format(time.DateOnly); got != c.likely {
				t.Errorf("opens %s, want %s", got, c.likely)
			}
			if got := o.Look.Format(time.DateOnly); got != c.look {
				t.Errorf("looked for from %s, want %s", got, c.look)
			}
			if o.Own != c.own {
				t.Errorf("rests on %d of her years, want %d", o.Own, c.own)
			}
		})
	}
}

func TestOtherLengths(t *testing.T) {
	k := keeps(t)
	// Cycles unbred begin on 1 February, 3 March and 2 April: 30 and 30 days.
	for _, d := range []string{"2026-02-01", "2026-03-03", "2026-04-02"} {
		k.check(d, "saffron", incubation.Follicular, incubation.Small)
		quiet := on(d).AddDate(0, 0, 20).Format(time.DateOnly)
		k.check(quiet, "saffron", incubation.Quiet, "")
	}
	// Pumice: white eggs on 1 March, laid on the 5th; resorbed on 1 April,
	// follicles on 31 May: 60 days.
	k.check("2026-03-01", "pumice", incubation.Gravid, "")
	k.lays("2026-03-05", "pumice", "c-1")
	k.check("2026-04-01", "pumice", incubation.Resorbed, "")
	k.check("2026-05-31", "pumice", incubation.Follicular, incubation.Small)
	h := k.look("2026-06-10")
	if l := h.Rhythm("saffron").Cycle; l.Own != 2 || math.Abs(l.Days-30) > 0.01 {
		t.Errorf("two cycles of 30 days give %+v", l)
	}
	if l := h.Rhythm("pumice").Gravid; l.Own != 1 || math.Abs(l.Days-5.5) > 0.01 { // halfway from 7 to 4
		t.Errorf("white eggs for 4 days give %+v", l)
	}
	if l := h.Rhythm("pumice").Pause; l.Own != 1 || math.Abs(l.Days-67.5) > 0.01 { // halfway from 75 to 60
		t.Errorf("a pause of 60 days gives %+v", l)
	}
	if l := h.Rhythm("saffron").Cycle; l.Days > 31 || h.Rhythm("nobody").Cycle.Own != 0 {
		t.Errorf("a female that the book does not know has the herd's: %+v", h.Rhythm("nobody").Cycle)
	}
}
