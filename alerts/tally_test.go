package alerts_test

import (
	"fmt"
	"testing"
	"time"

	"clutchd/alerts"

	"github.com/google/go-cmp/cmp"
)

// june is a month in a room two hours ahead of UTC.
var (
	june   = time.Date(2026, 6, 1, 0, 0, 0, 0, berlin)
	july   = june.AddDate(0, 1, 0)
	berlin = time.FixedZone("room", 2*3600)
)

// A past occurrence for a table: raised after d, told for so long.
func occurred(rule, place string, after, told time.Duration) alerts.State {
	r, _ := alerts.RuleFor(rule)
	subject := alerts.Subject{Kind: r.About, ID: place, Name: place}
	at := june.Add(after)
	return alerts.State{
		Alert: alerts.AlertID(rule, subject), Rule: rule, Subject: subject, Severity: r.Severity,
		Occurrence: fmt.Sprint(rule, place, after), Phase: alerts.Normal,
		Since: at.Add(-r.OnDelay), Raised: at, Ended: at.Add(told - r.OffDelay), Cleared: at.Add(told),
	}
}

func TestTallyCountsByHand(t *testing.T) {
	const h, day = time.Hour, 24 * time.Hour
	seen := occurred("too-warm", "oak", 2*day+9*h, h)
	seen.Acknowledged, seen.AcknowledgedBy = seen.Raised.Add(time.Minute), "page"
	open := occurred("stale", "p1", 28*day+12*h, 0)
	open.Ended, open.Cleared, open.Phase = time.Time{}, time.Time{}, alerts.Active
	long := occurred("tsp-open", "egg-1", 3*day+12*h, 9*day)
	for _, row := range []struct {
		name string
		past []alerts.State
		want alerts.Counted
	}{
		{"nothing was told", nil, alerts.Counted{}},
		{"one by day, seen by the keeper", []alerts.State{seen}, alerts.Counted{Raised: 1, Acknowledged: 1}},
		{
			"23:00 and 6:59 are night, 7:00 and 21:59 are day, by the room's clock",
			[]alerts.State{
				occurred("too-warm", "oak", 23*h, h), occurred("too-warm", "tin", 30*h+59*time.Minute, h),
				occurred("too-warm", "elm", 31*h, h), occurred("too-warm", "fir", 45*h+59*time.Minute, h),
			},
			alerts.Counted{Raised: 4, Night: 2},
		},
		{
			// Too-warm's off-delay is 5 min: its condition was gone after 1 and after 3.
			"gone a minute after it was told nobody could act; after three they could",
			[]alerts.State{
				occurred("too-warm", "oak", 12*h, 6*time.Minute), occurred("too-warm", "tin", 12*h, 8*time.Minute),
			},
			alerts.Counted{Raised: 2, Fleeting: 1},
		},
		{
			"an event ends as it is told: that is no fleeting alert",
			[]alerts.State{occurred("away", "clutchd", 12*h, 0)},
			alerts.Counted{Raised: 1},
		},
		{
			"three times in an hour chatter; the fourth, two hours later, does not",
			[]alerts.State{
				occurred("too-warm", "oak", 12*h, 10*time.Minute), occurred("too-warm", "oak", 12*h+30*time.Minute, 10*time.Minute),
				occurred("too-warm", "oak", 13*h, 10*time.Minute), occurred("too-warm", "oak", 15*h, 10*time.Minute),
			},
			alerts.Counted{Raised: 4, Chattering: 3},
		},
		{
			"three in an hour about three places are no chatter",
			[]alerts.State{
				occurred("too-warm", "oak", 12*h, h), occurred("too-warm", "tin", 12*h+time.Minute, h),
				occurred("too-warm", "elm", 12*h+2*time.Minute, h),
			},
			alerts.Counted{Raised: 3},
		},
		{
			"over a day stands; a day does not; what goes on stands by now; a notice asks for nothing",
			[]alerts.State{
				occurred("too-warm", "oak", 12*h, 25*h), occurred("too-warm", "tin", 12*h, day), open, long,
			},
			alerts.Counted{Raised: 4, Standing: 2},
		},
		{
			"what was raised before or after is another month's",
			[]alerts.State{occurred("too-warm", "oak", -time.Second, h), occurred("too-warm", "oak", 30*day, h)},
			alerts.Counted{},
		},
		{"the same occurrence twice counts once", []alerts.State{seen, seen}, alerts.Counted{Raised: 1, Acknowledged: 1}},
	} {
		got := alerts.Count(row.past, june, july, berlin)
		if d := cmp.Diff(row.want, got.Counted); d != "" {
			t.Errorf("%s (-want +got):\n%s", row.name, d)
		}
	}
}

func TestTallyNamesRulesAndTopContributors(t *testing.T) {
	const h = time.Hour
	past := []alerts.State{
		occurred("stale", "p1", 1*h, h), occurred("stale", "p1", 50*h, h), occurred("stale", "p2", 100*h, h),
		occurred("too-warm", "oak", 12*h, h),
	}
	got := alerts.Count(past, june, july, berlin)
	rules := []alerts.RuleTally{
		{Rule: "stale", Counted: alerts.Counted{Raised: 3, Night: 3}}, // at 1:00, 2:00 and 4:00
		{Rule: "too-warm", Counted: alerts.Counted{Raised: 1}},
	}
	if d := cmp.Diff(rules, got.Rules); d != "" {
		t.Errorf("rules (-want +got):\n%s", d)
	}
	if len(got.Top) != 3 || got.Top[0].Alert != "stale.probe.p1" || got.Top[0].Raised != 2 {
		t.Errorf("top contributors %+v", got.Top)
	}
	if got.Of("too-warm").Raised != 1 || got.Of("dry-air") != (alerts.Counted{}) {
		t.Errorf("of one rule %+v", got.Of("too-warm"))
	}
	if got.Critical != 1 || got.Warning != 3 || got.Notice != 0 {
		t.Errorf("critical %d, warning %d, notice %d", got.Critical, got.Warning, got.Notice)
	}
}

func TestTallySeesAFlood(t *testing.T) {
	var past []alerts.State
	for i := range 11 {
		past = append(past, occurred("stale", fmt.Sprint("p", i), 12*time.Hour+time.Duration(i)*50*time.Second, 30*time.Hour))
	}
	past = append(past, occurred("stale", "q", 12*time.Hour+10*time.Minute, 30*time.Hour))
	got := alerts.Count(past, june, july, berlin)
	if got.Busiest != 11 || got.Floods != 1 {
		t.Errorf("busiest %d, floods %d: 11 in one stretch of ten minutes, 1 in the next", got.Busiest, got.Floods)
	}
	if got.StandingMost != 12 {
		t.Errorf("%d stood at one time, not 12", got.StandingMost)
	}
}

// 60 in 30 days: 2 a day, 2/24 an hour, 2/144 in ten minutes.
func TestFiguresBesideTheBenchmark(t *testing.T) {
	var past []alerts.State
	for i := range 60 {
		past = append(past, occurred("stale", fmt.Sprint("p", i%30), time.Duration(i)*12*time.Hour+5*time.Minute, 10*time.Minute))
	}
	got := map[string]string{}
	for _, f := range alerts.Count(past, june, july, berlin).Figures() {
		got[f.What] = f.Here + " against " + f.Target
	}
	want := map[string]string{
		"a day":                                  "2.0 against about 150",
		"an hour, on average":                    "0.08 against about 6",
		"in ten minutes, on average":             "0.01 against about 1",
		"in the busiest ten minutes":             "1 against 10",
		"ten-minute stretches with more than 10": "0 % against under 1 %",
		"chattering or fleeting":                 "0 against 0",
		"standing for over 24 h at one time":     "0 against under 5",
		"notices / warnings / critical":          "0 / 100 / 0 % against 80 / 15 / 5 %",
		"from the ten alerts raised most":        "33 % against 1 to 5 %",
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}
