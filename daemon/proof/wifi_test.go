package proof_test

import (
	"slices"
	"testing"
	"time"

	"clutchd/alerts"
)

// TestWifiWeek lives the year's week of bad Wi-Fi by itself: the room's two
// devices are out of reach sixteen times a day, one time in five for five to
// twenty minutes. Whatever rings of that is counted, the one that says that it
// comes and goes too. Two of its days without -year.
func TestWifiWeek(t *testing.T) {
	if underRace {
		t.Skip("left to the plain and the 32-bit run: TestCourse goes the same ways under the race detector")
	}
	t.Parallel()
	// Of the source: once, and once more that it comes and goes. In the week the
	// battery device also misses its turns for 25 min, in two drop-outs.
	days, most := 2, 2
	if *wholeYear {
		days, most = 7, 3
	}
	y := liveYear(t, wifiWeek, wifiWeek+days, time.Minute)
	rang := slices.DeleteFunc(y.all, func(n alerts.Notice) bool {
		return !disturbs(n) || n.Rule != "stale" && n.Rule != "silent-source" && n.Rule != "eggs-unwatched"
	})
	for _, n := range rang {
		t.Log(line(n))
	}
	if len(rang) > most {
		t.Errorf("%d notices of silence in %d days, %d are allowed", len(rang), days, most)
	}
	if len(rang) == 0 {
		t.Error("nobody said that the Wi-Fi drops out")
	}
}
