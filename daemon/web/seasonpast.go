package web

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"clutchd/incubation/season"
)

// sharesFrom is how many eggs must have ended before their share is told: of
// fewer, each one would move it by more than 20 points. Judgement.
const sharesFrom = 5

func (v *visit) pastSeasons(b *seasonBody, f season.Fertility) {
	b.Shared, b.Sireless = f.Shared, f.Sireless
	causes := map[string]int{}
	for _, s := range f.Seasons {
		l := seasonLine{
			Name: s.Season.Name, Females: fmt.Sprint(s.Females), Clutches: fmt.Sprint(s.Clutches), Eggs: fmt.Sprint(s.Eggs),
			Hatched: ended(s.Hatched, s.Tally), Fertile: fertile(s.Tally),
			Pairings: fmt.Sprint(s.Pairings + s.Refusals),
			First:    v.say.day(s.Season.From.Add(time.Duration(s.FirstLaid * 24 * float64(time.Hour)))),
		}
		if s.Refusals > 0 {
			l.Pairings += fmt.Sprintf(", %d refused", s.Refusals)
		}
		if s.Clutches == 0 {
			l.First = "–"
		}
		if l.Interval = "–"; s.Intervals > 0 {
			l.Interval = fmt.Sprintf("%s days (%d)", plainly(s.Interval, 0), s.Intervals)
		}
		b.Past = append(b.Past, l)
		for cause, n := range s.Causes {
			causes[cause] += n
		}
	}
	for _, c := range slices.SortedFunc(maps.Keys(causes), func(x, y string) int {
		return cmp.Or(cmp.Compare(causes[y], causes[x]), strings.Compare(x, y))
	}) {
		b.Causes = append(b.Causes, fact{cmp.Or(capital(c), "No cause written down"), fmt.Sprint(causes[c])})
	}
	b.Females, b.Males, b.Pairs = v.fertileLines(f.Females), v.fertileLines(f.Males), v.fertileLines(f.Pairs)
}

func (v *visit) fertileLines(all []season.Named) []fertileLine {
	var out []fertileLine
	for _, n := range all {
		var who []string
		href := ""
		for _, id := range []string{n.Female, n.Male} {
			if id == "" {
				continue
			}
			who = append(who, v.snap.Book.Name(id))
			if a := v.snap.Book.Animals[id]; a != nil && href == "" {
				href = pageOf(a)
			}
		}
		if n.Eggs == 0 {
			continue
		}
		out = append(out, fertileLine{
			Who: strings.Join(who, " × "), Href: href, Clutches: plural(n.Clutches, "clutch", "clutches"),
			Eggs:    plural(n.Eggs, "egg", "eggs"),
			Fertile: fertile(n.Tally), Hatched: ended(n.Hatched, n.Tally), Lost: causesOf(n.Tally),
		})
	}
	slices.SortFunc(out, func(a, b fertileLine) int { return asCounted(a.Who, b.Who) })
	return out
}

// ended tells a count of the eggs that have ended, with its share from
// sharesFrom on.
func ended(n int, t season.Tally) string { return countOf(n, t.Hatched+t.Failed) }

// fertile tells how many were seen to live, of those of which that is known.
func fertile(t season.Tally) string { return countOf(t.Fertile, t.Fertile+t.Clear) }

func countOf(n, of int) string {
	switch {
	case of == 0:
		return "–"
	case of < sharesFrom:
		return fmt.Sprintf("%d of %d", n, of)
	}
	return fmt.Sprintf("%d of %d, %s", n, of, percent(float64(n)/float64(of)))
}

// causesOf tells what was lost, and why as far as that was written down.
func causesOf(t season.Tally) string {
	if t.Failed == 0 {
		return "none"
	}
	var parts []string
	for _, c := range slices.Sorted(maps.Keys(t.Causes)) {
		parts = append(parts, fmt.Sprintf("%d %s", t.Causes[c], cmp.Or(c, "without a cause")))
	}
	return because(fmt.Sprint(t.Failed), strings.Join(parts, ", "))
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
