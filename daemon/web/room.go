package web

import (
	"fmt"
	"hash/fnv"
	"net/http"
	"strings"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
)

// roomBody is the room now: the sheet that hangs by the door.
type roomBody struct {
	Alerts  []alertGroup // not acknowledged
	Seen    []alertLine  // acknowledged and still there
	Out     []outLine    // out of service
	Waiting []probeLine
	// Contacts is every contact: few enough to see at a glance.
	Contacts []contactLine
	Places   []placeLine
	Eggs     []eggLine
	Empty    bool // nothing is set up yet
	Steps    *firstSteps
	Due      *dueBlock
}

// A placeLine is one place in the list. Its live parts carry its id.
type placeLine struct {
	ID, Name, Kind, Path string
	Depth                int
	Value, Unit          string // Value "–" when nothing fresh was read
	Humidity             string
	Aim, Bounds, Learned string
	Age                  string
	State                state
	Mark                 *rangeMark
	Eggs                 string // marks of the eggs in it, by clutch
	Settling             string
	Cools                string // how it loses its warmth without heat, once that was seen
	Countdown            string // how long it stays warm enough, while its mains are off
	Out                  string // until when it is out of service
	Flag                 string // its state's word, unless all is well
	Bare                 bool   // no probe sits in it
}

// A rangeMark draws where a value lies between its limits: positions on a
// line 120 wide, limits at 24 and 96.
type rangeMark struct {
	Value, Aim       string // "": not drawn
	LowText, HighTxt string
}

type probeLine struct {
	ID, Model, Source, Value, Age, Place, Position, Fault string
	Says                                                  string // of its quality
	Compared                                              string // raw value, calibration
	State                                                 state
}

func (s *Server) room(v *visit) error {
	told := v.alertLines(func(a alerts.State) bool {
		return a.Told() && !shelved(a, v.snap.Time)
	})
	b := roomBody{Places: v.placeLines(), Eggs: v.eggLines(), Out: v.outLines()}
	var unseen []alertLine
	for _, a := range told {
		a.CanShelve = false // on the alerts page, with time to think
		if a.Acknowledged == "" {
			unseen = append(unseen, a)
			continue
		}
		b.Seen = append(b.Seen, a)
	}
	b.Alerts = groups(unseen)
	for _, p := range v.snap.Probes {
		if p.Place == "" {
			b.Waiting = append(b.Waiting, v.probeLine(p))
		}
	}
	b.Contacts = v.contactLines(func(monitor.ContactNow) bool { return true })
	b.Empty = len(b.Places) == 0 && len(b.Waiting) == 0
	b.Steps, b.Due = v.firstSteps(), v.dueBlock()
	return v.render("room", frame{Title: "Room", Nav: "room", Body: b}, http.StatusOK)
}

func (v *visit) placeLines() []placeLine {
	depth := map[string]int{}
	var lines []placeLine
	for _, p := range v.snap.Places {
		if d, ok := depth[p.In]; ok && p.In != "" {
			depth[p.ID] = d + 1
		} else {
			depth[p.ID] = 0
		}
		l := v.placeLine(p)
		l.Depth = min(depth[p.ID], 2)
		if in := placeOf(v.snap, p.In); in != nil && in.Setpoint != nil && p.Setpoint != nil &&
			*in.Setpoint == *p.Setpoint {
			l.Aim = "" // said one line above
		}
		lines = append(lines, l)
	}
	return lines
}

func (v *visit) placeLine(p monitor.PlaceNow) placeLine {
	w := v.say
	l := placeLine{
		ID: p.ID, Name: p.Name, Kind: kindWord(p.Kind), Path: p.Path, Unit: w.Unit(),
		Value: "–", Age: w.age(p.Read), State: v.placeState(p), Bare: len(p.Probes) == 0,
		Bounds: v.bounds(p), Eggs: v.marksIn(v.lyingIn(p)),
	}
	if p.Celsius != nil {
		l.Value = w.temp(*p.Celsius)
	}
	if p.Humidity != nil {
		l.Humidity = percent(float64(*p.Humidity))
	}
	if p.Setpoint != nil {
		l.Aim = w.temp(*p.Setpoint)
	}
	if in := placeOf(v.snap, p.In); p.Offset != nil && in != nil && in.Kind == incubation.Incubator {
		l.Learned = w.difference(*p.Offset)
	}
	l.Cools, l.Countdown = coolsSays(p.Cooling), w.countdownSays(p.Countdown)
	if p.Settling.After(v.snap.Time) {
		l.Settling = w.moment(p.Settling)
	}
	if p.Service != nil {
		l.Out = v.teller().dated(p.Service.Until, v.snap.Time)
	}
	if l.State != normal {
		l.Flag = l.State.Word
	}
	l.Mark = w.rangeMark(p)
	return l
}

// placeState is a place's colour. Green only says that a fresh value lies
// where it may; without one, or without limits, there is nothing to be green
// about.
func (v *visit) placeState(p monitor.PlaceNow) state {
	switch {
	case p.Worst != "":
		return stateOf(p.Worst)
	case p.Service != nil:
		return outOfService
	case p.Celsius == nil && len(p.Probes) > 0:
		return state{"quiet", "no fresh reading"}
	case p.Celsius == nil, p.Low == nil && p.High == nil:
		return quiet
	case p.Low != nil && *p.Celsius < *p.Low, p.High != nil && *p.Celsius > *p.High:
		return state{"quiet", "outside its limits"}
	}
	return normal
}

func (v *visit) bounds(p monitor.PlaceNow) string {
	switch {
	case p.Low != nil && p.High != nil:
		return v.say.temp(*p.Low) + "–" + v.say.temp(*p.High)
	case p.Low != nil:
		return "from " + v.say.temp(*p.Low)
	case p.High != nil:
		return "up to " + v.say.temp(*p.High)
	}
	return ""
}

func (w words) rangeMark(p monitor.PlaceNow) *rangeMark {
	if p.Low == nil || p.High == nil || *p.High <= *p.Low {
		return nil
	}
	at := func(c *incubation.Celsius) string {
		if c == nil {
			return ""
		}
		x := 24 + 72*float64(*c-*p.Low)/float64(*p.High-*p.Low)
		return fmt.Sprintf("%.1f", min(116, max(4, x)))
	}
	return &rangeMark{
		Value: at(p.Celsius), Aim: at(p.Setpoint),
		LowText: w.temp(*p.Low), HighTxt: w.temp(*p.High),
	}
}

func (v *visit) probeLine(p monitor.ProbeNow) probeLine {
	l := probeLine{
		ID: p.ID, Model: p.Model, Source: p.Source, Place: p.Place, Value: "–",
		Position: positionWord(p.Position), Fault: causeWord(p.Fault), State: normal,
		Age: v.say.age(p.Latest.Time),
	}
	fresh := !p.Stale && !p.Latest.Time.IsZero()
	var parts []string
	if fresh && p.Latest.Has&incubation.Temperature != 0 {
		parts = append(parts, v.say.temp(p.Latest.Celsius)+" "+v.say.Unit())
	}
	if fresh && p.Latest.Has&incubation.RelativeHumidity != 0 {
		parts = append(parts, percent(float64(p.Latest.Humidity)))
	}
	l.Compared = v.compared(p)
	if len(parts) > 0 {
		l.Value = strings.Join(parts, " · ")
	}
	switch {
	case p.Place == "":
		l.State = must
	case !fresh:
		l.State = state{"warning", "no fresh reading"}
	default:
		l.State, l.Says = qualityState(p.Latest.Quality), qualitySays(p.Latest.Quality)
	}
	return l
}

// structure changes whenever a page would get other rows than it has: the
// live script then asks for the page again instead of patching it.
func structure(snap *monitor.Snapshot) string {
	h := fnv.New64a()
	put := func(parts ...string) { _, _ = h.Write([]byte(strings.Join(parts, "\x00") + "\x01")) }
	for _, p := range snap.Places {
		put(p.ID, p.In, p.Name, fmt.Sprint(len(p.Eggs), p.Low != nil, p.High != nil,
			p.Setpoint != nil))
		if p.Cooling != nil || p.Countdown != nil {
			put(p.ID, fmt.Sprint(p.Cooling != nil, p.Countdown != nil))
		}
		if p.Service != nil {
			put(fmt.Sprint(*p.Service))
		}
	}
	for _, p := range snap.Probes {
		put(p.ID, p.Place)
		if q := p.Latest.Quality; q.Doubtful() && q != incubation.Spiked { // gone before a page is there
			put(q.String())
		}
	}
	for _, c := range snap.Contacts {
		put(c.ID, c.Place)
	}
	for _, a := range snap.Alerts {
		put(a.Alert, a.Occurrence, string(a.Phase), fmt.Sprint(a.Acknowledged.IsZero(),
			shelved(a, snap.Time), a.Latched))
	}
	for _, c := range snap.Clutches {
		for _, e := range c.Eggs {
			put(e.ID, string(e.State), e.Box, fmt.Sprint(e.Estimate != nil, e.Computing))
			if egg := snap.Book.Eggs[e.ID]; egg != nil && egg.Sex != "" {
				put(egg.Sex, egg.Sexed.At.String(), string(egg.Sexed.How))
			}
		}
		if clutch := snap.Book.Clutches[c.ID]; clutch != nil && clutch.Mixed.Count() > 0 {
			put(c.ID, fmt.Sprint(clutch.Mixed))
		}
	}
	if l := snap.Lesson; l.Effective > 0 || l.Failed {
		put(fmt.Sprint(l.Clutches, l.Hatches, l.Sexes, l.Hindsight.Eggs == nil, l.Failed))
	}
	return fmt.Sprintf("%x", h.Sum64())
}
