package web

import (
	"context"
	"fmt"
	"net/http"
	"reflect"
	"slices"
	"strings"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/review"
)

type clutchBody struct {
	Title, Female, Laid, LaidNote, Day string
	Males                              []maleLine
	ID                                 string
	Mixed                              mixedBlock
	Eggs                               []eggBlock
	Charts                             []*chart
	Waits                              bool // an estimate is still being worked out
	Taught                             string
	Care                               []string // how eggs are handled
	They                               bool     // there are several
}

// A maleLine is the chance of one number of males among the live eggs.
type maleLine struct {
	Text, Share string
	Width       string // of 100
}

// An eggBlock is one egg on its clutch's page.
type eggBlock struct {
	ID, Mark, State, Where, Box string
	Clutch, Plan                string
	Live                        bool
	End                         *ending
	Raise                       *raiseLine // its hatchling is no animal of the book yet
	Words                       string
	Male, MaleRange             string
	MaleSpan                    *spanMark
	Hatch, Likely, Sure         string
	Development, TSP, CTE       string
	Rests, Given, LastChange    string
	Overdue                     string
	Harm                        *harmBlock
	Holds                       []holdLine
	Estimate                    bool
	// Each are the eggs that the block tells of: siblings of which all is the
	// same share one.
	Each []eggRef
}

// An eggRef is one egg of a block.
type eggRef struct {
	ID, Mark, Clutch string
	Where            string
	Live, Several    bool // Several: the block tells of others too
}

// A spanMark draws an interval and a value on a line from 0 to 1, 120 wide.
type spanMark struct{ Low, High, At string }

type holdLine struct {
	Temp, Male, Range, Hatch string
	Span                     spanMark
}

func (s *Server) clutch(v *visit) error {
	id := v.r.PathValue("id")
	c := clutchOf(v.snap, id)
	if c == nil {
		return missing{"clutch " + id}
	}
	b := clutchBody{
		ID: c.ID, Title: clutchTitle(c.ID), Female: c.Name,
		Laid: v.say.days(c.Laid.From, c.Laid.To), Mixed: v.mixedBlock(*c),
	}
	if c.Laid.To.After(c.Laid.From) {
		b.LaidNote = fmt.Sprintf("last looked %s, found %s", v.say.moment(c.Laid.From),
			v.say.moment(c.Laid.To))
	}
	known := false
	b.They = len(c.Eggs) > 1
	for _, e := range c.Eggs {
		b.Eggs = v.shared(b.Eggs, v.eggBlock(*c, e))
		b.Waits = b.Waits || e.Computing
		known = known || live(e) && e.Estimate != nil
	}
	if slices.ContainsFunc(c.Eggs, live) {
		b.Day, b.Taught = dayOf(c.Laid, v.snap.Time), taughtLine(v.snap.Lesson)
		b.Care = eggCare
	}
	if known {
		b.Males = maleLines(c.Males)
	}
	if s.o.History != nil {
		charts, err := s.clutchCharts(v, *c)
		if err != nil {
			return err
		}
		b.Charts = charts
	}
	return v.render("clutch", frame{Title: b.Title, Nav: "clutches", Charts: len(b.Charts) > 0, Body: b},
		http.StatusOK)
}

// shared adds a block, or has the last one tell of its egg too: of live siblings
// that lie together, of which all is the same, down to the last figure.
func (v *visit) shared(blocks []eggBlock, b eggBlock) []eggBlock {
	each := eggRef{ID: b.ID, Mark: b.Mark, Clutch: b.Clutch, Where: b.Where, Live: b.Live}
	n := len(blocks)
	if n == 0 || !b.Live || !b.Estimate || !v.lieTogether(blocks[n-1].ID, b.ID) || !alike(blocks[n-1], b) {
		b.Each = []eggRef{each}
		return append(blocks, b)
	}
	last := &blocks[n-1]
	each.Several = true
	last.Each = append(last.Each, each)
	marks := make([]string, len(last.Each))
	for i := range last.Each {
		last.Each[i].Several = true
		marks[i] = last.Each[i].Mark
	}
	last.Mark = list(marks)
	return blocks
}

// alike reports whether two eggs' blocks say the same but for their marks. Eggs
// are carried one by one: how long each was cold on the way may differ.
func alike(a, b eggBlock) bool {
	a.ID, a.Mark, a.Each = b.ID, b.Mark, b.Each
	if a.Harm != nil && b.Harm != nil && a.Harm.Cold != nil && b.Harm.Cold != nil {
		a.Harm = &harmBlock{Hot: a.Harm.Hot, Cold: b.Harm.Cold}
	}
	return reflect.DeepEqual(a, b)
}

// lieTogether reports whether two eggs always lay together.
func (v *visit) lieTogether(a, b string) bool {
	x, y := v.snap.Book.Eggs[a], v.snap.Book.Eggs[b]
	return x != nil && y != nil && len(review.Together([]*incubation.Egg{x, y})) == 1
}

func maleLines(males []float64) []maleLine {
	numbers := [...]string{"no male", "one male", "two males", "three males", "four males"}
	var out []maleLine
	for i, p := range males {
		text := fmt.Sprintf("%d males", i)
		if i < len(numbers) {
			text = numbers[i]
		}
		out = append(out, maleLine{
			Text: text, Share: share(p),
			Width: num(100 * min(1, max(0, p))),
		})
	}
	return out
}

func mark(low, high, at float64) spanMark {
	x := func(p float64) string { return num(4 + 112*min(1, max(0, p))) }
	return spanMark{Low: x(low), High: x(high), At: x(at)}
}

func (v *visit) eggBlock(c monitor.ClutchNow, e monitor.EggNow) eggBlock {
	w := v.say
	b := eggBlock{
		ID: e.ID, Clutch: c.ID, Mark: e.Mark, State: string(e.State), Where: e.PlacePath,
		Box: e.Box, Live: live(e), End: v.ending(c, e),
	}
	if b.End != nil {
		b.End.Says = capital(b.End.Says)
		b.Raise = v.toRaise(e.ID, "/clutches/"+c.ID)
	}
	if b.Live {
		b.Plan = v.eggPlan(c, e.ID)
	}
	if e.Estimate == nil {
		b.Words = capital(v.without(e))
		return b
	}
	n := e.Estimate
	b.Estimate, b.Words = true, capital(n.Sex.Words)
	b.Male, b.MaleRange = share(n.Sex.MaleProbability), between(n.Sex.Low, n.Sex.High)
	m := mark(n.Sex.Low, n.Sex.High, n.Sex.MaleProbability)
	b.MaleSpan = &m
	b.Hatch, b.Likely = w.days(n.Hatch.Earliest, n.Hatch.Latest), w.day(n.Hatch.Likely)
	b.Sure = percent(n.Hatch.Probability)
	b.Development = fmt.Sprintf("%s of the way, %s", percent(n.Development.Fraction),
		between(n.Development.Low, n.Development.High))
	b.TSP, b.Rests = w.tspText(n, live(e)), restsOn(n.Basis, live(e))
	b.Given, b.Overdue, b.Harm = v.given(e), v.overdue(e), w.harm(n.Harm, v.s.o.Profile.Limits)
	if n.CTE != nil {
		b.CTE = fmt.Sprintf("%s %s (%s–%s)", w.temp(n.CTE.Value), w.Unit(), w.temp(n.CTE.Low),
			w.temp(n.CTE.High))
	}
	if b.Live {
		b.LastChange = w.lastChange(n)
		for _, h := range n.HoldFromNow {
			b.Holds = append(b.Holds, holdLine{
				Temp:  w.temp(h.Celsius),
				Male:  share(h.MaleProbability),
				Range: between(h.Low, h.High), Hatch: w.day(h.HatchLikely),
				Span: mark(h.Low, h.High, h.MaleProbability),
			})
		}
	}
	return b
}

// eggPlan tells what is planned for an egg and has not come yet.
func (v *visit) eggPlan(c monitor.ClutchNow, egg string) string {
	var steps []string
	for _, s := range v.snap.Book.Plans[egg] {
		at, text := s.At, v.teller().stepSays(s)
		if at.IsZero() {
			at = middle(c.Laid).Add(time.Duration(s.Day * 24 * float64(time.Hour)))
			text += ", " + v.say.day(at)
		}
		if at.After(v.snap.Time) {
			steps = append(steps, text)
		}
	}
	return strings.Join(steps, ", then ")
}

// tspText tells the stretch that sets the sex: of an egg that ended, as it
// would have been.
func (w words) tspText(e *incubation.Estimate, live bool) string {
	t, closes := e.TSP, "closes"
	if !live {
		closes = "would have closed"
	}
	switch {
	case t.State == incubation.TSPBefore && live:
		return fmt.Sprintf("not open yet: opens about %s, closes about %s; the sex is a forecast",
			w.day(t.Opens), w.day(t.Closes))
	case t.State == incubation.TSPBefore:
		return fmt.Sprintf("never opened: it would have about %s", w.day(t.Opens))
	case t.State == incubation.TSPOpen:
		return fmt.Sprintf("open since about %s, %s of it done, %s about %s",
			w.day(t.Opens), percent(t.Done), closes, w.day(t.Closes))
	case e.Basis.Projected >= 0.005: // some members have it open still
		return fmt.Sprintf("closed about %s: the sex is all but fixed", w.day(t.Closes))
	}
	return fmt.Sprintf("closed about %s: the sex is fixed, temperature no longer changes it",
		w.day(t.Closes))
}

// restsOn tells what the sex estimate is made of, the parts that are nothing
// left out.
func restsOn(b incubation.Basis, live bool) string {
	ahead := "still to come"
	if !live {
		ahead = "then " + ahead
	}
	var parts []string
	only := ""
	for _, p := range []struct {
		share float64
		text  string
	}{{b.Measured, "measured"}, {b.Gap, "filled in across gaps"}, {b.Projected, ahead}} {
		if p.share >= 0.005 {
			parts = append(parts, share(p.share)+" "+p.text)
		}
		if p.share >= 0.995 {
			only = p.text
		}
	}
	switch {
	case parts == nil:
		return ""
	case len(parts) == 1 && only != "":
		return "all of the TSP " + only
	}
	return "of the TSP " + list(parts)
}

// clutchCharts draws one chart for eggs that always lay together.
func (s *Server) clutchCharts(v *visit, c monitor.ClutchNow) ([]*chart, error) {
	a := s.asked(v.r.Context(), v.snap, c.ID)
	a.Points = chartColumns
	whole, err := s.review(v.r.Context(), a)
	if err != nil {
		return nil, fmt.Errorf("read the record of clutch %s: %w", c.ID, err)
	}
	var out []*chart
	for i := range whole.Records {
		p, title := plotOf(v.snap, c, whole, i), eggsIn(whole, i)
		if to := p.record.To; p.hatch != nil && p.hatch.To.After(to) && p.alive {
			p.record.To = earlier(p.hatch.To.Add(24*time.Hour), c.Laid.To.AddDate(0, 0, 150))
		}
		if drawn := v.say.draw(title, p); drawn != nil {
			drawn.Data = "/api/clutches/" + c.ID + "/history?egg=" + whole.Records[i].Eggs[0]
			drawn.Laid, drawn.Zone = middle(c.Laid).UTC().Format(time.RFC3339), s.o.Zone.String()
			drawn.Numbers = v.say.numbers(whole.Laid, whole.Records[i])
			out = append(out, drawn)
		}
	}
	return out, nil
}

// eggsIn names the eggs of a record.
func eggsIn(r review.Review, record int) string {
	var marks []string
	for _, e := range r.Eggs {
		if e.Record == record {
			marks = append(marks, e.Mark)
		}
	}
	if len(marks) == 1 {
		return "Egg " + marks[0]
	}
	return "Eggs " + list(marks)
}

// eggAsked is an egg whose record is wanted, in so many points.
type eggAsked struct {
	clutch monitor.ClutchNow
	egg    monitor.EggNow
	points int
}

// eggPlot is everything that is known of where an egg lay, and its limits.
func (s *Server) eggPlot(ctx context.Context, snap *monitor.Snapshot, a eggAsked) (plot, error) {
	asked := s.asked(ctx, snap, a.clutch.ID)
	asked.Egg, asked.Points, asked.Track = a.egg.ID, a.points, nil
	r, err := s.review(ctx, asked)
	if err != nil {
		return plot{}, fmt.Errorf("read the record of egg %s: %w", a.egg.ID, err)
	}
	return plotOf(snap, a.clutch, r, 0), nil
}

// plotOf is a review's record as a chart shows it.
func plotOf(snap *monitor.Snapshot, c monitor.ClutchNow, whole review.Review, record int) plot {
	r := whole.Records[record]
	p := plot{
		record: lain(r), now: snap.Time, laid: middle(c.Laid),
		limits: slices.Concat(r.Inner(true), r.Inner(false)),
	}
	for _, e := range whole.Eggs {
		if e.Record != record {
			continue
		}
		if p.tsp == nil && e.Estimate != nil {
			p.tsp = &review.Span{From: e.Estimate.TSP.Opens, To: e.Estimate.TSP.Closes}
			p.hatch = &review.Span{From: e.Estimate.Hatch.Earliest, To: e.Estimate.Hatch.Latest}
			p.tspBand = e.TSP
		}
		if egg := snap.Book.Eggs[e.ID]; e.Live() && egg != nil && !p.alive {
			p.alive, p.future = true, future(snap.Book, egg, snap.Time)
		}
	}
	return p
}

// lain is a review's record in the words of charts.
func lain(r review.Record) record {
	out := record{
		From: r.From, To: r.To, Width: time.Duration(r.PointSeconds * float64(time.Second)), Columns: r.Points,
	}
	for _, g := range r.Gaps {
		out.Gaps = append(out.Gaps, review.Span{From: g.From, To: g.To})
	}
	for _, p := range r.Setpoints {
		out.Setpoints = append(out.Setpoints, book.Setpoint(p))
	}
	for _, e := range r.Excursions {
		if !e.Brief {
			out.Excursions = append(out.Excursions, excursion{e.From, e.To, e.Worst})
		}
	}
	for i, s := range r.Stays {
		if i > 0 {
			out.Moves = append(out.Moves, move{s.From, s.BoxName})
		}
	}
	return out
}

// future is what will be aimed at around an egg, as the book plans it.
func future(b *book.State, egg *incubation.Egg, now time.Time) []book.Setpoint {
	var out []book.Setpoint
	for _, st := range b.PlanSteps(egg.ID, now) {
		out = append(out, book.Setpoint{From: st.From, Celsius: st.Celsius})
	}
	return out
}

func placeOf(snap *monitor.Snapshot, id string) *monitor.PlaceNow {
	for i := range snap.Places {
		if snap.Places[i].ID == id && id != "" {
			return &snap.Places[i]
		}
	}
	return nil
}
