package proof_test

import (
	"fmt"
	"strings"
	"sync"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
)

// A post keeps every notice that leaves the monitor.
type post struct {
	mu   sync.Mutex
	got  []alerts.Notice
	left []time.Time // when each left, whatever the machine's clock says
}

var _ monitor.Poster = (*post)(nil)

func (p *post) Post(n ...alerts.Notice) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.got = append(p.got, n...)
	for range n {
		p.left = append(p.left, time.Now())
	}
}

func (p *post) Pending() map[string]int { return map[string]int{} }

func (p *post) Confirmed() map[string]uint64 { return map[string]uint64{} }

// since gives the notices behind the first n.
func (p *post) since(n int) []alerts.Notice {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]alerts.Notice(nil), p.got[n:]...)
}

func (p *post) count() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return len(p.got)
}

// when gives the time at which a notice behind the first n left.
func (p *post) when(n int, notice alerts.Notice) time.Time {
	p.mu.Lock()
	defer p.mu.Unlock()
	for i := n; i < len(p.got); i++ {
		if p.got[i].ID == notice.ID {
			return p.left[i]
		}
	}
	return time.Time{}
}

// line is a notice in one line, for a log.
func line(n alerts.Notice) string {
	return fmt.Sprintf("%s %-9s %-8s %s %s: %s", n.Time.Format("01-02 15:04:05"), n.Reason, n.Severity,
		n.Rule, n.Subject.ID, strings.ReplaceAll(n.Text, "\n", " "))
}

// announces reports whether a notice says that something is wrong: more than
// an end, an acknowledgement or a date in an egg's life.
func announces(n alerts.Notice) bool {
	switch n.Rule {
	case "tsp-open", "hatch-near", "hatch-overdue":
		return false
	}
	switch n.Reason {
	case alerts.ReasonRaised, alerts.ReasonAgain, alerts.ReasonEscalated:
		return true
	}
	return false
}

// after says how long, as a table does.
func after(d time.Duration) string {
	switch {
	case d < 0:
		return "never"
	case d < 2*time.Minute:
		return fmt.Sprintf("%.0f s", d.Seconds())
	case d < 3*time.Hour:
		return fmt.Sprintf("%.0f min", d.Minutes())
	case d < 3*24*time.Hour:
		return fmt.Sprintf("%.1f h", d.Hours())
	}
	return fmt.Sprintf("%.1f d", d.Hours()/24)
}
