package web

import (
	"net/http"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation/season"
)

// seasonJSON is the season ahead and those before.
type seasonJSON struct {
	Weeks      []weekJSON `json:"weeks"`
	Capacity   int        `json:"capacity"`
	Full       time.Time  `json:"full,omitzero"`
	MayBeFull  time.Time  `json:"may_be_full,omitzero"`
	Layings    rangeJSON  `json:"layings"`
	Eggs       rangeJSON  `json:"eggs"`
	Hatchlings rangeJSON  `json:"hatchlings"`
	Rests      string     `json:"rests"`
	Past       []fateJSON `json:"past"`
	Females    []fateJSON `json:"females"`
	Males      []fateJSON `json:"males"`
	Pairs      []fateJSON `json:"pairs"`
}

type rangeJSON struct {
	Low    float64 `json:"low"`
	Middle float64 `json:"middle"`
	High   float64 `json:"high"`
}

type weekJSON struct {
	From       time.Time `json:"from"`
	Layings    rangeJSON `json:"layings"`
	Boxes      rangeJSON `json:"boxes"`
	Hatchlings rangeJSON `json:"hatchlings"`
}

// fateJSON counts eggs: of a season, an animal or two.
type fateJSON struct {
	Season   string         `json:"season,omitempty"`
	Female   string         `json:"female,omitempty"`
	Male     string         `json:"male,omitempty"`
	Clutches int            `json:"clutches"`
	Eggs     int            `json:"eggs"`
	Fertile  int            `json:"fertile"`
	Clear    int            `json:"clear"`
	Hatched  int            `json:"hatched"`
	Failed   int            `json:"failed"`
	Open     int            `json:"open"`
	Causes   map[string]int `json:"causes"`
}

func tallied(t season.Tally) fateJSON {
	out := fateJSON{
		Clutches: t.Clutches, Eggs: t.Eggs, Fertile: t.Fertile, Clear: t.Clear, Hatched: t.Hatched,
		Failed: t.Failed, Open: t.Open, Causes: t.Causes,
	}
	if out.Causes == nil {
		out.Causes = map[string]int{}
	}
	return out
}

func named(all []season.Named) []fateJSON {
	out := []fateJSON{}
	for _, n := range all {
		t := tallied(n.Tally)
		t.Female, t.Male = n.Female, n.Male
		out = append(out, t)
	}
	return out
}

func (s *Server) apiSeason(snap *monitor.Snapshot, _ *http.Request) (any, error) {
	l := s.herdAt(snap, words{zone: s.o.Zone, now: snap.Time, dates: inWords})
	f, past := l.ahead(), l.fertility()
	plain := func(r season.Range) rangeJSON {
		return rangeJSON{thousandths(r.Low), thousandths(r.Middle), thousandths(r.High)}
	}
	out := seasonJSON{
		Weeks: []weekJSON{}, Capacity: f.Capacity, Full: f.Full, MayBeFull: f.MayBeFull, Layings: plain(f.Layings),
		Eggs: plain(f.Eggs), Hatchlings: plain(f.Hatchlings), Rests: f.Rests, Past: []fateJSON{},
		Females: named(past.Females), Males: named(past.Males), Pairs: named(past.Pairs),
	}
	for _, w := range f.Weeks {
		out.Weeks = append(out.Weeks, weekJSON{w.From, plain(w.Layings), plain(w.Boxes), plain(w.Hatchlings)})
	}
	for _, p := range past.Seasons {
		t := tallied(p.Tally)
		t.Season = p.Season.Name
		out.Past = append(out.Past, t)
	}
	return out, nil
}
