package proof_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors/simulated"
)

// A happening is something that a person does in the healthy year, or that
// befalls a wire. What stands in the book is told for days that are lived
// through and for days before; the rest happens only when it is lived.
type happening struct {
	at   time.Time
	what string
	do   func(h *house, lived bool)
}

// A script is a healthy year: what is done in it, and how the room's physics
// go along.
type script struct {
	begin time.Time // midnight of 1 January, UTC
	dice  *rand.Rand
	all   []happening
	doors []simulated.Fault
	moves []simulated.Move // of box 2
	dials []simulated.Setting
	lost  map[string]string // eggs that failed, by what the rule should say
}

func (s *script) day(n int, hour float64) time.Time {
	return s.begin.Add(time.Duration(n)*24*time.Hour + time.Duration(hour*float64(time.Hour)))
}

func (s *script) add(at time.Time, what string, do func(h *house, lived bool)) {
	s.all = append(s.all, happening{at, what, do})
}

// The days of the year on which what befalls.
const (
	wifiWeek    = 35
	firstClutch = 60
	lastClutch  = 230
	moved       = 125
	replaced    = 140
	colder      = 161
	warmer      = 182
	cutDay      = 184
	movedBack   = 200
)

// cut is the power cut: two hours in a July night, this computer too.
const cutHour, cutLength = 2.2, 2 * time.Hour

// newScript writes the year. It is the same every time.
func newScript(begin time.Time) *script {
	s := &script{begin: begin.UTC(), dice: rand.New(rand.NewPCG(3, 11)), lost: map[string]string{}}
	s.visits()
	s.season()
	s.furniture()
	s.machine()
	slices.SortStableFunc(s.all, func(a, b happening) int { return a.at.Compare(b.at) })
	return s
}

// visits has the keeper see what stands, morning and evening, and opens each cabinet for some minutes every evening, and longer on
// Sundays, when the lids come off too.
func (s *script) visits() {
	for d := range 366 {
		for _, hour := range []float64{7.5, 19.6} {
			s.add(s.day(d, hour), "the keeper sees what stands", func(h *house, lived bool) {
				if lived {
					h.acknowledge()
				}
			})
		}
		at := s.day(d, 18.5+s.dice.Float64())
		long := 2 + 2*s.dice.Float64()
		if d%7 == 6 {
			long = 7 + 3*s.dice.Float64()
		}
		end := at.Add(time.Duration(long * float64(time.Minute)))
		for _, c := range []string{cool, warm} {
			s.doors = append(s.doors, simulated.Fault{Kind: simulated.Open, Subject: c, From: at, To: end})
			at, end = at.Add(6*time.Minute), end.Add(6*time.Minute)
		}
		if d%7 == 6 {
			s.doors = append(s.doors, simulated.Fault{
				Kind: simulated.Lidless, Subject: "box-3", From: at, To: at.Add(4 * time.Minute), Size: 8,
			})
		}
	}
}

// season lays a clutch of two every eleven days and has them hatch when a
// growth of 53 days at 28 °C over a zero of 17.5 °C (judgement, as in the
// demo) says, a day or two off; one egg fails.
func (s *script) season() {
	boxes := []string{"box-1", "box-4", "box-2", "box-5", "box-3"}
	warmth := map[string]float64{"box-1": 28.2, "box-2": 28.6, "box-3": 28.4, "box-4": 31.9, "box-5": 32.1}
	females := []string{"fern", "ivy"}
	for n, d := 0, firstClutch; d <= lastClutch; n, d = n+1, d+11 {
		id, found, female := fmt.Sprintf("c%d", n), s.day(d, 19.2), females[n%2]
		pair := []string{boxes[n%len(boxes)], boxes[(n+2)%len(boxes)]}
		s.add(found, "a clutch is found and set", func(h *house, _ bool) { h.layAt(id, female, found, pair...) })
		for i, box := range pair {
			egg := fmt.Sprintf("%s-%c", id, 'a'+i)
			days := 53*(28-17.5)/(warmth[box]-17.5) + 1.2*s.dice.NormFloat64()
			// The keeper looks in the evening.
			out := s.day(d+int(math.Round(days)), 19.3)
			if n == 4 && i == 1 {
				s.lost[egg] = "hatch-overdue"
				s.add(out.Add(30*24*time.Hour), "an egg that never hatched is thrown away", func(h *house, _ bool) {
					h.enterAt(out.Add(30*24*time.Hour), book.KindFail, book.FailData{Egg: egg, Cause: "never hatched"})
				})
				continue
			}
			s.add(out, "an egg hatches", func(h *house, _ bool) {
				h.enterAt(out, book.KindHatch, book.HatchData{Egg: egg})
			})
		}
	}
}

// furniture is what stands where: a box that is moved and moved back, a dial
// that is turned, both in the book some minutes later.
func (s *script) furniture() {
	move := func(day int, in string) {
		at := s.day(day, 18.9)
		s.moves = append(s.moves, simulated.Move{From: at, In: in})
		s.add(at.Add(4*time.Minute), "a box is moved", func(h *house, _ bool) {
			h.enterAt(at, book.KindStand, book.StandData{Place: "box-2", In: in})
		})
	}
	move(moved, warm)
	move(movedBack, cool)
	s.dials = []simulated.Setting{{From: s.begin, Celsius: setpoints()[warm]}}
	turn := func(day int, to float64) {
		at := s.day(day, 19)
		s.dials = append(s.dials, simulated.Setting{From: at, Celsius: to})
		s.add(at.Add(3*time.Minute), "a dial is turned", func(h *house, _ bool) {
			h.enterAt(at, book.KindSetpoint, book.SetpointData{Place: warm, Celsius: incubation.Celsius(to)})
		})
	}
	turn(colder, 30.5)
	turn(warmer, setpoints()[warm])
	at := s.day(replaced, 19.1)
	s.add(at, "a probe is replaced by another", func(h *house, _ bool) { h.replace("box-1", "28-0316a2797c11") })
}

// machine is what befalls the computer, the network and the mains.
func (s *script) machine() {
	for m := range 12 {
		at := s.day(m*30+9, 10)
		s.add(at, "the program is upgraded", func(h *house, lived bool) {
			if lived {
				h.restart()
			}
		})
	}
	s.add(s.day(100, 11), "this computer is rebooted", func(h *house, lived bool) {
		if lived {
			h.reboot(2 * time.Minute)
		}
	})
	cut := s.day(cutDay, cutHour)
	s.doors = append(s.doors, simulated.Fault{Kind: simulated.Tripped, From: cut, To: cut.Add(cutLength)})
	s.add(cut, "the power is gone for two hours", func(h *house, lived bool) {
		if lived {
			h.reboot(cutLength)
		}
	})
	s.add(s.begin, "the room's devices lose a payload in fifty", func(h *house, _ bool) {
		for _, w := range h.wires {
			if d, ok := w.chip.(*device); ok {
				d.aside = s.lossy(0.02)
			}
		}
	})
	for d := range 7 {
		for hour := 0.0; hour < 24; hour += 0.5 + 2*s.dice.Float64() {
			long := time.Duration((1 + 3*s.dice.Float64()) * float64(time.Minute))
			if s.dice.Float64() < 0.2 {
				long *= 5
			}
			at := s.day(wifiWeek+d, hour)
			s.add(at, "the Wi-Fi drops out", func(h *house, lived bool) { h.deafen(true) })
			s.add(at.Add(long), "the Wi-Fi is back", func(h *house, lived bool) { h.deafen(false) })
		}
	}
}

// lossy loses a share of payloads.
func (s *script) lossy(share float64) func([]string) []string {
	dice := rand.New(rand.NewPCG(5, 5))
	return func(p []string) []string {
		if dice.Float64() < share {
			return nil
		}
		return p
	}
}

// deafen takes every device out of reach, or brings it back.
func (h *house) deafen(away bool) {
	for _, w := range h.wires {
		if d, ok := w.chip.(*device); ok {
			d.away = away
		}
	}
}

// replace takes the thermometer of a place out and puts another in its place.
func (h *house) replace(place, serial string) {
	w := h.in(place)
	before := *w
	w.chip.(*thermometer).pull()
	master := w.chip.(*thermometer).master
	d := newThermometer(h.T, h.root, master, serial)
	w.as, w.id, w.chip = before.id, d.probe(), d
	d.show(28, 0)
	h.plain.forget(before.id, w.id)
	h.enter(book.KindProbe, book.ProbeData{Probe: before.id, Place: ""})
	w.spot.offset = -w.bias
	h.put(w.id, w.spot)
}

// layAt enters a clutch as of a time.
func (h *house) layAt(clutch, female string, found time.Time, boxes ...string) {
	h.lay(clutch, female, h.wall().Sub(found), boxes...)
}

// spec bends the room's physics to the script.
func (s *script) spec(spec *simulated.Spec) {
	w := &spec.Weather
	w.Season, w.From = 3, s.day(110, 0)
	spec.Faults = append(spec.Faults, s.doors...)
	for i := range spec.Tubs {
		if spec.Tubs[i].Place == "box-2" {
			spec.Tubs[i].Moves = s.moves
		}
	}
	for i := range spec.Cabinets {
		if spec.Cabinets[i].Place == warm {
			spec.Cabinets[i].Settings = s.dials
		}
	}
}

// eggOf gives the egg that a notice is about, "" if it is about none.
func eggOf(rule, subject string) string {
	if strings.HasPrefix(rule, "hatch") || strings.HasPrefix(rule, "tsp") {
		return subject
	}
	return ""
}
