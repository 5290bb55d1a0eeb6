package simulated_test

import (
	"context"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/simulated"
)

// However the time is cut into calls, a contact tells the same changes.
func TestContactsOfTheRoom(t *testing.T) {
	spec := still()
	spec.Contacts = []simulated.Contact{
		{Contact: sensors.Contact{ID: "mains", Kind: incubation.Mains}, Place: "room"},
		{
			Contact: sensors.Contact{ID: "door", Kind: incubation.Door}, Place: "cabinet",
			Hour: 18, For: 3 * time.Minute,
		},
		{Contact: sensors.Contact{ID: "drip", Kind: incubation.Leak}, Place: "room"},
	}
	at := func(h float64) time.Time { return start.Add(time.Duration(h * float64(time.Hour))) }
	spec.Faults = []simulated.Fault{
		{Kind: simulated.Tripped, From: at(2), To: at(3.5)},
		{Kind: simulated.Tripped, Subject: "cabinet", From: at(5), To: at(6)}, // one socket: not the room's mains
		{Kind: simulated.Open, Subject: "cabinet", From: at(8), To: at(8.25)},
	}
	if err := spec.Check(); err != nil {
		t.Fatal(err)
	}
	want := []string{
		"02:00 mains off", "03:30 mains present", "08:00 door open", "08:15 door shut",
		"18:00 door open", "18:03 door shut",
	}
	kinds := map[string]incubation.ContactKind{"mains": incubation.Mains, "door": incubation.Door, "drip": incubation.Leak}
	for _, step := range []time.Duration{10 * time.Second, 4 * time.Minute, 10 * time.Minute, time.Hour} {
		r := simulated.New(spec, 1, start)
		last := map[string]bool{"mains": true}
		var got []string
		for now := start; !now.After(at(24)); now = now.Add(step) {
			for _, o := range r.SampleContacts(context.Background(), now) {
				if o.On != last[o.Contact] {
					last[o.Contact] = o.On
					got = append(got, o.Time.Format("15:04")+" "+o.Contact+" "+kinds[o.Contact].State(o.On))
				}
			}
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("asked every %v (-want +got):\n%s", step, d)
		}
	}
	spec.Contacts[0].Place = "cellar"
	if spec.Check() == nil {
		t.Error("a contact of a place that is not there passes")
	}
}
