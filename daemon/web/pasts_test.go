package web_test

import (
	"fmt"
	"strings"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation/learn"
)

// past is an invented egg: what was said of it is no claim about geckos. It
// came so many days after its likeliest date, so long ago.
func past(egg string, ago, late, male float64, sex string) learn.Past {
	clutch, _, _ := strings.Cut(egg, "-")
	said := func(late, male, half float64) learn.Said {
		return learn.Said{
			Earliest: days(-ago - late - half), Likely: days(-ago - late), Latest: days(-ago - late + half),
			Male: male, Late: late, Inside: late >= -half && late <= half,
		}
	}
	return learn.Past{
		Egg: egg, Clutch: clutch, Found: days(-ago), Sex: sex,
		Shipped: said(late, male, 5), Learned: said(late/2, 0.9*male, 3),
	}
}

// lostPast is an invented egg that never hatched.
func lostPast(egg string) learn.Past {
	p := past(egg, 25, 0, 0.04, "")
	p.Found = time.Time{}
	for _, s := range []*learn.Said{&p.Shipped, &p.Learned} {
		s.Late, s.Inside = 0, false
	}
	return p
}

// lesson is a lesson of a room in which these eggs ended. Its figures are
// counted here, so that the page's are held against another count.
func lesson(eggs ...learn.Past) monitor.Lesson {
	l := monitor.Lesson{Effective: 412.3456, Hindsight: learn.Hindsight{Eggs: eggs}}
	if eggs == nil {
		l.Hindsight.Eggs = []learn.Past{}
	}
	clutches := map[string]bool{}
	for _, p := range eggs {
		clutches[p.Clutch] = true
		if !p.Found.IsZero() {
			l.Hatches++
		}
		if p.Sex != "" {
			l.Sexes++
		}
	}
	l.Clutches = len(clutches)
	l.Hindsight.Shipped = counted(eggs, func(p learn.Past) learn.Said { return p.Shipped })
	l.Hindsight.Learned = counted(eggs, func(p learn.Past) learn.Said { return p.Learned })
	return l
}

func counted(eggs []learn.Past, of func(learn.Past) learn.Said) learn.Marks {
	edges := []float64{0, 0.1, 0.35, 0.65, 0.9, 1.01}
	m := learn.Marks{}
	for k := range edges[1:] {
		m.Reliability = append(m.Reliability, learn.Band{From: edges[k], To: min(1, edges[k+1]), High: 1})
	}
	for _, p := range eggs {
		s := of(p)
		if !p.Found.IsZero() && !s.Latest.IsZero() {
			m.Hatched++
			if s.Inside {
				m.Inside++
			}
			m.OffDays += max(s.Late, -s.Late)
			m.LateDays += s.Late
			m.WidthDays += s.Latest.Sub(s.Earliest).Hours() / 24
		}
		if p.Sex == "" {
			continue
		}
		came := map[string]float64{"male": 1}[p.Sex]
		m.Sexed++
		m.Brier += (s.Male - came) * (s.Male - came)
		for k := range m.Reliability {
			if s.Male >= edges[k] && s.Male < edges[k+1] {
				m.Reliability[k].Eggs++
				m.Reliability[k].Males += int(came)
				m.Reliability[k].Said += s.Male
			}
		}
	}
	n := float64(max(1, m.Hatched))
	m.OffDays, m.LateDays, m.WidthDays = m.OffDays/n, m.LateDays/n, m.WidthDays/n
	m.Brier /= float64(max(1, m.Sexed))
	for k := range m.Reliability {
		b := &m.Reliability[k]
		b.Said /= float64(max(1, b.Eggs))
		b.Low, b.High = learn.Wilson(b.Males, b.Eggs)
	}
	return m
}

// season is an invented past: 14 hatched, 12 of them inside, one lost.
func season() []learn.Past {
	eggs := []learn.Past{
		past("k1-a", 11, 2.2, 0.02, "female"), past("k1-c", 12, -6.5, 0.03, ""), lostPast("k1-b"),
	}
	for i, late := range []float64{1, 2, 3.4, -0.02, 4, 7.3, 2, 1.5, -1, 0.5, 3, 2.5} {
		male, sex := 0.04, "female"
		if i%3 == 1 {
			male, sex = 0.82, "male"
		}
		eggs = append(eggs, past(fmt.Sprintf("p%d-%c", i/2, 'a'+rune(i%2)), 20+2*float64(i), late, male, sex))
	}
	return eggs
}

func hindsightPages() map[string]monitor.Lesson {
	long := lesson(season()...)
	looking := lesson(season()...)
	looking.Hindsight = learn.Hindsight{}
	return map[string]monitor.Lesson{
		"hindsight": long, "hindsight-few": lesson(past("k1-a", 11, -0.7, 0.02, "female"), lostPast("k1-b")),
		"hindsight-none": lesson(), "hindsight-starts": {}, "hindsight-waits": looking,
	}
}
