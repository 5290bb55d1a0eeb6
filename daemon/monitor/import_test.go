package monitor_test

import (
	"testing"
	"testing/synctest"
	"time"

	"clutchd/incubation"
)

// A season's file is written day by day: what alerts and the keeper have to
// say goes to the disk in between.
func TestALongImportLetsOthersWrite(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		r.hand.celsius("p", 28)
		r.live(time.Minute)
		const rows = 60 * 24
		var readings []incubation.Reading
		for i := range rows {
			at := time.Now().Add(time.Duration(i-rows) * time.Hour).UTC()
			readings = append(readings, incubation.Reading{Probe: "late", Time: at, Has: incubation.Temperature, Celsius: 28})
		}
		if err := r.Import(t.Context(), "late", readings); err != nil {
			t.Fatal(err)
		}
		synctest.Wait()
		r.store.mu.Lock()
		defer r.store.mu.Unlock()
		if got := len(r.store.readings["late"]); got != rows {
			t.Errorf("%d readings are stored, want %d", got, rows)
		}
		if r.store.widest > 24*time.Hour {
			t.Errorf("%v of readings were written in one go", r.store.widest)
		}
	})
}

func TestAnImportOfNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRoom(t, newMemory(), "p")
		if err := r.Import(t.Context(), "late", nil); err != nil {
			t.Error(err)
		}
	})
}
