package web_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"math"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
	_ "time/tzdata" // the room's zone, on a machine without a database

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/species"
	"clutchd/sensors"
)

// noon is when the invented room was last looked at.
var noon = time.Date(2026, time.June, 14, 10, 32, 10, 0, time.UTC)

func days(n float64) time.Time {
	return noon.Add(time.Duration(n * 24 * float64(time.Hour))).Truncate(time.Minute)
}

func ptr[T any](v T) *T { return &v }

// invented is the book of a small room: two incubators, a clutch whose eggs
// lie apart, one that has hatched, one that is due.
func invented(t testing.TB) []book.Entry {
	t.Helper()
	var out []book.Entry
	write := func(at time.Time, kind book.Kind, data any) {
		text, err := json.Marshal(data)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, book.Entry{
			Seq: uint64(len(out) + 1), At: at, Made: at,
			Zone: "Europe/Berlin", By: "page", Kind: kind, Data: text,
		})
	}
	for _, p := range []book.PlaceData{
		{Place: "oak", Kind: incubation.Incubator, Name: "Oak cabinet"},
		{Place: "tin", Kind: incubation.Incubator, Name: "Tin cabinet"},
		{Place: "box-1", Kind: incubation.Box, Name: "Box 1, top"},
		{Place: "box-2", Kind: incubation.Box, Name: "Box 2, bottom"},
		{Place: "box-3", Kind: incubation.Box, Name: "Box 3"},
		{Place: "lay-pepper", Kind: incubation.LayBox, Name: "Lay box of Pepper"},
		{Place: "pepper", Kind: incubation.Enclosure, Name: "Enclosure of Pepper"},
		{Place: "room", Kind: incubation.Room, Name: "The room"},
	} {
		write(days(-80), book.KindPlace, p)
	}
	for _, p := range [][2]string{{"box-1", "oak"}, {"box-2", "oak"}, {"box-3", "tin"}, {"lay-pepper", "pepper"}} {
		write(days(-79), book.KindStand, book.StandData{Place: p[0], In: p[1]})
	}
	write(days(-79), book.KindSetpoint, book.SetpointData{Place: "oak", Celsius: 31.5})
	write(days(-79), book.KindSetpoint, book.SetpointData{Place: "tin", Celsius: 27.5})
	write(days(-9), book.KindSetpoint, book.SetpointData{Place: "tin", Celsius: 28})
	for _, p := range []book.ProbeData{
		{Probe: "w1-28-04a1", Place: "oak", Position: incubation.IncubatorAir},
		{Probe: "w1-28-04b2", Place: "box-1", Position: incubation.Substrate, OffsetKelvin: 0.1},
		{Probe: "sht31-1-44", Place: "box-2", Position: incubation.BoxAir},
		{Probe: "sht31-1-45", Place: "box-3", Position: incubation.BoxAir},
		{Probe: "w1-28-04c3", Place: "tin", Position: incubation.IncubatorAir},
		{Probe: "shelf-hygro", Place: "pepper"},
	} {
		write(days(-78), book.KindProbe, p)
	}
	for _, f := range [][2]string{{"f-pepper", "Pepper"}, {"f-saffron", "Saffron"}, {"f-juniper", "Juniper"}} {
		write(days(-77), book.KindFemale, book.FemaleData{Female: f[0], Name: f[1]})
	}
	for _, c := range []struct {
		id, female string
		ago        float64
		boxes      []string
	}{
		{"k1", "f-pepper", 70, []string{"box-3", "box-3"}},
		{"k2", "f-saffron", 36, []string{"box-1", "box-1"}},
		{"k3", "f-juniper", 21, []string{"box-2", "box-3"}},
		{"k4", "f-pepper", 2, []string{"box-1"}},
	} {
		d := book.LayingData{Clutch: c.id, Female: c.female, From: days(-c.ago - 0.5), To: days(-c.ago)}
		for i := range c.boxes {
			mark := string(rune('A' + i))
			d.Eggs = append(d.Eggs, book.EggName{Egg: c.id + "-" + strings.ToLower(mark), Mark: mark})
		}
		write(d.To, book.KindLaying, d)
		for i, b := range c.boxes {
			write(d.To.Add(time.Hour), book.KindEgg, book.EggData{Egg: d.Eggs[i].Egg, Box: b})
		}
	}
	write(days(-11), book.KindHatch, book.HatchData{Egg: "k1-a", Sex: "female"})
	write(days(-30), book.KindFail, book.FailData{Egg: "k1-b", Cause: "collapsed, mould"})
	write(days(-1), book.KindPlan, book.PlanData{Egg: "k3-a", Steps: []book.PlanStep{{Day: 24, Celsius: 28}}})
	write(days(-1), book.KindNote, book.NoteData{Subject: "box-2", Text: "misted the vermiculite, 8 g"})
	write(days(-76), book.KindContact, book.ContactData{Contact: "oak-door", Kind: incubation.Door, Place: "oak"})
	write(days(-76), book.KindContact, book.ContactData{Contact: "under-tin", Kind: incubation.Leak, Place: "tin"})
	return out
}

// today is the snapshot of the invented room: too warm in one box, a dead
// probe, a new probe, everything else well.
func today(t testing.TB, entries []book.Entry) *monitor.Snapshot {
	t.Helper()
	b := book.Fold(entries)
	if len(b.Problems) > 0 {
		t.Fatalf("the invented book does not fold: %q", b.Problems)
	}
	s := &monitor.Snapshot{
		Site: "Back room", Time: noon, Trusted: true, Started: days(-20), Tick: 4711,
		Took: 12 * time.Millisecond, Book: b, Outbox: map[string]int{"broker": 0},
	}
	probe := func(id, model, place string, pos incubation.Position, c incubation.Celsius, h incubation.Humidity, age time.Duration) {
		n := monitor.ProbeNow{
			Probe: sensors.Probe{
				ID: id, Model: model, Source: "bus 1, address " + id[len(id)-2:],
				Has: incubation.Temperature, Interval: 10 * time.Second, Accuracy: 0.5,
			}, Place: place, Position: pos,
			Latest: incubation.Reading{Probe: id, Time: noon.Add(-age), Has: incubation.Temperature, Celsius: c},
		}
		if h > 0 {
			n.Has |= incubation.RelativeHumidity
			n.Latest.Has, n.Latest.Humidity = n.Has, h
		}
		if age > 5*time.Minute {
			n.Stale, n.Fault = true, sensors.Absent
		}
		s.Probes = append(s.Probes, n)
	}
	probe("sht31-1-44", "sht31", "box-2", incubation.BoxAir, 33.4, 0.91, 4*time.Second)
	probe("sht31-1-45", "sht31", "box-3", incubation.BoxAir, 27.9, 0.88, 6*time.Second)
	probe("shelf-hygro", "mqtt", "pepper", "", 29.6, 0.34, 41*time.Minute)
	probe("w1-28-04a1", "ds18b20", "oak", incubation.IncubatorAir, 33.1, 0, 3*time.Second)
	probe("w1-28-04b2", "ds18b20", "box-1", incubation.Substrate, 32.3, 0, 3*time.Second)
	probe("w1-28-04c3", "ds18b20", "tin", incubation.IncubatorAir, 28.1, 0, 3*time.Second)
	probe("w1-28-04d4", "ds18b20", "", "", 22.4, 0, 2*time.Second)

	place := func(id, in string, c, low, high incubation.Celsius, more ...func(*monitor.PlaceNow)) {
		n := monitor.PlaceNow{
			Place: *b.Places[id], In: in, Path: b.Path(id, noon),
			Setpoint: b.SetpointAt(id, noon), Eggs: b.LiveEggs(id, noon),
		}
		for _, p := range s.Probes {
			if p.Place == id {
				n.Probes = append(n.Probes, p.ID)
				n.Read = p.Latest.Time
			}
		}
		n.Expected = n.Setpoint
		if c > 0 {
			n.Celsius, n.Expected = &c, &c
		}
		if high > 0 {
			n.Low, n.High = &low, &high
		}
		for _, f := range more {
			f(&n)
		}
		s.Places = append(s.Places, n)
	}
	damp := func(h incubation.Humidity) func(*monitor.PlaceNow) {
		return func(n *monitor.PlaceNow) { n.Humidity, n.LowHumidity = &h, ptr(incubation.Humidity(0.75)) }
	}
	worst := func(w alerts.Severity) func(*monitor.PlaceNow) { return func(n *monitor.PlaceNow) { n.Worst = w } }
	learned := func(k float64) func(*monitor.PlaceNow) { return func(n *monitor.PlaceNow) { n.Offset = &k } }
	place("oak", "", 33.1, 29.5, 33, worst(alerts.Warning))
	place("box-1", "oak", 32.3, 29.5, 33, learned(0.6))
	place("box-2", "oak", 33.4, 29.5, 33, damp(0.91), worst(alerts.Critical), learned(-0.4))
	place("tin", "", 28.1, 26, 29.5)
	place("box-3", "tin", 27.9, 26, 29.5, damp(0.88))
	place("lay-pepper", "pepper", 0, 0, 0)
	place("pepper", "", 0, 24, 34, worst(alerts.Warning))
	place("room", "", 0, 0, 0)

	s.Contacts = []monitor.ContactNow{
		{
			Contact: sensors.Contact{ID: "mains", Kind: incubation.Mains, Source: "/sys/class/power_supply/AC"},
			Known:   true, On: true, Since: days(-12), Detail: "battery 97 %, full", Read: noon.Add(-2 * time.Second),
		},
		{
			Contact: sensors.Contact{ID: "oak-door", Kind: incubation.Door, Source: "GPIO line GPIO17"},
			Place:   "oak", Known: true, Since: noon.Add(-70 * time.Minute), Read: noon.Add(-4 * time.Second),
		},
		{
			Contact: sensors.Contact{ID: "under-tin", Kind: incubation.Leak, Source: "GPIO line GPIO27"},
			Place:   "tin", Known: true, Since: days(-20), Read: noon.Add(-26 * time.Minute), Stale: true, Fault: sensors.Absent,
		},
	}
	s.Alerts = told()
	s.Clutches = clutches(b)
	return s
}

func told() []alerts.State {
	subject := alerts.Subject{Kind: alerts.PlaceSubject, ID: "box-2", Name: "Oak cabinet / Box 2, bottom"}
	shelf := alerts.Subject{Kind: alerts.ProbeSubject, ID: "shelf-hygro", Name: "shelf-hygro"}
	oak := alerts.Subject{Kind: alerts.PlaceSubject, ID: "oak", Name: "Oak cabinet"}
	return []alerts.State{
		{
			Alert: "too-warm.place.box-2", Occurrence: "o-81", Rule: "too-warm", Subject: subject,
			Phase: alerts.Active, Severity: alerts.Critical, Since: noon.Add(-23 * time.Minute),
			Raised: noon.Add(-13 * time.Minute), Value: ptr(33.6), Limit: ptr(33.0), Unit: "celsius",
			Eggs: []string{"k3-a"},
			Text: "Box 2 is 33.4 °C, 1.9 over its setpoint, for 23 min. Eggs k3 A. Open the door until it falls, then look at the thermostat and at where its probe lies.",
		},
		{
			Alert: "off-setpoint.place.oak", Occurrence: "o-80", Rule: "off-setpoint", Subject: oak,
			Phase: alerts.InOffDelay, Severity: alerts.Warning, Since: noon.Add(-70 * time.Minute),
			Raised: noon.Add(-40 * time.Minute), Ended: noon.Add(-2 * time.Minute), Acknowledged: noon.Add(-20 * time.Minute),
			AcknowledgedBy: "page", Value: ptr(33.2), Limit: ptr(32.5), Unit: "celsius",
			Text: "The Oak cabinet has been 1.2 °C off its setpoint for 40 min.",
		},
		{
			Alert: "stale.probe.shelf-hygro", Occurrence: "o-79", Rule: "stale", Subject: shelf,
			Phase: alerts.Cleared, Severity: alerts.Warning, Since: days(-1), Raised: days(-1), Ended: days(-0.9),
			Cleared: days(-0.9), Text: "shelf-hygro was silent for 2 h.",
		},
		{
			Alert: "dry-air.place.box-3", Occurrence: "o-77", Rule: "dry-air",
			Subject: alerts.Subject{Kind: alerts.PlaceSubject, ID: "box-3", Name: "Tin cabinet / Box 3"},
			Phase:   alerts.Active, Severity: alerts.Warning, Since: days(-0.4), Raised: days(-0.3),
			ShelvedUntil: noon.Add(6 * time.Hour), ShelvedBy: "page", Value: ptr(0.71), Limit: ptr(0.75), Unit: "ratio",
			Text: "The air of box 3 has been under 75 % for 3 h.",
		},
	}
}

func clutches(b *book.State) []monitor.ClutchNow {
	var out []monitor.ClutchNow
	for _, id := range []string{"k4", "k3", "k2", "k1"} {
		c := b.Clutches[id]
		n := monitor.ClutchNow{
			ID: id, Female: c.Female, Name: b.Name(c.Female),
			Laid: monitor.LaidJSON{From: c.Laid.From, To: c.Laid.To},
		}
		for i, e := range c.Eggs {
			in := incubation.At(e.Stays, noon)
			now := monitor.EggNow{ID: e.ID, Mark: e.Mark, State: e.State, Box: in, PlacePath: b.Path(in, noon)}
			now.Estimate = guess(id, i, c.Laid.To)
			n.Eggs = append(n.Eggs, now)
		}
		switch id {
		case "k2":
			n.Males = []float64{0.05, 0.17, 0.78}
		case "k3":
			n.Males = []float64{0.21, 0.64, 0.15}
		case "k4":
			n.Males = []float64{0.24, 0.76}
		}
		out = append(out, n)
	}
	return out
}

// guess is an invented estimate; nothing here is a claim about geckos.
func guess(clutch string, egg int, laid time.Time) *incubation.Estimate {
	day := func(n float64) time.Time { return laid.Add(time.Duration(n * 24 * float64(time.Hour))) }
	e := &incubation.Estimate{Hatch: incubation.HatchSpan{Probability: 0.9}}
	switch {
	case clutch == "k2":
		e.Development = incubation.Span{Fraction: 0.91, Low: 0.86, High: 0.97}
		e.TSP = incubation.TSP{State: incubation.TSPClosed, Done: 1, Opens: day(8), Closes: day(21)}
		e.CTE = &incubation.CTE{Value: 31.6, Low: 31.3, High: 31.9}
		e.Sex = incubation.Sex{MaleProbability: 0.87, Low: 0.74, High: 0.93, Words: "likely male"}
		e.Hatch.Earliest, e.Hatch.Likely, e.Hatch.Latest = day(35), day(39), day(44)
		e.Hatch.Due = 0.12
		e.Basis = incubation.Basis{Measured: 0.97, Gap: 0.03}
	case clutch == "k3" && egg == 0:
		e.Development = incubation.Span{Fraction: 0.52, Low: 0.48, High: 0.57}
		e.TSP = incubation.TSP{State: incubation.TSPOpen, Done: 0.83, Opens: day(8), Closes: day(23), LastChange: day(22)}
		e.Harm = &incubation.Harm{Above: incubation.Excess{
			Limit: 35, DegreeMinutes: 96, Minutes: 150, Longest: 110, Worst: 36.4, At: day(13.4),
		}, Below: incubation.Excess{
			Limit: 24, DegreeMinutes: 31, Minutes: 40, Longest: 40, Worst: 22.9, At: day(5.2),
		}}
		e.CTE = &incubation.CTE{Value: 31.4, Low: 31.0, High: 31.8}
		e.Sex = incubation.Sex{MaleProbability: 0.79, Low: 0.58, High: 0.9, Words: "more likely male, not sure"}
		e.Hatch.Earliest, e.Hatch.Likely, e.Hatch.Latest = day(38), day(42), day(48)
		e.Basis = incubation.Basis{Measured: 0.74, Gap: 0.09, Projected: 0.17}
	case clutch == "k3":
		e.Development = incubation.Span{Fraction: 0.39, Low: 0.35, High: 0.43}
		e.TSP = incubation.TSP{State: incubation.TSPOpen, Done: 0.6, Opens: day(12), Closes: day(28)}
		e.CTE = &incubation.CTE{Value: 27.8, Low: 27.5, High: 28.1}
		e.Sex = incubation.Sex{MaleProbability: 0.02, Low: 0.003, High: 0.06, Words: "likely female"}
		e.Hatch.Earliest, e.Hatch.Likely, e.Hatch.Latest = day(50), day(54), day(60)
		e.Basis = incubation.Basis{Measured: 0.6, Projected: 0.4}
	case clutch == "k4":
		e.Development = incubation.Span{Fraction: 0.05, Low: 0.04, High: 0.06}
		e.TSP = incubation.TSP{State: incubation.TSPBefore, Opens: day(8), Closes: day(21)}
		e.Sex = incubation.Sex{MaleProbability: 0.76, Low: 0.4, High: 0.92, Words: "forecast: more likely male, open"}
		e.Hatch.Earliest, e.Hatch.Likely, e.Hatch.Latest = day(35), day(39), day(45)
		e.Basis = incubation.Basis{Projected: 1}
	case egg == 0:
		e.Development = incubation.Span{Fraction: 0.98, Low: 0.93, High: 1}
		e.TSP = incubation.TSP{State: incubation.TSPClosed, Done: 1, Opens: day(13), Closes: day(30)}
		e.CTE = &incubation.CTE{Value: 27.5, Low: 27.2, High: 27.8}
		e.Sex = incubation.Sex{MaleProbability: 0.02, Low: 0.002, High: 0.05, Words: "almost surely female"}
		e.Hatch.Earliest, e.Hatch.Likely, e.Hatch.Latest = day(51), day(57), day(64)
		e.Basis = incubation.Basis{Measured: 1}
		return e
	default:
		return nil
	}
	for i := range 17 {
		c := 26 + 0.5*float64(i)
		p := 0.9 / (1 + math.Exp(-(c-30.3)/0.5)) / (1 + math.Exp((c-33)/0.45))
		e.HoldFromNow = append(e.HoldFromNow, incubation.Hold{
			Celsius: incubation.Celsius(c), MaleProbability: p,
			Low: p * 0.7, High: min(1, p*1.2+0.02), HatchLikely: e.Hatch.Likely.Add(time.Duration((31-c)*36) * time.Hour),
		})
	}
	return e
}

// memory is a history that follows the setpoint with a small swing, a gap of
// a night, and the warm end of today.
type memory struct{ state *book.State }

func (m memory) Range(_ context.Context, probe string, from, to time.Time) iter.Seq2[incubation.Reading, error] {
	return func(yield func(incubation.Reading, error) bool) {
		seed := float64(len(probe)*7) + float64(probe[len(probe)-1])
		for at := from.Truncate(10 * time.Minute); at.Before(to); at = at.Add(10 * time.Minute) {
			hours := at.Sub(noon).Hours()
			place := ""
			for _, p := range m.state.Placements {
				if p.Probe == probe && p.Stay.Covers(at) {
					place = p.Stay.Place
				}
			}
			aim := m.state.SetpointAt(place, at)
			if at.Before(from) || aim == nil || hours > -70 && hours < -61 && strings.HasPrefix(probe, "sht") || hours > -70 && hours < -61 && probe == "w1-28-04a1" {
				continue
			}
			c := float64(*aim) + 0.25*math.Sin(hours*2.1+seed) + 0.1*math.Sin(hours*13+seed)
			if probe == "sht31-1-44" {
				c += 2.1 * math.Exp(min(0, hours)/0.9)
			}
			if hours > -300 && hours < -294 {
				c -= 3 * math.Sin((hours+300)/6*math.Pi)
			}
			r := incubation.Reading{Probe: probe, Time: at, Has: incubation.Temperature, Celsius: incubation.Celsius(math.Round(c*100) / 100)}
			if !yield(r, nil) {
				return
			}
		}
	}
}

// doubting invents what the estimate of an egg would be without each doubt:
// much narrower without two of them.
type doubting struct{ snap *monitor.Snapshot }

func (d doubting) Narrowings(egg string) ([]incubation.Narrowing, error) {
	for _, c := range d.snap.Clutches {
		for _, e := range c.Eggs {
			if e.ID != egg {
				continue
			}
			if e.State != incubation.Incubating {
				return nil, &monitor.Refusal{Field: "egg", Text: "egg " + egg + " " + string(e.State)}
			}
			var out []incubation.Narrowing
			for _, doubt := range []incubation.Doubt{
				incubation.OfProbe, incubation.OfPosition, incubation.OfGaps, incubation.OfPlan, incubation.OfLaying,
			} {
				n := incubation.Narrowing{Without: doubt, Sex: e.Estimate.Sex, Hatch: e.Estimate.Hatch}
				n.Sex.Words = ""
				switch doubt {
				case incubation.OfPosition:
					n.Sex.Low += 0.12
				case incubation.OfPlan:
					n.Sex.Low += 0.04
					n.Hatch.Latest = n.Hatch.Latest.Add(-40 * time.Hour)
				}
				out = append(out, n)
			}
			return out, nil
		}
	}
	return nil, &monitor.Refusal{Field: "egg", Text: "the book has no egg " + egg}
}

// notebook is a door that keeps what came through it and knows a request
// again.
type notebook struct {
	mu    sync.Mutex
	made  []monitor.Change
	seen  map[string]book.Entry
	state *book.State
	err   error
}

func (n *notebook) Do(_ context.Context, c monitor.Change) (monitor.Done, error) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if n.err != nil {
		return monitor.Done{}, n.err
	}
	if c.Entry == nil {
		n.made = append(n.made, c)
		return monitor.Done{}, nil
	}
	e := *c.Entry
	if old, ok := n.seen[e.Request]; ok && e.Request != "" {
		return monitor.Done{Entry: old, Duplicate: true}, nil
	}
	if e.At.IsZero() {
		e.At = noon
	}
	if err := book.Check(n.state, e); err != nil {
		if p, ok := errors.AsType[*book.Problem](err); ok {
			return monitor.Done{}, &monitor.Refusal{Field: p.Field, Text: p.Text}
		}
		return monitor.Done{}, err
	}
	e.Seq = uint64(1000 + len(n.made))
	n.made = append(n.made, c)
	n.seen[e.Request] = e
	return monitor.Done{Entry: e}, nil
}

// A site is a server on the invented room, with what came through its door.
type site struct {
	server  *web.Server
	handler http.Handler
	snap    *monitor.Snapshot
	door    *notebook
	press   *press
	options web.Options
}

func open(t testing.TB, change ...func(*web.Options)) *site {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	entries := invented(t)
	s := &site{snap: today(t, entries)}
	s.door = &notebook{seen: map[string]book.Entry{}, state: s.snap.Book}
	s.press = &press{}
	never := make(chan struct{})
	s.options = web.Options{
		Listen: "127.0.0.1:0", Zone: zone, Units: "C", Door: s.door,
		Snapshot: func() *monitor.Snapshot { return s.snap },
		Changed:  func() <-chan struct{} { return never },
		Entries: func(since uint64) []book.Entry {
			return slices.DeleteFunc(slices.Clone(entries), func(e book.Entry) bool { return e.Seq <= since })
		},
		History: memory{s.snap.Book}, Planner: desk{s}, Doubts: doubting{s.snap}, Track: recorded(s.snap.Book), Past: happened(), Rehearse: &inventedPast{}, Press: s.press, Profile: species.Leopard(),
		Metrics: http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { fmt.Fprintln(w, "clutchd_build_info 1") }),
	}
	for _, f := range change {
		f(&s.options)
	}
	s.server, err = web.New(s.options)
	if err != nil {
		t.Fatal(err)
	}
	s.handler = s.server.Handler()
	return s
}

// A request is asked of the site as a browser on the same machine would.
func (s *site) ask(method, path, body string, header ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.Host, r.RemoteAddr = "127.0.0.1:8080", "127.0.0.1:5000"
	if method == "POST" && !strings.HasPrefix(path, "/api/") {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for i := 0; i+1 < len(header); i += 2 {
		switch header[i] {
		case "Host":
			r.Host = header[i+1]
		case "From-Address":
			r.RemoteAddr = header[i+1]
		default:
			r.Header.Set(header[i], header[i+1])
		}
	}
	w := httptest.NewRecorder()
	s.handler.ServeHTTP(w, r)
	return w
}
