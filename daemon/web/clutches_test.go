package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// A keeper's book grows for years: the list shows one year of what ended, a
// hundred clutches at a time.
func TestEndedClutchesByYear(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		for i := range 260 {
			laid := noon.AddDate(-1, 0, -i/4)
			s.snap.Clutches = append(s.snap.Clutches, monitor.ClutchNow{
				ID: fmt.Sprintf("old-%d", i), Name: "Pepper", Laid: monitor.LaidJSON{From: laid, To: laid},
				Eggs:  []monitor.EggNow{{ID: fmt.Sprintf("old-%d-a", i), Mark: "A", State: incubation.Failed}},
				Ended: laid.Add(24 * time.Hour),
			})
		}
		for _, row := range []struct {
			why, address string
			has, lacks   []string
		}{
			{
				"this year's ended clutch, and the way to last year's", "/clutches",
				[]string{`href="/clutches/k1"`, `href="/clutches?year=2025"`, "2025 (260)"},
				[]string{`href="/clutches/old-0"`},
			},
			{
				"last year's first hundred, and the way on", "/clutches?year=2025",
				[]string{`href="/clutches/old-0"`, `href="/clutches/old-99"`, "from=100"},
				[]string{`href="/clutches/old-100"`, `href="/clutches/k1"`},
			},
			{
				"the last sixty, and no way on", "/clutches?year=2025&from=200",
				[]string{`href="/clutches/old-200"`, `href="/clutches/old-259"`},
				[]string{`href="/clutches/old-199"`, "The rest of the year"},
			},
			{
				"from far beyond the end, the last one", "/clutches?year=2025&from=9999",
				[]string{`href="/clutches/old-259"`},
				[]string{`href="/clutches/old-258"`},
			},
			{
				"a year without clutches is the newest one", "/clutches?year=1999",
				[]string{`href="/clutches/k1"`},
				[]string{`href="/clutches/old-0"`},
			},
		} {
			answer := s.ask("GET", row.address, "")
			page := answer.Body.String()
			if answer.Code != http.StatusOK {
				t.Errorf("%s: %d", row.why, answer.Code)
			}
			for _, part := range row.has {
				if !strings.Contains(page, part) {
					t.Errorf("%s: the page lacks %s", row.why, part)
				}
			}
			for _, part := range row.lacks {
				if strings.Contains(page, part) {
					t.Errorf("%s: the page has %s", row.why, part)
				}
			}
			if live := strings.Contains(page, `href="/clutches/k3"`); !live {
				t.Errorf("%s: what is in incubation is missing", row.why)
			}
		}
	})
}
