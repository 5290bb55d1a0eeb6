package web

import (
	"strconv"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/review"
)

func TestWords(t *testing.T) {
	w := words{now: time.Date(2026, 6, 14, 10, 0, 0, 0, time.UTC), zone: time.FixedZone("CEST", 7200)}
	f := w
	f.fahrenheit = true
	on := func(month time.Month, day, hour int) time.Time {
		return time.Date(2026, month, day, hour, 0, 0, 0, time.UTC)
	}
	by := func(month time.Month, day, hour int) incubation.TSP {
		return incubation.TSP{LastChange: on(month, day, hour).Add(13 * time.Minute)}
	}
	tsp := func(state incubation.TSPState, ahead float64) *incubation.Estimate {
		return &incubation.Estimate{
			TSP:   incubation.TSP{State: state, Done: 0.4, Opens: on(6, 1, 8), Closes: on(6, 12, 8)},
			Basis: incubation.Basis{Measured: 1 - ahead, Projected: ahead},
		}
	}
	for _, c := range []struct{ sentence, got, want string }{
		{"one decimal", w.temp(31.46), "31.5"},
		{"no negative zero", w.temp(-0.04), "0.0"},
		{"a true minus sign", w.temp(-3.2), "−3.2"},
		{"°F", f.temp(37.5), "99.5"},
		{"a difference in °F has no 32 in it", f.difference(1.5), "+2.7"},
		{"no negative zero in JSON", strconv.FormatFloat(thousandths(-0.0001), 'g', -1, 64), "0"},
		{"no difference", w.difference(-0.01), "0.0"},
		{"a small share is not nothing", share(0.004), "under 1\u00a0%"},
		{"a large one is not certainty", share(0.997), "over 99\u00a0%"},
		{"nothing is nothing", share(0), "0\u00a0%"},
		{"a range", between(0.583, 0.9), "58–90\u00a0%"},
		{"a range of one", between(0.021, 0.023), "2\u00a0%"},
		{"a range whose low end is not nothing", between(0.002, 0.05), "under 1–5\u00a0%"},
		{"a range whose high end is not all", between(0.95, 0.997), "95–over 99\u00a0%"},
		{"a range of nearly nothing", between(0.001, 0.004), "under 1\u00a0%"},
		{"all there is", between(0, 1), "0–100\u00a0%"},
		{"dates of one month", w.days(on(6, 4, 8), on(6, 11, 8)), "4–11 Jun"},
		{"dates of two", w.days(on(5, 28, 8), on(6, 3, 8)), "28 May – 3 Jun"},
		{"dates over a new year, each with its own", w.days(on(12, 12, 8), on(14, 17, 8)), "12 Dec 2026 – 17 Feb 2027"},
		{"a day of 59.7 that has not ended", dayWord(on(4, 5, 0), on(4, 64, 16).Add(48*time.Minute)), "day 59"},
		{"a moment before the laying", dayWord(on(4, 5, 0), on(4, 4, 0)), "day 0"},
		{"what rests on one thing", restsOn(incubation.Basis{Measured: 1}, false), "all of the TSP measured"},
		{"what rests on nearly one thing", restsOn(incubation.Basis{Measured: 0.993, Gap: 0.004}, false), "of the TSP 99\u00a0% measured"},
		{"dates of one day, in the room's zone", w.days(on(6, 4, 22), on(6, 5, 8)), "5 Jun"},
		{"a date of another year says so", w.day(time.Date(2027, 1, 3, 9, 0, 0, 0, time.UTC)), "3 Jan 2027"},
		{"today needs no date", w.moment(on(6, 14, 5)), "07:00"},
		{"another day does", w.moment(on(6, 13, 5)), "13 Jun 07:00"},
		{"a far day to decide by: the last whole one", w.decideBy(by(6, 25, 5)), "24 Jun"},
		{"a near one: to the hour", w.decideBy(by(6, 15, 5)), "15 Jun, about 07:00"},
		{"not the day that a midnight begins", w.decideBy(by(6, 15, 22)), "15 Jun, about midnight"},
		{"within the hour", w.decideBy(incubation.TSP{LastChange: w.now.Add(time.Minute)}), "now"},
		{
			"before the TSP it is a forecast", w.tspText(tsp("before", 0), true),
			"not open yet: opens about 1 Jun, closes about 12 Jun; the sex is a forecast",
		},
		{"an egg lost before it", w.tspText(tsp("before", 0), false), "never opened: it would have about 1 Jun"},
		{
			"an egg lost in it", w.tspText(tsp("open", 0.6), false),
			"open since about 1 Jun, 40\u00a0% of it done, would have closed about 12 Jun",
		},
		{
			"after it the sex is fixed", w.tspText(tsp("closed", 0), true),
			"closed about 12 Jun: the sex is fixed, temperature no longer changes it",
		},
		{
			"just after it some doubt is left", w.tspText(tsp("closed", 0.01), true),
			"closed about 12 Jun: the sex is all but fixed",
		},
		{"seconds", w.age(w.now.Add(-8 * time.Second)), "8 s ago"},
		{"minutes, rounded down", w.age(w.now.Add(-119 * time.Second)), "1 min ago"},
		{"hours up to two days", w.age(w.now.Add(-47 * time.Hour)), "47 h ago"},
		{"days", w.age(w.now.Add(-49 * time.Hour)), "2 days ago"},
		{"a clock that steps back makes no negative age", w.age(w.now.Add(time.Minute)), "0 s ago"},
		{"never", w.age(time.Time{}), "never read"},
		{"a list", list([]string{"a", "b", "c"}), "a, b and c"},
	} {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.sentence, c.got, c.want)
		}
	}
	for _, x := range []words{w, f} {
		for milli := 0; milli <= 50000; milli += 137 {
			c := x.celsius(float64(milli) / 1000)
			if back := x.celsius(x.degrees(c)); back != c {
				t.Fatalf("%v °C comes back from %s as %v", c, x.Unit(), back)
			}
		}
	}
}

func TestExcursionsBeforeTheEggsSayThatTheyMayNotHaveBeenLaid(t *testing.T) {
	w := words{now: time.Date(2026, 6, 14, 10, 0, 0, 0, time.UTC), zone: time.UTC}
	at := func(hour int) time.Time { return time.Date(2026, 6, 1, hour, 0, 0, 0, time.UTC) }
	laid := review.Laid{From: at(2), To: at(10)}
	for _, c := range []struct {
		sentence string
		e        review.Excursion
		note     string
	}{
		{"over before the eggs were found", review.Excursion{From: at(4), To: at(6)}, "they may not have been laid yet"},
		{
			"begun before they were found, while settling",
			review.Excursion{From: at(9), To: at(12), Settling: true},
			"while settling; when it began they may not have been laid yet",
		},
		{"begun after they were found", review.Excursion{From: at(11), To: at(12)}, ""},
	} {
		if got := w.excursionLine(laid, c.e).Note; got != c.note {
			t.Errorf("%s: note %q, want %q", c.sentence, got, c.note)
		}
	}
}
