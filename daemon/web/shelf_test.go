package web_test

import (
	"net/http"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
)

func TestMorningIsTheRoomsNextSevenOClock(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		why       string
		now, want string // by the room's clock
	}{
		{"late in the evening: tomorrow's", "2026-06-14T23:40:00+02:00", "2026-06-15T07:00:00+02:00"},
		{"deep in the night: today's", "2026-06-15T03:00:00+02:00", "2026-06-15T07:00:00+02:00"},
		{"at seven itself: tomorrow's", "2026-06-15T07:00:00+02:00", "2026-06-16T07:00:00+02:00"},
		{"on New Year's Eve", "2026-12-31T20:00:00+01:00", "2027-01-01T07:00:00+01:00"},
		{"the night the clock goes ahead is an hour shorter", "2026-03-28T23:00:00+01:00", "2026-03-29T07:00:00+02:00"},
		{"the night it goes back is an hour longer", "2026-10-24T23:00:00+02:00", "2026-10-25T07:00:00+01:00"},
		{"in the hour that comes twice", "2026-10-25T02:30:00+01:00", "2026-10-25T07:00:00+01:00"},
	} {
		t.Run(c.why, func(t *testing.T) {
			now, _ := time.Parse(time.RFC3339, c.now)
			want, _ := time.Parse(time.RFC3339, c.want)
			if got := web.NextMorning(now, berlin); !got.Equal(want) {
				t.Errorf("got %s, want %s", got.In(berlin), want.In(berlin))
			}
		})
	}
}

func TestShelvingOnThePage(t *testing.T) {
	shelve := func(c monitor.Shelve) monitor.Change {
		c.Alert, c.Occurrence, c.By = "too-warm.place.box-2", "o-81", "page"
		return monitor.Change{Shelve: &c}
	}
	for _, c := range []struct {
		why, path, form string
		want            []monitor.Change // none: it is refused
	}{
		{"for an hour", "shelve", "hours=1", []monitor.Change{shelve(monitor.Shelve{For: time.Hour})}},
		{
			"until morning", "shelve", "until=morning&why=new+lamp",
			[]monitor.Change{shelve(monitor.Shelve{Until: time.Date(2026, 6, 15, 5, 0, 0, 0, time.UTC), Why: "new lamp"})},
		},
		{
			"until a time of the room's clock", "shelve", "until=2026-06-14T18:30",
			[]monitor.Change{shelve(monitor.Shelve{Until: time.Date(2026, 6, 14, 16, 30, 0, 0, time.UTC)})},
		},
		{"until a time that is over", "shelve", "until=2026-06-13T18:30", nil},
		{"for longer than a week", "shelve", "until=2026-07-14T18:30", nil},
		{"until some time or other", "shelve", "until=later", nil},
		{"for a time that no button has", "shelve", "hours=999", nil},
		{
			"off the shelf again", "unshelve", "why=done",
			[]monitor.Change{{Unshelve: &monitor.Unshelve{
				Alert: "too-warm.place.box-2", Occurrence: "o-81", By: "page", Why: "done",
			}}},
		},
	} {
		t.Run(c.why, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				w := s.ask("POST", "/alerts/too-warm.place.box-2/"+c.path, "occurrence=o-81&"+c.form)
				code := http.StatusSeeOther
				if c.want == nil {
					code = http.StatusUnprocessableEntity
				}
				if w.Code != code {
					t.Errorf("answer %d, want %d", w.Code, code)
				}
				if diff := cmp.Diff(c.want, s.door.made); diff != "" {
					t.Errorf("changes (-want +got):\n%s", diff)
				}
			})
		})
	}
}
