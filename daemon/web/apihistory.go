package web

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/review"
)

// Bounds of what one request may ask for.
const (
	pointsMost    = 5000
	pointsDefault = 800
	rangeMost     = 400 * 24 * time.Hour
)

type historyJSON struct {
	Clutch string           `json:"clutch"`
	Eggs   []eggHistoryJSON `json:"eggs"`
}

// An eggHistoryJSON is the record of where one egg lay: each column keeps the
// extremes of the time it stands for.
type eggHistoryJSON struct {
	Egg  string   `json:"egg"`
	Mark string   `json:"mark"`
	With []string `json:"lay_with"` // ids of those that always lay with it
	// From and To are of the columns, Begins and Ends of the whole record.
	From       time.Time          `json:"from"`
	To         time.Time          `json:"to"`
	Begins     time.Time          `json:"begins"`
	Ends       time.Time          `json:"ends"`
	Width      float64            `json:"column_seconds"`
	Columns    []columnJSON       `json:"columns"`
	Gaps       []review.Gap       `json:"gaps"`
	Setpoints  []setpointJSON     `json:"setpoints"`
	Planned    []setpointJSON     `json:"planned"`
	Limits     []review.Limit     `json:"limits"` // the innermost of each side
	Excursions []review.Excursion `json:"excursions"`
	Stays      []review.Stay      `json:"stays"`
	Probes     []review.Probe     `json:"probes"`
	TSP        *review.TSPSpan    `json:"tsp_span,omitempty"`
	Hatch      *review.Span       `json:"hatch_window,omitempty"`
}

// A columnJSON is as a review's point.
type columnJSON = review.Point

type setpointJSON struct {
	From    time.Time          `json:"from"`
	Celsius incubation.Celsius `json:"celsius"`
}

// apiHistory gives the record of a clutch's eggs, or of one of them, whole or
// a part of it.
func (s *Server) apiHistory(snap *monitor.Snapshot, r *http.Request) (any, error) {
	points, err := count(r, "points", 1, pointsMost)
	if err != nil {
		return nil, err
	}
	c := clutchOf(snap, r.PathValue("id"))
	if c == nil || s.o.History == nil {
		return nil, notFound("history of clutch " + r.PathValue("id"))
	}
	a := s.asked(r.Context(), snap, c.ID)
	a.Points, a.Series = orDefault(points, pointsDefault), r.URL.Query().Get("probes") != "no"
	if a.Egg = r.URL.Query().Get("egg"); a.Egg != "" &&
		!slices.ContainsFunc(c.Eggs, func(e monitor.EggNow) bool { return e.ID == a.Egg }) {
		return nil, notFound(fmt.Sprintf("egg %.40q", a.Egg))
	}
	if a.From, err = moment(r, "from", time.Time{}); err == nil {
		a.To, err = moment(r, "to", time.Time{})
	}
	if err != nil {
		return nil, err
	}
	if !a.From.IsZero() && !a.To.IsZero() && !a.From.Before(a.To) {
		return nil, wrong("from", "from must lie before to")
	}
	whole, err := s.review(r.Context(), a)
	if err != nil {
		return nil, err
	}
	out := historyJSON{Clutch: c.ID, Eggs: []eggHistoryJSON{}}
	for _, e := range whole.Eggs {
		if a.Egg == "" || e.ID == a.Egg {
			out.Eggs = append(out.Eggs, historyOf(snap, whole, e))
		}
	}
	return out, nil
}

func historyOf(snap *monitor.Snapshot, whole review.Review, e review.Egg) eggHistoryJSON {
	k := whole.Records[e.Record]
	out := eggHistoryJSON{
		Egg: e.ID, Mark: e.Mark, With: []string{}, From: k.From, To: k.To,
		Begins: whole.Laid.From, Ends: whole.Made, Width: k.PointSeconds, Columns: k.Points,
		Gaps: k.Gaps, Setpoints: []setpointJSON{}, Planned: []setpointJSON{},
		Limits:     some(slices.Concat(k.Inner(true), k.Inner(false))),
		Excursions: k.Excursions, Stays: k.Stays, Probes: k.Probes, TSP: e.TSP,
	}
	for _, id := range k.Eggs {
		if id != e.ID {
			out.With = append(out.With, id)
		}
	}
	for _, p := range k.Setpoints {
		out.Setpoints = append(out.Setpoints, setpointJSON(p))
	}
	if !e.Live() && !e.Ended.IsZero() {
		out.Ends = e.Ended
	} else if egg := snap.Book.Eggs[e.ID]; egg != nil {
		for _, p := range future(snap.Book, egg, snap.Time) {
			out.Planned = append(out.Planned, setpointJSON{p.From.UTC(), p.Celsius})
		}
	}
	if e.Estimate != nil && !e.Estimate.Hatch.Earliest.IsZero() && !e.Estimate.Hatch.Latest.IsZero() {
		out.Hatch = &review.Span{From: e.Estimate.Hatch.Earliest, To: e.Estimate.Hatch.Latest}
	}
	return out
}

// columnsOf leaves out the columns in which nothing was read.
func columnsOf(list []review.Point) []columnJSON {
	out := []columnJSON{}
	for _, k := range list {
		if k.N > 0 {
			out = append(out, columnJSON{
				Time: k.Time.UTC(), Low: thousandths(k.Low), Mean: thousandths(k.Mean),
				High: thousandths(k.High), N: k.N,
			})
		}
	}
	return out
}

type readingsJSON struct {
	Probe   string        `json:"probe"`
	From    time.Time     `json:"from"`
	To      time.Time     `json:"to"`
	Width   float64       `json:"column_seconds"`
	Columns []columnJSON  `json:"columns"`
	Gaps    []review.Span `json:"gaps"`
}

// apiReadings gives one probe's readings, thinned, its offsets applied where
// it sat in a place that had one.
func (s *Server) apiReadings(snap *monitor.Snapshot, r *http.Request) (any, error) {
	points, err := count(r, "points", 1, pointsMost)
	if err != nil {
		return nil, err
	}
	probe := r.URL.Query().Get("probe")
	if !known(snap, probe) || s.o.History == nil {
		return nil, notFound(fmt.Sprintf("probe %.40q", probe))
	}
	to, err := moment(r, "to", snap.Time)
	if err != nil {
		return nil, err
	}
	from, err := moment(r, "from", to.Add(-24*time.Hour))
	if err != nil {
		return nil, err
	}
	if !from.Before(to) || to.Sub(from) > rangeMost {
		return nil, wrong("from", "from must lie before to, by at most 400 days")
	}
	out := readingsJSON{Probe: probe, From: from, To: to}
	return s.readings(r, snap, out, orDefault(points, pointsDefault))
}

// known reports whether a probe is read now or once sat somewhere.
func known(snap *monitor.Snapshot, probe string) bool {
	return slices.ContainsFunc(snap.Probes,
		func(p monitor.ProbeNow) bool { return p.ID == probe }) ||
		slices.ContainsFunc(snap.Book.Placements,
			func(p incubation.Placement) bool { return p.Probe == probe })
}

func (s *Server) readings(r *http.Request, snap *monitor.Snapshot, out readingsJSON,
	points int,
) (any, error) {
	f := review.NewThinner(out.From, out.To, points)
	g := review.NewGapWatch(out.From, intervalOf(snap, out.Probe))
	for reading, err := range s.o.History.Range(r.Context(), out.Probe, out.From, out.To) {
		if err != nil {
			if r.Context().Err() != nil {
				return nil, r.Context().Err()
			}
			s.o.Log.Warn("damaged history passed over", "probe", out.Probe, "error", err)
			continue
		}
		if reading.Has&incubation.Temperature != 0 {
			g.Seen(reading.Time)
			f.Add(reading.Time, corrected(snap.Book, out.Probe, reading))
		}
	}
	out.Gaps = some(g.End(earlier(out.To, snap.Time)))
	out.Columns, out.Width = columnsOf(f.Points()), f.Width().Seconds()
	return out, nil
}

func corrected(b *book.State, probe string, r incubation.Reading) incubation.Celsius {
	for _, p := range b.Placements {
		if p.Probe == probe && p.Stay.Covers(r.Time) {
			return p.Celsius(r.Celsius)
		}
	}
	return r.Celsius
}

func orDefault(n int64, other int) int {
	if n == 0 {
		return other
	}
	return int(n)
}

// count reads a whole number of the address; absent it is 0.
func count(r *http.Request, name string, low, high int64) (int64, error) {
	text := r.URL.Query().Get(name)
	if text == "" {
		return 0, nil
	}
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < low || n > high {
		return 0, wrong(name, fmt.Sprintf("%s must be a whole number from %d to %d", name, low,
			high))
	}
	return n, nil
}

// decimal reads a number of a request; nil: it is absent.
func decimal(r *http.Request, name string) (*float64, error) {
	text := r.URL.Query().Get(name)
	if text == "" {
		return nil, nil
	}
	n, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(n) || math.Abs(n) > 1e6 {
		return nil, wrong(name, name+" must be a number")
	}
	return &n, nil
}

func moment(r *http.Request, name string, other time.Time) (time.Time, error) {
	text := r.URL.Query().Get(name)
	if text == "" {
		return other.UTC(), nil
	}
	t, err := time.Parse(time.RFC3339, text)
	if err != nil || t.Year() < 1970 || t.Year() > 2200 {
		return time.Time{}, wrong(name, name+" must be a time such as 2026-06-14T08:00:00Z")
	}
	return t.UTC(), nil
}
