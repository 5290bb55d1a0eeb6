package monitor_test

import (
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

func (r *room) firstEgg() monitor.EggNow { return r.Snapshot().Clutches[0].Eggs[0] }

// "Not worked out yet" and "nothing to work with" are two things to a keeper.
func TestAnEggSaysWhyItHasNoEstimate(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory())
		r.live(time.Minute)
		r.enter(book.KindPlace, book.PlaceData{Place: "inc", Kind: incubation.Incubator, Name: "Incubator"})
		r.enter(book.KindPlace, book.PlaceData{Place: "box", Kind: incubation.Box, Name: "Box"})
		r.enter(book.KindStand, book.StandData{Place: "box", In: "inc"})
		r.clutch()
		if e := r.firstEgg(); !e.Computing || e.Estimate != nil {
			t.Errorf("before the next tick: %+v", e)
		}
		r.live(20 * time.Minute)
		if e := r.firstEgg(); e.Computing || e.Estimate != nil {
			t.Errorf("with neither a record nor a setpoint: %+v", e)
		}
		r.enter(book.KindSetpoint, book.SetpointData{Place: "inc", Celsius: 28})
		r.live(20 * time.Minute)
		if e := r.firstEgg(); e.Computing || e.Estimate == nil {
			t.Errorf("with a setpoint: %+v", e)
		}
	})
}
