package monitor_test

import (
	"fmt"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// daily gives the texts of the messages of the day so far.
func (p *post) daily() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	var out []string
	for _, n := range p.got {
		if n.Reason == "daily" {
			out = append(out, n.Text)
		}
	}
	return out
}

// herdRoom is a room at midnight with a female that was never looked at, so that
// something is due every day; the message of the day is wanted at a time.
func herdRoom(t *testing.T, at string) *room {
	t.Helper()
	r := newRoom(t, newMemory())
	r.live(time.Minute)
	r.enter(book.KindAnimal, book.AnimalData{Animal: "fern", Name: "Fern", Sex: incubation.Female})
	if at != "" {
		r.wanted(at)
	}
	return r
}

func (r *room) wanted(at string) {
	r.Helper()
	var c book.ClockTime
	if err := c.UnmarshalText([]byte(at)); err != nil {
		r.Fatal(err)
	}
	r.enter(book.KindSeason, book.SeasonData{Daily: &c})
}

func TestTheMessageOfTheDayIsToldOnceADay(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := herdRoom(t, "07:30") // it is 00:01
		r.live(7*time.Hour + 28*time.Minute)
		if n := len(r.post.daily()); n != 0 {
			t.Fatalf("%d told at 7:29", n)
		}
		r.live(2 * time.Minute)
		said := r.post.daily()
		if len(said) != 1 || said[0] != "Due today: bellies: Fern." {
			t.Fatalf("told %q", said)
		}
		r.wanted("09:00") // the keeper changes the time: not a second one today
		r.live(4 * time.Hour)
		if n := len(r.post.daily()); n != 1 {
			t.Errorf("%d told on the first day", n)
		}
		r.days(2) // to 11:31 of the third
		if n := len(r.post.daily()); n != 3 {
			t.Errorf("%d told in three days", n)
		}
		if stands := r.Snapshot().Alerts; len(stands) != 0 {
			t.Errorf("it stands among the alerts: %+v", stands)
		}
	})
}

func TestNobodyIsToldWhoDoesNotWantIt(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := herdRoom(t, "")
		r.days(2)
		if said := r.post.said(); len(said) != 0 {
			t.Errorf("a female that was never looked at is no message: %v", said)
		}
	})
}

func TestADayOnWhichNothingIsDueHasNoMessage(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := herdRoom(t, "07:30")
		r.enter(book.KindChecked, book.CheckedData{Animal: "fern", Stage: incubation.Quiet})
		r.days(2)
		if said := r.post.daily(); len(said) != 0 {
			t.Errorf("looked at the day before yesterday, and told %q", said)
		}
	})
}

// At 32 °C eggs hatch after some 40 days. The first look after a start comes
// before their record was read again, and the message in the same hour.
func TestAHatchIsToldSoonAfterAStart(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		first := newRoom(t, newMemory(), "p")
		first.hand.celsius("p", 32)
		first.live(time.Minute)
		first.incubator(32)
		first.clutch()
		first.logged(38, "p", 32)
		first.wanted("00:20")
		r := first.again("p")
		r.hand.celsius("p", 32)
		r.live(25 * time.Minute)
		said := r.post.daily()
		if len(said) != 1 || !strings.Contains(said[0], "hatch") {
			t.Errorf("told %q at %s", said, time.Now().UTC())
		}
	})
}

func TestARestartTellsNoSecondMessage(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		first := herdRoom(t, "00:05")
		first.live(10 * time.Minute)
		if n := len(first.post.daily()); n != 1 {
			t.Fatalf("%d told", n)
		}
		r := first.again()
		r.live(time.Hour)
		if n := len(r.post.daily()); n != 0 {
			t.Errorf("%d told after the restart", n)
		}
		r.days(1)
		if n := len(r.post.daily()); n != 1 {
			t.Errorf("%d told on the next day", n)
		}
	})
}

func TestAMessageThatIsHoursLateIsLeftOut(t *testing.T) {
	for hours, want := range map[int]int{1: 1, 5: 0} {
		synctest.Test(t, func(t *testing.T) {
			first := herdRoom(t, "06:00")
			first.live(5 * time.Hour)
			if err := first.Sync(first.Context()); err != nil {
				t.Fatal(err)
			}
			time.Sleep(time.Duration(hours+1) * time.Hour)
			r := first.again()
			r.live(30 * time.Minute)
			if n := len(r.post.daily()); n != want {
				t.Errorf("%d told about %d hours late, want %d", n, hours, want)
			}
		})
	}
}

func TestTheMessageOfTheDayFitsAPhone(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := herdRoom(t, "00:10")
		for i := range 60 {
			id := fmt.Sprintf("f-%d", i)
			r.enter(book.KindAnimal, book.AnimalData{Animal: id, Name: "A long name, number " + id, Sex: incubation.Female})
			if i%2 == 0 {
				r.enter(book.KindChecked, book.CheckedData{Animal: id, Stage: incubation.Quiet, Signs: []incubation.Sign{incubation.Weak}})
			}
		}
		r.live(15 * time.Minute)
		said := r.post.daily()
		if len(said) != 1 || len([]rune(said[0])) > 300 {
			t.Fatalf("told %q", said)
		}
		if !strings.HasPrefix(said[0], "Due today: to a vet: A long name, number f-0") || !strings.Contains(said[0], "more") {
			t.Errorf("told %q", said[0])
		}
	})
}
