package web

import (
	"cmp"
	"net/http"
	"slices"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// chartSpans are the lengths of time a place's chart may show.
var chartSpans = [...]struct {
	Key, Text string
	For       time.Duration
}{
	{"24h", "24 hours", 24 * time.Hour},
	{"7d", "7 days", 7 * 24 * time.Hour},
	{"60d", "60 days", 60 * 24 * time.Hour},
}

type placeBody struct {
	Place    placeLine
	Out      *outLine // it is out of service
	In       string
	Inside   []placeLine
	Probes   []probeLine
	Contacts []contactLine
	Eggs     []eggLine
	Spans    []spanLink
	Chart    *chart
	Alerts   []alertLine
	Choices  []choice // what can be written about it
	Plan     []string
	Period   string // which of its own limits are in force
	Own      []fact // what it has of its own besides the day's limits
	Map      *shelfMap
}

// A fact is a line of what is known of a place.
type fact struct{ Label, Text string }

type spanLink struct {
	Key, Text string
	Here      bool
}

// A choice is one thing that can be written in the book.
type choice struct{ Href, Text string }

func (s *Server) place(v *visit) error {
	id := v.r.PathValue("id")
	p := placeOf(v.snap, id)
	if p == nil {
		return missing{"place " + id}
	}
	b := placeBody{Place: v.placeLine(*p), Alerts: v.alertLines(about(id)), Choices: choicesFor(*p)}
	for _, n := range v.placeLines() {
		if q := placeOf(v.snap, n.ID); q.In == id {
			b.Inside = append(b.Inside, n)
		}
	}
	if in := placeOf(v.snap, p.In); in != nil {
		b.In = in.Name
	}
	if p.Service != nil {
		out := v.outLine(*p)
		b.Out = &out
	}
	for _, n := range v.snap.Probes {
		if n.Place == id {
			b.Probes = append(b.Probes, v.probeLine(n))
		}
	}
	b.Contacts = v.contactLines(func(c monitor.ContactNow) bool { return c.Place == id })
	b.Eggs = slices.DeleteFunc(v.eggLines(), func(l eggLine) bool { return l.Where != p.Path })
	b.Plan, b.Period, b.Own = v.planLines(id), periodWord(p.Limits), v.ownLines(id)
	b.Map = v.shelfMap(*p)
	if err := s.placeChart(v, *p, &b); err != nil {
		return err
	}
	return v.render("place", frame{Title: p.Name, Nav: "room", Body: b}, http.StatusOK)
}

func (s *Server) placeChart(v *visit, p monitor.PlaceNow, b *placeBody) error {
	wanted := cmp.Or(v.r.URL.Query().Get("span"), chartSpans[0].Key)
	length := chartSpans[0].For
	for _, c := range chartSpans {
		b.Spans = append(b.Spans, spanLink{c.Key, c.Text, c.Key == wanted})
		if c.Key == wanted {
			length = c.For
		}
	}
	if s.o.History == nil {
		return nil
	}
	q := question{
		stays: []incubation.Stay{{Place: p.ID}}, from: v.snap.Time.Add(-length),
		to: v.snap.Time, points: chartColumns, limits: fence{low: p.Low, high: p.High}, own: true,
	}
	r, err := s.record(v.r.Context(), v.snap, q)
	if err != nil {
		return err
	}
	b.Chart = v.say.draw(p.Name, plot{record: r, low: p.Low, high: p.High, now: v.snap.Time})
	return nil
}

func (v *visit) planLines(id string) []string {
	var out []string
	for _, st := range v.snap.Book.Plans[id] {
		if !st.At.IsZero() && st.Celsius != 0 {
			out = append(out, v.say.temp(st.Celsius)+" "+v.say.Unit()+" from "+v.say.moment(st.At))
		}
	}
	return out
}

// choicesFor are the things worth writing about a place of this kind.
func choicesFor(p monitor.PlaceNow) []choice {
	at := func(kind, text string) choice {
		return choice{"/entries/new?kind=" + kind + "&place=" + p.ID + "&back=/places/" + p.ID, text}
	}
	ofBox := func(kind, text string) choice {
		return choice{"/entries/new?kind=" + kind + "&box=" + p.ID + "&back=/places/" + p.ID, text}
	}
	var out []choice
	switch p.Kind {
	case incubation.Incubator:
		out = append(out, at("setpoint", "Thermostat was set"), at("plan", "Plan a change"))
	case incubation.Box:
		out = append(out, at("egg", "Put an egg in"), ofBox("looked", "Looked at"), ofBox("weighed", "Weighed"), at("stand", "Move the box"))
	case incubation.LayBox:
		out = append(out, at("laying", "Eggs found"), at("stand", "Move the lay box"))
	case incubation.Enclosure:
		out = append(out, choice{"/slots/" + p.ID, "Who lives here"},
			choice{"/entries/new?kind=housed&enclosure=" + p.ID + "&back=/places/" + p.ID, "Put an animal in"},
			at("place", "Rack and slot"))
	}
	if p.Service == nil {
		out = append(out, at("service", "Out of service"))
	}
	return append(out, at("limits", "Limits"), at("limits&one=rule", "Change a rule here"),
		at("probe", "Put a probe here"), at("calibrated", "Probe calibrated"),
		at("place", "Rename"), at("note", "Note"))
}
