package command_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/command"

	"github.com/google/go-cmp/cmp"
)

func TestParsePlan(t *testing.T) {
	april := time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)
	for _, row := range []struct {
		sentence, text string
		want           command.Plan
		written        string
	}{
		{"nothing is no plan", "", nil, ""},
		{"one temperature for good", "31.5", command.Plan{{Celsius: 31.5}}, "31.5"},
		{
			"to a day after the laying", "32 to day 20, then 28",
			command.Plan{{Celsius: 32, Day: 20}, {Celsius: 28}},
			"32 to day 20, then 28",
		},
		{
			"to a date: its first moment", "32 to 2026-04-01, then 28",
			command.Plan{{Celsius: 32, Until: april}, {Celsius: 28}},
			"32 to 2026-04-01, then 28",
		},
		{
			"to a time", "32 to 2026-04-01 12:30 then 28",
			command.Plan{{Celsius: 32, Until: april.Add(750 * time.Minute)}, {Celsius: 28}},
			"32 to 2026-04-01T12:30:00Z, then 28",
		},
		{
			"the unit may be said, commas may be left out, capitals do no harm", "32 °C TO Day 20.5 Then 28°C",
			command.Plan{{Celsius: 32, Day: 20.5}, {Celsius: 28}},
			"32 to day 20.5, then 28",
		},
	} {
		got, err := command.ParsePlan(row.text)
		if d := cmp.Diff(row.want, got); err != nil || d != "" {
			t.Errorf("%s: %v (-want +got):\n%s", row.sentence, err, d)
		}
		if got.String() != row.written {
			t.Errorf("%s: written %q, want %q", row.sentence, got, row.written)
		}
	}
	for _, row := range []struct{ sentence, text, says string }{
		{"a word", "warm", "not a temperature"},
		{"a comma in a number", "31,5", `"5" stands where "to" is wanted`},
		{"too hot for any egg", "46", "outside 10 to 45"},
		{"too cold", "32 to day 20, then 9", "outside 10 to 45"},
		{"no number at all", "NaN", "not a temperature"},
		{"an end without what follows", "32 to day 20", "what comes then"},
		{"nothing after then", "32 to day 20, then", "missing at the end"},
		{"a day that is none", "32 to day twenty, then 28", `day "twenty"`},
		{"a day before the laying", "32 to day -1, then 28", `day "-1"`},
		{"neither a day nor a date", "32 to easter, then 28", "neither a day"},
		{"another word for then", "32 to day 20, after 28", `"after" stands where "then"`},
		{"too many", strings.Repeat("32 to day 20, then ", 12) + "28", "more than 12"},
	} {
		got, err := command.ParsePlan(row.text)
		_, wrong := errors.AsType[*command.WrongCall](err)
		if !wrong || got != nil || !strings.Contains(err.Error(), row.says) || !strings.Contains(err.Error(), "32 to day 20, then 28") {
			t.Errorf("%s: %q gives %v, %v; want a wrong call that says %q and how to write it", row.sentence, row.text, got, err, row.says)
		}
	}
}

// What is accepted is written back the same; what is refused gives nothing,
// and two lines.
func FuzzParsePlan(f *testing.F) {
	for _, text := range []string{
		"", "32", "32 to day 20, then 28", "31.5 to 2026-04-01, then 30 to day 40, then 28", "32 °C to 2026-04-01 12:30 then 28",
		"32 to 2026-04-01T12:30:00.5+02:00, then 28", "1e1 to day 1e-9 then 0x1p4", "32 to", "then",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := command.ParsePlan(text)
		if err != nil {
			if p != nil || strings.Count(err.Error(), "\n") != 1 {
				t.Fatalf("%q is refused with %v and %q", text, p, err)
			}
			return
		}
		again, err := command.ParsePlan(p.String())
		if d := cmp.Diff(p, again); err != nil || d != "" {
			t.Fatalf("%q is %v, written back it is %v, %v", text, p, again, err)
		}
	})
}
