package web

import (
	"math"
	"net/http"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation/learn"
)

// A hindsightJSON is past estimates against outcomes; means of nothing are
// absent.
type hindsightJSON struct {
	// Computing: the figures are still being worked out, and no egg is listed.
	Computing   bool        `json:"computing"`
	LearnedFrom learnedJSON `json:"learned_from"`
	Shipped     marksJSON   `json:"shipped"`
	Learned     marksJSON   `json:"learned"`
	Eggs        []pastJSON  `json:"eggs"`
}

type learnedJSON struct {
	Clutches  int      `json:"clutches"`
	Hatches   int      `json:"hatches"`
	Sexes     int      `json:"sexes"`
	Effective *float64 `json:"effective,omitempty"`
	Renewed   bool     `json:"renewed"`
}

type marksJSON struct {
	Hatched     int        `json:"hatched"`
	Inside      int        `json:"inside"`
	OffDays     *float64   `json:"off_days,omitempty"`
	LateDays    *float64   `json:"late_days,omitempty"`
	WidthDays   *float64   `json:"width_days,omitempty"`
	Sexed       int        `json:"sexed"`
	Brier       *float64   `json:"brier,omitempty"`
	Reliability []bandJSON `json:"reliability"`
}

type bandJSON struct {
	From  float64  `json:"from"`
	To    float64  `json:"to"`
	Eggs  int      `json:"eggs"`
	Said  *float64 `json:"said,omitempty"`
	Males int      `json:"males"`
	Low   float64  `json:"low"`
	High  float64  `json:"high"`
}

type pastJSON struct {
	Egg     string    `json:"egg"`
	Clutch  string    `json:"clutch"`
	Found   time.Time `json:"found,omitzero"`
	Sex     string    `json:"sex,omitempty"`
	Shipped saidJSON  `json:"shipped"`
	Learned saidJSON  `json:"learned"`
}

type saidJSON struct {
	Earliest time.Time `json:"earliest,omitzero"`
	Likely   time.Time `json:"likely,omitzero"`
	Latest   time.Time `json:"latest,omitzero"`
	Male     *float64  `json:"male_probability,omitempty"`
	Late     *float64  `json:"late_days,omitempty"`
	Inside   *bool     `json:"inside,omitempty"`
}

func (s *Server) apiHindsight(snap *monitor.Snapshot, _ *http.Request) (any, error) {
	l := snap.Lesson
	out := hindsightJSON{
		Computing: l.Hindsight.Eggs == nil && !l.Failed,
		LearnedFrom: learnedJSON{
			Clutches: l.Clutches, Hatches: l.Hatches, Sexes: l.Sexes, Renewed: l.Renewed,
			Effective: meanOf(l.Effective, l.Effective > 0),
		},
		Shipped: marksOf(l.Hindsight.Shipped), Learned: marksOf(l.Hindsight.Learned),
		Eggs: []pastJSON{},
	}
	for _, p := range newestFirst(snap) {
		hatched := !p.Found.IsZero()
		out.Eggs = append(out.Eggs, pastJSON{
			Egg: p.Egg, Clutch: p.Clutch, Found: p.Found.UTC(), Sex: p.Sex,
			Shipped: saidOf(p.Shipped, hatched), Learned: saidOf(p.Learned, hatched),
		})
	}
	return out, nil
}

// meanOf is a figure, absent if there is nothing behind it or it is no number.
func meanOf(v float64, any bool) *float64 {
	if !any || math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	v = thousandths(v)
	return &v
}

func marksOf(m learn.Marks) marksJSON {
	out := marksJSON{
		Hatched: m.Hatched, Inside: m.Inside, Sexed: m.Sexed, Reliability: []bandJSON{},
		OffDays: meanOf(m.OffDays, m.Hatched > 0), LateDays: meanOf(m.LateDays, m.Hatched > 0),
		WidthDays: meanOf(m.WidthDays, m.Hatched > 0), Brier: meanOf(m.Brier, m.Sexed > 0),
	}
	for _, b := range m.Reliability {
		out.Reliability = append(out.Reliability, bandJSON{
			From: b.From, To: b.To, Eggs: b.Eggs, Males: b.Males, Said: meanOf(b.Said, b.Eggs > 0),
			Low: thousandths(b.Low), High: thousandths(b.High),
		})
	}
	return out
}

func saidOf(s learn.Said, hatched bool) saidJSON {
	out := saidJSON{
		Earliest: s.Earliest.UTC(), Likely: s.Likely.UTC(), Latest: s.Latest.UTC(),
		Male: meanOf(s.Male, true),
	}
	if hatched && !s.Likely.IsZero() {
		out.Late, out.Inside = meanOf(s.Late, true), &s.Inside
	}
	return out
}
