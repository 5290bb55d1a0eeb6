package review_test

import (
	"encoding/json"
	"iter"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/review"
)

// found is when the eggs of these tests were found; last looked was a day
// before, so that day 0 is noon of the first.
var found = time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)

// on gives a time so many hours after the eggs were found.
func on(hours float64) time.Time {
	return found.Add(time.Duration(hours * float64(time.Hour)))
}

// A diary is a book being written.
type diary struct {
	t       testing.TB
	entries []book.Entry
}

func (d *diary) write(at time.Time, kind book.Kind, data any) {
	d.t.Helper()
	raw, err := json.Marshal(data)
	if err != nil {
		d.t.Fatal(err)
	}
	d.entries = append(d.entries, book.Entry{
		Seq: uint64(len(d.entries) + 1), At: at, Made: at, Zone: "Europe/Berlin", Kind: kind, Data: raw,
	})
}

func (d *diary) fold() *book.State {
	d.t.Helper()
	s := book.Fold(d.entries)
	if len(s.Problems) > 0 {
		d.t.Fatalf("the diary does not fold: %q", s.Problems)
	}
	return s
}

// begun is a warm cabinet set to 31 °C with two boxes, a probe in the first
// box's substrate and one in the cabinet's air, and a clutch of two eggs put
// into the first box an hour after they were found.
func begun(t testing.TB) *diary {
	d := &diary{t: t}
	before := on(-1000)
	for _, p := range []book.PlaceData{
		{Place: "warm", Kind: incubation.Incubator, Name: "Warm"},
		{Place: "box-1", Kind: incubation.Box, Name: "Box 1"},
		{Place: "box-2", Kind: incubation.Box, Name: "Box 2"},
		{Place: "lay", Kind: incubation.LayBox, Name: "Lay box"},
	} {
		d.write(before, book.KindPlace, p)
	}
	d.write(before, book.KindStand, book.StandData{Place: "box-1", In: "warm"})
	d.write(before, book.KindStand, book.StandData{Place: "box-2", In: "warm"})
	d.write(before, book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: 31})
	d.write(before, book.KindProbe, book.ProbeData{
		Probe: "in-box", Place: "box-1", Position: incubation.Substrate, AccuracyKelvin: 0.2, OffsetKelvin: 0.5,
	})
	d.write(before, book.KindProbe, book.ProbeData{Probe: "in-air", Place: "warm", Position: incubation.IncubatorAir})
	d.write(before, book.KindFemale, book.FemaleData{Female: "f-1", Name: "Saffron"})
	d.write(found, book.KindLaying, book.LayingData{
		Clutch: "c-1", Female: "f-1", From: on(-24), To: found, Place: "lay",
		Eggs: []book.EggName{{Egg: "c-1-a", Mark: "A"}, {Egg: "c-1-b", Mark: "B"}},
	})
	d.write(on(1), book.KindEgg, book.EggData{Egg: "c-1-a", Box: "box-1"})
	d.write(on(1), book.KindEgg, book.EggData{Egg: "c-1-b", Box: "box-1"})
	return d
}

// A trace says what a probe reads, corrected, at a time; false: nothing.
type trace func(at time.Time) (incubation.Celsius, incubation.Quality, bool)

// steady is a trace that never moves.
func steady(c incubation.Celsius) trace {
	return func(time.Time) (incubation.Celsius, incubation.Quality, bool) { return c, incubation.Good, true }
}

// but is the trace with another value from an hour on for so many minutes.
func (t trace) but(hour, minutes float64, c incubation.Celsius) trace {
	return t.in(hour, minutes, func() (incubation.Celsius, incubation.Quality, bool) { return c, incubation.Good, true })
}

// silent is the trace without readings from an hour on.
func (t trace) silent(hour, minutes float64) trace {
	return t.in(hour, minutes, func() (incubation.Celsius, incubation.Quality, bool) { return 0, 0, false })
}

// frozen is the trace with broken readings of a value.
func (t trace) frozen(hour, minutes float64, c incubation.Celsius) trace {
	return t.in(hour, minutes, func() (incubation.Celsius, incubation.Quality, bool) { return c, incubation.Frozen, true })
}

func (t trace) in(hour, minutes float64, then func() (incubation.Celsius, incubation.Quality, bool)) trace {
	from, to := on(hour), on(hour+minutes/60)
	return func(at time.Time) (incubation.Celsius, incubation.Quality, bool) {
		if !at.Before(from) && at.Before(to) {
			return then()
		}
		return t(at)
	}
}

// minutely reads traces once a minute, raw: in-box has an offset of half a
// kelvin.
func minutely(traces map[string]trace) review.Readings {
	return func(probe string, from, to time.Time) iter.Seq2[incubation.Reading, error] {
		return func(yield func(incubation.Reading, error) bool) {
			trace := traces[probe]
			if trace == nil {
				return
			}
			at := from.Truncate(time.Minute)
			if at.Before(from) {
				at = at.Add(time.Minute)
			}
			for ; at.Before(to); at = at.Add(time.Minute) {
				c, q, ok := trace(at)
				if !ok {
					continue
				}
				if probe == "in-box" {
					c -= 0.5
				}
				r := incubation.Reading{Probe: probe, Time: at, Has: incubation.Temperature, Celsius: c, Quality: q}
				if !yield(r, nil) {
					return
				}
			}
		}
	}
}

// limits are rules as the product has them, in short.
func limits() []review.Rule {
	return []review.Rule{
		{Code: "runaway-heat", Title: "Runaway heat", High: true, Limit: 34.5, Deadband: 0.2, OnDelay: 10 * time.Minute},
		{
			Code: "too-warm", Title: "Too warm", High: true, Limit: 1.5, FromSetpoint: true, Deadband: 0.2,
			Own: review.OverSetpointKelvin, OnDelay: 10 * time.Minute, Settles: true,
		},
		{
			Code: "too-cool", Title: "Cooling", Limit: 2, FromSetpoint: true, Deadband: 0.2,
			OnDelay: 20 * time.Minute, Settles: true,
		},
		{
			Code: "above-limit", Title: "Above its limit", High: true, Own: review.HighCelsius, OnlyOwn: true,
			Deadband: 0.2, OnDelay: 10 * time.Minute,
		},
	}
}

func berlin(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// of makes a review so many hours after the eggs were found.
func of(t testing.TB, d *diary, hours float64, traces map[string]trace, change ...func(*review.Asked)) review.Review {
	t.Helper()
	a := review.Asked{
		Book: d.fold(), Clutch: "c-1", Now: on(hours), Zone: berlin(t), Rules: limits(),
		Readings: minutely(traces),
	}
	for _, f := range change {
		f(&a)
	}
	r, err := review.Of(a)
	if err != nil {
		t.Fatal(err)
	}
	return r
}
