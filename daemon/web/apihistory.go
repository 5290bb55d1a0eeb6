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
	Egg        string         `json:"egg"`
	Mark       string         `json:"mark"`
	From       time.Time      `json:"from"`
	To         time.Time      `json:"to"`
	Width      float64        `json:"column_seconds"`
	Columns    []columnJSON   `json:"columns"`
	Gaps       []review.Span  `json:"gaps"`
	Setpoints  []setpointJSON `json:"setpoints"`
	Excursions []excursion    `json:"excursions"`
}

type columnJSON struct {
	Time time.Time          `json:"time"`
	Low  incubation.Celsius `json:"low_celsius"`
	Mean incubation.Celsius `json:"mean_celsius"`
	High incubation.Celsius `json:"high_celsius"`
	N    int                `json:"readings"`
}

type setpointJSON struct {
	From    time.Time          `json:"from"`
	Celsius incubation.Celsius `json:"celsius"`
}

func (s *Server) apiHistory(snap *monitor.Snapshot, r *http.Request) (any, error) {
	points, err := count(r, "points", 1, pointsMost)
	if err != nil {
		return nil, err
	}
	c := clutchOf(snap, r.PathValue("id"))
	if c == nil || s.o.History == nil {
		return nil, notFound("history of clutch " + r.PathValue("id"))
	}
	out := historyJSON{Clutch: c.ID, Eggs: []eggHistoryJSON{}}
	for _, e := range c.Eggs {
		if snap.Book.Eggs[e.ID] == nil {
			continue
		}
		p, err := s.eggPlot(r.Context(), snap, eggAsked{*c, e, orDefault(points, pointsDefault)})
		if err != nil {
			return nil, err
		}
		out.Eggs = append(out.Eggs, eggHistoryJSON{
			Egg: e.ID, Mark: e.Mark,
			From: p.record.From.UTC(),
			To:   p.record.To.UTC(), Width: p.record.Width.Seconds(),
			Columns: columnsOf(p.record.Columns),
			Gaps:    some(p.record.Gaps), Setpoints: setpointsOf(p.record.Setpoints),
			Excursions: some(p.record.Excursions),
		})
	}
	return out, nil
}

// columnsOf leaves out the columns in which nothing was read.
func columnsOf(list []review.Point) []columnJSON {
	out := []columnJSON{}
	for _, k := range list {
		if k.N > 0 {
			out = append(out, columnJSON{
				k.Time.UTC(), thousandths(k.Low), thousandths(k.Mean),
				thousandths(k.High), k.N,
			})
		}
	}
	return out
}

func setpointsOf(list []book.Setpoint) []setpointJSON {
	out := []setpointJSON{}
	for _, p := range list {
		out = append(out, setpointJSON{p.From.UTC(), p.Celsius})
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
