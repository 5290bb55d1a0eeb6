package proof_test

import (
	"flag"
	"fmt"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
)

var (
	wholeYear = flag.Bool("year", false, "live the whole healthy year, in months (minutes of all cores)")
	yearBeat  = flag.Duration("beat", 30*time.Second, "of the daemon and its probes in the healthy year")
)

// wanted is the criterion. A notice of the healthy year is wanted if a person
// who knew all would have liked to get it at that hour:
//
//   - what an egg's own dates say (its sex is being set, hatch near), as notices;
//   - overdue, of an egg that never hatched;
//   - whatever is told from the power cut's beginning until six hours after its
//     end; how much that is is counted apart;
//   - a silence that lasts an hour and more.
//
// Everything else cries wolf: reminders and what comes back as well. Ends of
// what was told count with their beginning and are not counted again.
func (s *script) wanted(n alerts.Notice, behind []alerts.Notice) bool {
	if egg := eggOf(n.Rule, n.Subject.ID); egg != "" {
		return n.Severity == alerts.Info || s.lost[egg] == n.Rule
	}
	if s.aroundCut(n.Time) {
		return true
	}
	if n.Rule != "stale" && n.Rule != "silent-source" && n.Rule != "eggs-unwatched" {
		return false
	}
	for _, end := range behind {
		if end.Occurrence == n.Occurrence && end.Reason == alerts.ReasonCleared {
			return end.Time.Sub(n.Since) >= time.Hour
		}
	}
	return true // it is silent to the end
}

// aroundCut is the time in which the power cut may be told of.
func (s *script) aroundCut(t time.Time) bool {
	cut := s.day(cutDay, cutHour)
	return t.After(cut) && t.Before(cut.Add(cutLength+6*time.Hour))
}

// disturbs reports whether a notice rings: not an end, and not what the keeper
// did.
func disturbs(n alerts.Notice) bool {
	switch n.Reason {
	case alerts.ReasonCleared, alerts.ReasonLatched, alerts.ReasonUnlatched, alerts.ReasonAcknowledged,
		alerts.ReasonShelved, alerts.ReasonWithdrawn, alerts.ReasonPassed, alerts.ReasonEased:
		return false
	}
	return true
}

// A tally is what was told in a stretch of the year.
type tally struct {
	days              float64
	wanted, unwanted  int
	critical          int // unwanted and critical
	atCut             int // told of the cut
	lines             []string
	all               []alerts.Notice
	byRule            map[string]int // unwanted
	eggNotices, steps int
	away              bool // the cut was told as such
}

// liveYear lives a stretch of the healthy year, days [from, to).
func liveYear(t *testing.T, from, to int, beat time.Duration) tally {
	out := tally{byRule: map[string]int{}, days: float64(to - from)}
	synctest.Test(t, func(t *testing.T) {
		s := newScript(time.Now())
		time.Sleep(time.Until(s.day(from, 0)))
		h := newHouse(t, beat, s.spec)
		h.start()
		h.furnish()
		done := 0
		for end := s.day(to, 0); time.Now().Before(end); h.step() {
			for ; done < len(s.all) && !s.all[done].at.After(time.Now()); done++ {
				s.all[done].do(h, s.all[done].at.After(s.day(from, 0)))
			}
		}
		out.count(s, h.post.since(0))
		out.steps = h.steps
	})
	return out
}

// count sorts the notices by the criterion.
func (y *tally) count(s *script, all []alerts.Notice) {
	y.all = all
	for i, n := range all {
		mark := "  "
		y.away = y.away || n.Rule == "away" && s.aroundCut(n.Time)
		switch wanted := s.wanted(n, all[i:]); {
		case !disturbs(n):
		case wanted && eggOf(n.Rule, n.Subject.ID) != "":
			y.eggNotices++
		case wanted:
			y.wanted++
			mark = "+ "
			if s.aroundCut(n.Time) {
				y.atCut++
			}
		default:
			y.unwanted++
			y.byRule[n.Rule]++
			mark = "! "
			if n.Severity == alerts.Critical {
				y.critical++
			}
		}
		y.lines = append(y.lines, mark+line(n))
	}
}

func (y tally) String() string {
	return fmt.Sprintf("%.0f days, %d ticks: %d notices about eggs' dates, %d wanted besides (%d of the cut), "+
		"%d unwanted of which %d critical %v", y.days, y.steps, y.eggNotices, y.wanted, y.atCut, y.unwanted, y.critical, y.byRule)
}

// check wants at most as many unwanted notices, and none of them critical.
func (y tally) check(t *testing.T, most int) {
	t.Helper()
	t.Log(y)
	for _, l := range y.lines {
		t.Log(l)
	}
	if y.critical > 0 {
		t.Errorf("%d critical notices that nobody would have wanted", y.critical)
	}
	if y.unwanted > most {
		t.Errorf("%d notices in %.0f days that nobody would have wanted, %d are allowed", y.unwanted, y.days, most)
	}
}

// TestHealthyDays lives the days around the power cut: a dial is turned, doors
// open every day. Ticks are a minute apart.
func TestHealthyDays(t *testing.T) {
	if underRace {
		t.Skip("left to the plain and the 32-bit run: TestCourse goes the same ways under the race detector")
	}
	t.Parallel()
	y := liveYear(t, warmer-1, cutDay+1, time.Minute)
	y.check(t, 0)
	if y.atCut == 0 || y.atCut > 8 {
		t.Errorf("%d notices of the power cut", y.atCut)
	}
	if !y.away {
		t.Error("nobody said that nothing was watched during the cut")
	}
}

// TestHealthyYear lives all of it, each month in a house of its own whose book
// holds what came before.
func TestHealthyYear(t *testing.T) {
	if !*wholeYear {
		t.Skip("-year lives it")
	}
	all := make([]tally, 12)
	t.Run("month", func(t *testing.T) {
		for m := range all {
			t.Run(fmt.Sprint(m+1), func(t *testing.T) {
				t.Parallel()
				all[m] = liveYear(t, m*366/12, (m+1)*366/12, *yearBeat)
				fmt.Printf("month %d: %v\n", m+1, all[m])
				all[m].check(t, 1)
			})
		}
	})
	sum := tally{byRule: map[string]int{}}
	for _, y := range all {
		sum.add(y)
	}
	fmt.Println("the healthy year:", sum)
}

func (y *tally) add(o tally) {
	y.days, y.steps, y.wanted, y.unwanted = y.days+o.days, y.steps+o.steps, y.wanted+o.wanted, y.unwanted+o.unwanted
	y.critical, y.atCut, y.eggNotices = y.critical+o.critical, y.atCut+o.atCut, y.eggNotices+o.eggNotices
	for r, n := range o.byRule {
		y.byRule[r] += n
	}
}
