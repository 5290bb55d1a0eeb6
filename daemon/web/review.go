package web

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/review"
)

// A reviewBody is a review as a page to be printed, all of it from the review
// itself: a report made elsewhere is the same page.
type reviewBody struct {
	Clutch, Title, Site, Made string
	Species                   string
	Home                      bool // served: the page leads back to the clutch, and to its files
	Over                      bool
	Dam                       string
	DamFacts                  []string
	Sires                     []string
	Laid                      string
	Marks                     []string
	Rows                      []reviewRow
	Records                   []reviewRecord
	Courses                   []courseBlock
	Written                   []dated
	Said, Cautions            []string
}

// A reviewRow is one fact of every egg. One: it is the same of all of them.
type reviewRow struct {
	Name  string
	Cells []string
	One   string
}

// A reviewRecord is what eggs lay at.
type reviewRecord struct {
	Title string
	Chart *chart
	*numbers
	Aims string // what the thermostat aimed at
}

// A courseBlock is the estimate on the way.
type courseBlock struct {
	Sex   *course
	Hatch *course
}

// reviewPage shows a clutch's review.
func (s *Server) reviewPage(v *visit) error {
	r, err := s.wholeReview(v, 0)
	if err != nil {
		return err
	}
	b := v.say.reviewBody(r)
	b.Home = true
	return v.render("review", frame{Title: b.Title, Nav: "clutches", Review: true, Body: b}, http.StatusOK)
}

// wholeReview makes the review that the address names, with all there is in
// it; points 0: as many as a page can show.
func (s *Server) wholeReview(v *visit, points int) (review.Review, error) {
	return s.reviewOf(v.r, v.snap, points)
}

func (s *Server) reviewOf(r *http.Request, snap *monitor.Snapshot, points int) (review.Review, error) {
	a := s.asked(r.Context(), snap, r.PathValue("id"))
	a.Course, a.Points = true, points
	if a.Points == 0 {
		a.Points = chartColumns
	}
	return s.review(r.Context(), a)
}

// apiReview gives the review as JSON.
func (s *Server) apiReview(snap *monitor.Snapshot, r *http.Request) (any, error) {
	points, err := count(r, "points", 1, pointsMost)
	if err != nil {
		return nil, err
	}
	if clutchOf(snap, r.PathValue("id")) == nil {
		return nil, notFound("clutch " + r.PathValue("id"))
	}
	return s.reviewOf(r, snap, orDefault(points, 400))
}

// reviewJSON gives the same as a file to keep.
func (s *Server) reviewJSON(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Disposition", attachment(r.PathValue("id"), "json"))
	s.api(s.apiReview)(w, r)
}

// reviewCSV gives every reading beside the eggs as a file to keep.
func (s *Server) reviewCSV(w http.ResponseWriter, r *http.Request) {
	snap := s.o.Snapshot()
	if !begun(snap) || s.o.History == nil || clutchOf(snap, r.PathValue("id")) == nil {
		s.fail(w, http.StatusNotFound, problem{Text: "readings of clutch " + r.PathValue("id") + " are not known here"})
		return
	}
	a := s.asked(r.Context(), snap, r.PathValue("id"))
	a.Track = nil
	whole, err := s.review(r.Context(), a)
	if err != nil {
		return // whoever asked has gone
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8; header=present")
	w.Header().Set("Content-Disposition", attachment(r.PathValue("id"), "csv"))
	if err := review.WriteCSV(w, whole, a.Readings); err != nil && r.Context().Err() == nil {
		s.o.Log.Warn("a file of readings was not written whole", "clutch", a.Clutch, "error", err)
	}
}

// attachment names a file to keep. Ids are letters, digits and dashes.
func attachment(clutch, kind string) string {
	return fmt.Sprintf("attachment; filename=%q", "clutch-"+strings.TrimPrefix(clutch, "clutch-")+"."+kind)
}

// reviewWords are those in which a review is told away from the pages.
func reviewWords(r review.Review, fahrenheit bool) (words, error) {
	zone, err := time.LoadLocation(r.Zone)
	if err != nil {
		return words{}, fmt.Errorf("read the room's zone: %w", err)
	}
	return words{zone: zone, fahrenheit: fahrenheit, now: r.Made}, nil
}

// reviewBody tells a review.
func (w words) reviewBody(r review.Review) reviewBody {
	b := reviewBody{
		Clutch: r.Clutch, Title: "Review of " + clutchWord(r.Clutch), Site: r.Site, Made: w.day(r.Made),
		Species: r.Species, Over: r.Over, Dam: r.Dam.Name, DamFacts: w.animalFacts(r.Dam),
		Laid: w.laid(r.Laid), Said: r.Said, Cautions: r.Cautions,
	}
	for _, s := range r.Sires {
		text := s.Name + ", paired " + w.day(s.Paired) + fmt.Sprintf(", %.0f days before", s.DaysBefore)
		if s.Outcome == incubation.Unseen {
			text += ", mating not seen"
		}
		b.Sires = append(b.Sires, text)
	}
	for _, e := range r.Eggs {
		b.Marks = append(b.Marks, "Egg "+e.Mark)
	}
	b.Rows = w.reviewRows(r)
	for i, k := range r.Records {
		b.Records = append(b.Records, w.reviewRecord(r, i, k))
	}
	b.Courses = w.courses(r)
	b.Written = w.written(r)
	return b
}

func (w words) animalFacts(a review.Animal) []string {
	var out []string
	if a.Hatched != "" {
		out = append(out, "hatched "+a.Hatched)
	} else if a.AgeClass != "" {
		out = append(out, a.AgeClass)
	}
	if a.Dam != "" || a.Sire != "" {
		out = append(out, "from "+list(slices.DeleteFunc([]string{a.Dam, a.Sire}, func(s string) bool { return s == "" })))
	}
	if n := len(a.Weights); n > 0 {
		last := a.Weights[n-1]
		text := gramsWord(last.Grams) + " on " + w.day(last.Time)
		if first := a.Weights[0]; n > 1 {
			text = gramsWord(first.Grams) + " on " + w.day(first.Time) + ", " + text
		}
		out = append(out, text)
	}
	return out
}

func (w words) laid(l review.Laid) string {
	text := w.days(l.From, l.To)
	if l.Place != "" {
		text += ", in " + l.Place
	}
	if l.To.After(l.From) {
		text += "; last looked " + w.instant(l.From) + ", found " + w.instant(l.To)
	}
	return text
}

func (w words) reviewRecord(r review.Review, i int, k review.Record) reviewRecord {
	out := reviewRecord{numbers: w.numbers(r.Laid, k)}
	if len(r.Records) > 1 {
		out.Title = eggsIn(r, i)
	}
	p := plot{
		record: lain(k), now: r.Made, laid: r.Laid.Middle(), flat: true,
		limits: slices.Concat(k.Inner(true), k.Inner(false)),
	}
	for _, e := range r.Eggs {
		if e.Record == i && e.TSP != nil && p.tsp == nil {
			p.tsp, p.tspBand = &review.Span{From: e.TSP.Opens.Likely, To: e.TSP.Closes.Likely}, e.TSP
		}
	}
	out.Chart = w.draw(or(out.Title, "What they lay at"), p)
	var aims []string
	for j, s := range k.Setpoints {
		text := w.temp(s.Celsius) + nbsp + w.Unit()
		if j > 0 {
			text += " from " + w.instant(s.From)
		}
		aims = append(aims, text)
	}
	out.Aims = strings.Join(aims, ", then ")
	return out
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// written lists what was written down of eggs, hatchlings and boxes, in order.
func (w words) written(r review.Review) []dated {
	type line struct {
		at time.Time
		dated
	}
	var all []line
	add := func(at time.Time, whose, what string) {
		all = append(all, line{at, dated{What: what, When: w.day(at), Note: whose}})
	}
	for _, e := range r.Eggs {
		for _, c := range e.Candlings {
			add(c.Time, e.Mark, candlingSays(c))
		}
		for _, l := range e.Looks {
			add(l.Time, e.Mark, lookSays(l))
		}
		for _, x := range e.Weights {
			add(x.Time, e.Mark, "egg "+gramsWord(x.Grams))
		}
		if !e.Pipped.IsZero() {
			add(e.Pipped, e.Mark, "pipped")
		}
		for _, x := range e.Young {
			add(x.Time, e.Mark, "hatchling "+gramsWord(x.Grams))
		}
		for _, m := range e.Milestones {
			add(m.Time, e.Mark, milestoneWord(m.What)+fmt.Sprintf(", day %.0f of its life", math.Floor(m.Days)))
		}
	}
	for i, k := range r.Records {
		for _, x := range k.BoxWeights {
			add(x.Time, eggsIn(r, i), "box "+gramsWord(x.Grams))
		}
		for _, l := range k.BoxLooks {
			add(l.Time, eggsIn(r, i), "box: "+lookSays(l.Look))
		}
	}
	slices.SortStableFunc(all, func(a, b line) int { return a.at.Compare(b.at) })
	out := make([]dated, 0, len(all))
	for _, l := range all {
		out = append(out, l.dated)
	}
	return out
}

func candlingSays(c review.Candling) string {
	text := map[string]string{"alive": "candled: alive", "unsure": "candled: not sure", "dead": "candled: dead"}[c.Seen]
	if c.Shows != "" {
		text += ", " + showsWord(c.Shows)
	}
	return text
}

func lookSays(l review.Look) string {
	var parts []string
	switch l.Dents {
	case incubation.SlightDents:
		parts = append(parts, "slight dents")
	case incubation.DeepDents:
		parts = append(parts, "deep dents")
	}
	for _, p := range []struct {
		is   bool
		text string
	}{{l.Wet, "too wet"}, {l.Mould, "mould"}, {l.Aired, "aired"}, {l.Note != "", l.Note}} {
		if p.is {
			parts = append(parts, p.text)
		}
	}
	if parts == nil {
		return "nothing amiss"
	}
	return strings.Join(parts, ", ")
}
