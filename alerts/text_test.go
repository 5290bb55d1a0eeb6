package alerts_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"clutchd/alerts"
)

func TestSay(t *testing.T) {
	many := make([]string, 40)
	for i := range many {
		many[i] = string(rune('1'+i/2%9)) + string(rune('A'+i%2))
	}
	tests := []struct {
		name  string
		rule  string
		after time.Duration
		edit  func(*alerts.Observation)
		want  string
	}{
		{
			"what, where, how bad, how long, which eggs, what to do", "too-warm", 12 * minute, nil,
			"Box 3 is 33.1 °C, 1.6 over its setpoint, for 12 min. Eggs 7A, 7B. Open the door until it " +
				"falls, then look at the thermostat and at where its probe lies.",
		},
		{
			"in °F, the difference too",
			"too-warm", 12 * minute, func(o *alerts.Observation) { o.Scale = alerts.InFahrenheit },
			"Box 3 is 91.6 °F, 2.9 over its setpoint, for 12 min. Eggs 7A, 7B. Open the door until it " +
				"falls, then look at the thermostat and at where its probe lies.",
		},
		{
			"under the setpoint",
			"off-setpoint", 45 * minute, func(o *alerts.Observation) { o.Value = ptr(30.3) },
			"Box 3 averages 30.3 °C, 1.2 under its setpoint, for 45 min. Eggs 7A, 7B. Check the dial, " +
				"and the setpoint in the book.",
		},
		{
			"one egg", "too-warm", 12 * minute, func(o *alerts.Observation) { o.Marks = []string{"7A"} },
			"Box 3 is 33.1 °C, 1.6 over its setpoint, for 12 min. Egg 7A. Open the door until it " +
				"falls, then look at the thermostat and at where its probe lies.",
		},
		{
			"no eggs", "too-warm", 12 * minute, func(o *alerts.Observation) { o.Marks, o.Eggs = nil, nil },
			"Box 3 is 33.1 °C, 1.6 over its setpoint, for 12 min. Open the door until it " +
				"falls, then look at the thermostat and at where its probe lies.",
		},
		{
			"eggs without marks go by their ids",
			"too-warm", 12 * minute, func(o *alerts.Observation) { o.Marks = nil },
			"Box 3 is 33.1 °C, 1.6 over its setpoint, for 12 min. Eggs e1, e2. Open the door until it " +
				"falls, then look at the thermostat and at where its probe lies.",
		},
		{
			"of many eggs eight are named",
			"too-warm", 12 * minute, func(o *alerts.Observation) { o.Marks = many },
			"Box 3 is 33.1 °C, 1.6 over its setpoint, for 12 min. Eggs 1A, 1B, 2A, 2B, 3A, 3B, 4A, 4B and 32 " +
				"more. Open the door until it " +
				"falls, then look at the thermostat and at where its probe lies.",
		},
		{
			"no setpoint is known",
			"too-warm", 12 * minute, func(o *alerts.Observation) { o.Setpoint = nil },
			"Box 3 is 33.1 °C, past its limit, for 12 min. Eggs 7A, 7B. Open the door until it " +
				"falls, then look at the thermostat and at where its probe lies.",
		},
		{
			"humidity in percent",
			"dry-air", 3*time.Hour + 5*minute, func(o *alerts.Observation) { o.Value = ptr(0.682) },
			"The air in Box 3 is at 68 %, under 75 % for 3 h 5 min. Eggs 7A, 7B. Look at the eggs for " +
				"dents and weigh the box: air does not tell how wet the substrate is.",
		},
		{
			"a name begins the sentence, and its braces are only a name", "too-warm", 12 * minute,
			func(o *alerts.Observation) { o.Subject.Name = "ülle's {value}\n box" },
			"Ülle's {value} box is 33.1 °C, 1.6 over its setpoint, for 12 min. Eggs 7A, 7B. Open the door until it " +
				"falls, then look at the thermostat and at where its probe lies.",
		},
		{
			"a subject without a name goes by its id", "heater-off", 61 * minute,
			func(o *alerts.Observation) {
				o.Subject.Name, o.Value, o.Marks, o.Eggs = "", ptr(-0.04), nil,
					nil
			},
			"Box-3 is 0.0 °C: under 22.0 °C for 1 h 1 min. Is the heater off? Check mains, breaker, thermostat. A power cut: " +
				"keep it shut, wrap it in blankets. Do not heat it up hard afterwards.",
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := rule(t, tt.rule)
			o := newDesk(t, r).of(33.1)
			if tt.edit != nil {
				tt.edit(&o)
			}
			s := alerts.State{Subject: o.Subject, Phase: alerts.Active, Since: t0}
			if got := alerts.Say(r, s, o, at(tt.after)); got != tt.want {
				t.Errorf("got  %s\nwant %s", got, tt.want)
			}
		})
	}
}

func TestLasting(t *testing.T) {
	tests := []struct {
		d    time.Duration
		want string
	}{
		{-time.Hour, "0 s"},
		{0, "0 s"},
		{59*time.Second + 999*time.Millisecond, "59 s"},
		{time.Minute, "1 min"},
		{59*time.Minute + 59*time.Second, "59 min"},
		{time.Hour, "1 h"},
		{3*time.Hour + 5*time.Minute, "3 h 5 min"},
		{47*time.Hour + 59*time.Minute, "47 h 59 min"},
		{48 * time.Hour, "2 d"},
		{100*time.Hour + 10*time.Minute, "4 d 4 h"},
	}
	for _, tt := range tests {
		if got := alerts.Lasting(tt.d); got != tt.want {
			t.Errorf("Lasting(%v) = %q, want %q", tt.d, got, tt.want)
		}
	}
}

func TestAmount(t *testing.T) {
	tests := []struct {
		v     float64
		unit  string
		scale alerts.Scale
		want  string
	}{
		{33.06, "celsius", alerts.InCelsius, "33.1 °C"},
		{-0.04, "celsius", alerts.InCelsius, "0.0 °C"},
		{-0.06, "celsius", alerts.InCelsius, "-0.1 °C"},
		{0, "celsius", alerts.InFahrenheit, "32.0 °F"},
		{-40, "celsius", alerts.InFahrenheit, "-40.0 °F"},
		{0.754, "ratio", alerts.InCelsius, "75 %"},
		{725, "seconds", alerts.InCelsius, "12 min"},
		{math.MaxFloat64, "seconds", alerts.InCelsius, "36500 d"},
		{3, "days", alerts.InCelsius, "3 days"},
		{3, "", alerts.InCelsius, "3"},
	}
	for _, tt := range tests {
		if got := alerts.Amount(tt.v, tt.unit, tt.scale); got != tt.want {
			t.Errorf("Amount(%v, %q) = %q, want %q", tt.v, tt.unit, got, tt.want)
		}
	}
}

// What a cause takes with it is named as far as a phone has room: boxes first.
func TestTextsFitAPhone(t *testing.T) {
	var boxes, marks []string
	for i := range 9 {
		boxes = append(boxes, "Box "+string(rune('1'+i)))
		marks = append(marks, "Fern "+string(rune('1'+i))+"A", "Fern "+string(rune('1'+i))+"B")
	}
	for _, r := range alerts.Rules() {
		if r.About != alerts.PlaceSubject {
			continue
		}
		s := alerts.State{Subject: box, Phase: alerts.Active, Since: t0, Severity: r.Severity, Value: ptr(33.5)}
		o := newDesk(t, r).of(33.1)
		o.Boxes, o.Marks, o.Scale = boxes, marks, alerts.InFahrenheit
		text := alerts.Say(r, s, o, at(23*time.Hour+59*minute))
		inIt, eggs := strings.Index(text, "In it: Box 1"), strings.Index(text, "Eggs Fern 1A")
		if inIt < 0 || eggs < inIt {
			t.Errorf("%s: %q names not first boxes, then eggs", r.Code, text)
		}
		if n := len([]rune(text)); n > 251 { // and 49 for what a reminder says first: 300
			t.Errorf("%s: %q is %d characters long", r.Code, text, n)
		}
	}
}

func TestNamesBoxes(t *testing.T) {
	r := rule(t, "heater-off")
	s := alerts.State{Subject: box, Phase: alerts.Active, Since: t0}
	o := newDesk(t, r).of(21)
	o.Subject.Name, o.Boxes = "Cabinet", []string{"Box 1", "Box 2"}
	if got := alerts.Say(r, s, o, at(time.Hour)); !strings.Contains(got, "In it: Box 1, Box 2. Eggs 7A, 7B. ") {
		t.Errorf("%q", got)
	}
	o.ByBoxes = true
	if got := alerts.Say(r, s, o, at(time.Hour)); !strings.Contains(got, "So say Box 1, Box 2. Eggs 7A, 7B. ") {
		t.Errorf("by its boxes: %q", got)
	}
}
