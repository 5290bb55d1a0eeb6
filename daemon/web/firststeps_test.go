package web_test

import (
	"context"
	"errors"
	"html"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors"
)

var nextStep = regexp.MustCompile(`(?s)<span class="word">next</span> <span class="where">([^<]*)</span>.*?href="([^"]*)"`)

// furnish does what the monitor does between an entry and the next page: it
// lists the places that the book has.
func furnish(k *kept, change func(*monitor.Snapshot)) {
	next := *k.snap
	next.Places = nil
	for _, id := range []string{"incubator", "box-1"} {
		if p := next.Book.Places[id]; p != nil {
			n := monitor.PlaceNow{Place: *p, In: incubation.At(p.Stays, noon.Add(time.Hour)), Path: p.Name}
			next.Places = append(next.Places, n)
		}
	}
	if change != nil {
		change(&next)
	}
	k.snap = &next
}

// From no probes to the first eggs in a box, each step by the form that the
// page leads to.
func TestFirstStepsLeadToEggsInABox(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, k := withBook(t, nil)
		probe := monitor.ProbeNow{Probe: sensors.Probe{ID: "w1-28-04a1", Model: "ds18b20"}}
		for _, step := range []struct {
			next, href string
			fill       []string // what the keeper adds to what the form knows
			then       func(*monitor.Snapshot)
		}{
			{next: "A probe is heard", href: "/help/start", then: func(s *monitor.Snapshot) { s.Probes = []monitor.ProbeNow{probe} }},
			{next: "An incubator", href: "kind=place", fill: []string{"kind", "place", "name", "Incubator", "place_kind", "incubator"}},
			{next: "A probe in its place", href: "place=incubator", fill: []string{"kind", "probe", "probe", "w1-28-04a1", "place", "incubator", "position", "incubator-air"}, then: func(s *monitor.Snapshot) {
				p := probe
				p.Place = "incubator"
				s.Probes = []monitor.ProbeNow{p}
			}},
			{next: "The setpoint", href: "kind=setpoint", fill: []string{"kind", "setpoint", "place", "incubator", "celsius", "28"}},
			{next: "An egg box", href: "is=box", fill: []string{"kind", "place", "name", "Box 1", "place_kind", "box"}},
			{next: "An egg box", href: "kind=stand", fill: []string{"kind", "stand", "place", "box-1", "in", "incubator"}},
			{next: "The first female", href: "back=%2F", fill: []string{"kind", "female", "name", "Fern"}},
			{next: "The first clutch", href: "female=fern", fill: []string{"kind", "laying", "female", "fern", "from", "2026-06-14T07:00", "eggs", "1", "clutch", "c1"}, then: func(s *monitor.Snapshot) {
				s.Clutches = []monitor.ClutchNow{{ID: "c1", Female: "fern", Eggs: []monitor.EggNow{{ID: "c1-a", Mark: "A", State: incubation.Incubating}}}}
			}},
			{next: "The eggs in a box", href: "egg=c1-a", fill: []string{"kind", "egg", "egg", "c1-a", "box", "box-1"}},
		} {
			page := s.ask("GET", "/", "").Body.String()
			m := nextStep.FindStringSubmatch(page)
			if m == nil || m[1] != step.next || !strings.Contains(html.UnescapeString(m[2]), step.href) {
				t.Fatalf("wanted the step %q by %q, got %q", step.next, step.href, m)
			}
			if w := s.ask("GET", html.UnescapeString(m[2]), ""); w.Code != http.StatusOK {
				t.Errorf("%s answers %d", m[2], w.Code)
			}
			if step.fill != nil {
				form := fill(step.fill...)
				form.Set("request", "page-"+step.next+step.href)
				if w := s.ask("POST", "/entries", form.Encode()); w.Code != http.StatusSeeOther {
					t.Fatalf("%s: answer %d\n%s", step.next, w.Code, errorsIn(w.Body.String()))
				}
			}
			furnish(k, step.then)
		}
		if page := s.ask("GET", "/", "").Body.String(); strings.Contains(page, "First steps") {
			t.Error("the steps stay when eggs lie in a box")
		}
	})
}

func TestFirstStepsCanBeHidden(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s, _ := withBook(t, nil)
		w := s.ask("POST", "/start", "")
		c := w.Result().Cookies()
		if w.Code != http.StatusSeeOther || len(c) != 1 {
			t.Fatalf("answer %d, %d cookies", w.Code, len(c))
		}
		page := s.ask("GET", "/", "", "Cookie", c[0].Name+"="+c[0].Value).Body.String()
		if strings.Contains(page, "first steps") || !strings.Contains(page, "Nothing is set up yet") {
			t.Error("hidden steps are shown, or nothing says how to begin")
		}
		c = s.ask("POST", "/start", "show=1").Result().Cookies()
		if page := s.ask("GET", "/", "", "Cookie", c[0].Name+"="+c[0].Value).Body.String(); !strings.Contains(page, "first steps") {
			t.Error("they do not come back")
		}
	})
}

// A test message counts as sent once it reached somebody.
func TestFirstStepsKnowThatAMessageArrived(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		var reports []alerts.Report
		s, _ := withBook(t, []book.Entry{newEntry(t, days(-1), book.KindAnimal, book.AnimalData{Animal: "fern", Name: "Fern", Sex: incubation.Female})}, func(o *web.Options) {
			o.Message = func(context.Context) []alerts.Report { return reports }
		})
		done := func() bool {
			page := s.ask("GET", "/", "").Body.String()
			_, part, _ := strings.Cut(page, "Done: ")
			part, _, _ = strings.Cut(part, "</p>")
			return strings.Contains(part, "A message reaches you")
		}
		if done() {
			t.Error("a message is said to have arrived before any was sent")
		}
		if s.ask("POST", "/alerts/message", ""); done() {
			t.Error("a message to nobody is said to have arrived")
		}
		reports = []alerts.Report{{Destination: "broker", Hops: []alerts.Hop{{Name: "connection", Err: errors.New("refused")}}}}
		if s.ask("POST", "/alerts/message", ""); done() {
			t.Error("a message that was stopped is said to have arrived")
		}
		reports = append(reports, alerts.Report{Destination: "phone", Hops: []alerts.Hop{{Name: "answer"}}})
		if s.ask("POST", "/alerts/message", ""); !done() {
			t.Error("a message that arrived is not known to have")
		}
	})
}
