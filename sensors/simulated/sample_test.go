package simulated_test

import (
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/simulated"
)

// lively is the still room with weather, noise, moisture and a short fault.
func lively() simulated.Spec {
	spec := still()
	spec.Weather.Swing, spec.Weather.Moods = 2, 1
	spec.Tubs[0].Air = simulated.Air{Humidity: 0.97, Usual: 31, PerKelvin: -0.01}
	p := &spec.Probes[0]
	p.Has |= incubation.RelativeHumidity
	p.Noise, p.Bias, p.Resolution = 0.04, 0.15, 0.0625
	spec.Faults = []simulated.Fault{{
		Kind: simulated.Garbled, Subject: "in-cabinet",
		From: start.Add(2 * time.Hour), To: start.Add(3 * time.Hour),
	}}
	return spec
}

func sample(r *simulated.Room, after time.Duration) []sensors.Outcome {
	return r.Sample(context.Background(), start.Add(after))
}

func TestCallsMayBeCutAnyhow(t *testing.T) {
	whole := sample(simulated.New(lively(), 7, start), 4*time.Hour)
	r := simulated.New(lively(), 7, start)
	var parts []sensors.Outcome
	for _, seconds := range []int{0, 9, 10, 11, 11, 5, 3600, 3601, 7317, 14399, 14400} {
		parts = append(parts, sample(r, time.Duration(seconds)*time.Second)...)
	}
	if len(whole) != 2*4*360 {
		t.Errorf("%d outcomes in four hours of two probes every 10 s, want 2880", len(whole))
	}
	if d := cmp.Diff(whole, parts); d != "" {
		t.Errorf("in parts it came otherwise (-whole +parts):\n%s", d)
	}
}

func TestSeedsDiffer(t *testing.T) {
	a := sample(simulated.New(lively(), 7, start), time.Hour)
	b := sample(simulated.New(lively(), 8, start), time.Hour)
	if cmp.Equal(a, b) {
		t.Error("two seeds gave one history")
	}
}

func TestLeapsAreReadCoarsely(t *testing.T) {
	spec := lively()
	spec.Coarse = 10 * time.Minute
	r := simulated.New(spec, 7, start)
	fine := simulated.New(lively(), 7, start)
	for _, row := range []struct {
		name  string
		after time.Duration
		want  int // readings of one probe
	}{
		{"a leap of one coarse interval", 10 * time.Minute, 1},
		{"a leap of six", 70 * time.Minute, 6},
		{"a step in between is read finely", 75 * time.Minute, 30},
		{"a leap off the grid reads what lies on it", 86 * time.Minute, 1},
		{"then finely from there", 86*time.Minute + 10*time.Second, 37},
	} {
		got := sample(r, row.after)
		if len(got) != 2*row.want {
			t.Errorf("%s: %d readings, want %d", row.name, len(got)/2, row.want)
		}
		for i, o := range got {
			if i > 0 && o.Time.Before(got[i-1].Time) {
				t.Errorf("%s: outcomes are not in order", row.name)
			}
		}
	}
	sample(fine, 86*time.Minute+10*time.Second)
	near(t, "coarse and fine live the same life",
		celsius(t, r, "tub"), celsius(t, fine, "tub"), 0)
}

func TestReadingsAreTheTruthWithTheProbesErrors(t *testing.T) {
	spec := lively()
	spec.Faults = nil
	spec.Cabinets[0].Hysteresis, spec.Weather.Swing, spec.Weather.Moods = 0, 0, 0
	r := simulated.New(spec, 7, start)
	var errs []float64
	for _, o := range sample(r, 24*time.Hour) {
		if o.Probe != "in-tub" {
			continue
		}
		c := float64(o.Reading.Celsius)
		if steps := c / 0.0625; steps != math.Round(steps) {
			t.Fatalf("%v is not a multiple of the resolution", c)
		}
		errs = append(errs, c-celsius(t, r, "tub"))
	}
	mean, sd, next := moments(errs)
	// Noise 0.04 K and a step of 0.0625 K, whose own error is 0.0625/√12 =
	// 0.018 K, together 0.044 K; derived.
	near(t, "bias", mean, 0.15, 0.003)
	near(t, "noise", sd, 0.044, 0.003)
	near(t, "one reading says nothing of the next", next, 0, 0.04)
}

// moments gives mean, standard deviation and correlation with the next.
func moments(x []float64) (mean, sd, next float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for i, v := range x {
		sd += (v - mean) * (v - mean)
		if i > 0 {
			next += (v - mean) * (x[i-1] - mean)
		}
	}
	return mean, math.Sqrt(sd / float64(len(x))), next / sd
}

func TestHumidity(t *testing.T) {
	spec := lively()
	spec.Tubs[0].Air.PerKelvin = -0.05
	spec.Faults = []simulated.Fault{
		{
			Kind: simulated.StuckOn, Subject: "cabinet", From: start.Add(time.Hour),
			To: start.Add(3 * time.Hour),
		},
		{Kind: simulated.Tripped, From: start.Add(3 * time.Hour)},
	}
	low, saturated := 1.0, 0
	for _, o := range sample(simulated.New(spec, 7, start), 12*time.Hour) {
		if o.Probe != "in-tub" {
			continue
		}
		h := float64(o.Reading.Humidity)
		if !(h >= 0 && h <= 1) {
			t.Fatalf("humidity %v", h)
		}
		if (o.Reading.Quality == incubation.Saturated) != (h == 1) {
			t.Fatalf("humidity %v is called %v", h, o.Reading.Quality)
		}
		low = min(low, h)
		if h == 1 {
			saturated++
		}
	}
	if low > 0.7 || saturated == 0 {
		t.Errorf("driest %.2f, %d times saturated: want a dry spell when hot, dew when cold",
			low, saturated)
	}
}

func TestProbeFaults(t *testing.T) {
	from, to := start.Add(time.Hour), start.Add(2*time.Hour)
	for _, kind := range []simulated.FaultKind{simulated.Dead, simulated.Garbled} {
		r := simulated.New(still(), 7, start)
		r.Inject(simulated.Fault{Kind: kind, Subject: "in-tub", From: from, To: to})
		causes := map[sensors.Cause]int{}
		for _, o := range sample(r, 3*time.Hour) {
			switch inside := !o.Time.Before(from) && o.Time.Before(to); {
			case o.Fault == nil && (o.Reading.Celsius < 29 || o.Reading.Celsius > 33):
				t.Fatalf("%s: %v is no temperature of this tub", kind, o.Reading.Celsius)
			case o.Fault != nil && (o.Probe != "in-tub" || !inside):
				t.Fatalf("%s: fault %v at %v", kind, o.Fault, o.Time)
			case o.Fault != nil && o.Reading != (incubation.Reading{}):
				t.Fatalf("%s: a fault with a reading: %v", kind, o.Reading)
			case o.Fault != nil:
				causes[o.Fault.Cause]++
			}
		}
		if kind == simulated.Dead && causes[sensors.Absent] != 360 {
			t.Errorf("dead for an hour: %v, want 360 times absent", causes)
		}
		if kind == simulated.Garbled && (len(causes) < 4 || causes[sensors.Checksum] < 120) {
			t.Errorf("garbled for an hour: %v, want several causes, checksum mostly", causes)
		}
	}
}

func TestASlippedProbeReadsTheCabinet(t *testing.T) {
	spec := still()
	spec.Cabinets[0].Hysteresis = 0
	spec.Tubs[0].Shelf = 1
	r := simulated.New(spec, 7, start)
	live(r, 12*time.Hour)
	r.Inject(simulated.Fault{
		Kind: simulated.Slipped, Subject: "in-tub",
		From: start.Add(12 * time.Hour),
	})
	last := map[string]float64{}
	for _, o := range sample(r, 13*time.Hour) {
		last[o.Probe] = float64(o.Reading.Celsius)
	}
	near(t, "slipped", last["in-tub"], celsius(t, r, "cabinet"), 0.001)
	if tub := celsius(t, r, "tub"); tub-last["in-tub"] < 1 {
		t.Errorf("the tub is at %.2f, the probe that slipped out says %.2f", tub, last["in-tub"])
	}
}

func TestAFaultInjectedLateIsAsIfItHadBeenKnown(t *testing.T) {
	began := start.Add(50*time.Hour - 12*time.Minute)
	stuck := simulated.Fault{Kind: simulated.StuckOn, Subject: "cabinet", From: began}
	known, late := lively(), lively()
	known.Faults = append(known.Faults, stuck)
	a, b := simulated.New(known, 7, start), simulated.New(late, 7, start)
	live(a, 50*time.Hour)
	live(b, 50*time.Hour)
	if celsius(t, a, "cabinet") == celsius(t, b, "cabinet") {
		t.Fatal("the fault did nothing")
	}
	b.Inject(stuck)
	b.Inject(simulated.Fault{
		Kind: simulated.Dead, Subject: "in-tub",
		From: start.Add(60 * time.Hour),
	})
	near(t, "cabinet", celsius(t, b, "cabinet"), celsius(t, a, "cabinet"), 0)
	if d := cmp.Diff(sample(a, 51*time.Hour), sample(b, 51*time.Hour)); d != "" {
		t.Errorf("readings since (-known +late):\n%s", d)
	}
}

func TestProbesTellTheirInterval(t *testing.T) {
	spec := still()
	spec.Interval = 5 * time.Minute
	for _, p := range simulated.New(spec, 7, start).Probes() {
		if p.Interval != 5*time.Minute || p.Source == "" {
			t.Errorf("probe %+v", p)
		}
	}
}

func TestSpecCheck(t *testing.T) {
	if err := lively().Check(); err != nil {
		t.Errorf("a good spec: %v", err)
	}
	for _, row := range []struct {
		name, want string
		change     func(*simulated.Spec)
	}{
		{"a coarse interval off the grid", "not a multiple", func(s *simulated.Spec) { s.Coarse = 11 * time.Second }},
		{"a cabinet of nothing", "lacks losses", func(s *simulated.Spec) { s.Cabinets[0].Capacity = 0 }},
		{"a tub in the air", "stands nowhere", func(s *simulated.Spec) { s.Tubs[0].In = "shed" }},
		{"a place twice", "used twice", func(s *simulated.Spec) { s.Tubs[0].Place = "room" }},
		{"a pen without lag", "has no lag", func(s *simulated.Spec) { s.Enclosures = make([]simulated.Enclosure, 1) }},
		{"a probe nowhere", "in no place", func(s *simulated.Spec) { s.Probes[0].Place = "shed" }},
		{"a fault of a stranger", "not there", func(s *simulated.Spec) { s.Faults[0].Subject = "shed" }},
	} {
		spec := lively()
		row.change(&spec)
		if err := spec.Check(); err == nil || !strings.Contains(err.Error(), row.want) {
			t.Errorf("%s: %v, want … %s …", row.name, err, row.want)
		}
	}
}
