package monitor_test

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation/book"
)

// deeds gives the entries about alerts: kind, by and data.
func (r *room) deeds() []string {
	var out []string
	for _, e := range r.Entries(0) {
		if book.OfAlert(e.Kind) {
			out = append(out, string(e.Kind)+" by "+e.By+" "+string(e.Data))
		}
	}
	return out
}

// do makes a change and gives its error's text.
func (r *room) do(c monitor.Change) string {
	r.Helper()
	if _, err := r.Do(r.Context(), c); err != nil {
		return err.Error()
	}
	return ""
}

func TestWhoDidWhatAboutAnAlert(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := heat(t, newMemory())
		o := r.alert(heatOfBox).Occurrence
		until := time.Now().Add(3 * time.Hour).UTC().Truncate(time.Second)
		changes := []monitor.Change{
			{Shelve: &monitor.Shelve{Alert: heatOfBox, Occurrence: o, Until: until, By: "Mira", Why: "new lamp"}},
			{Unshelve: &monitor.Unshelve{Alert: heatOfBox, Occurrence: o, By: "Jo"}},
			{Acknowledge: &monitor.Acknowledge{Alert: heatOfBox, Occurrence: o, By: "Jo", Why: "door was\nopen"}},
		}
		for _, c := range changes {
			if err := r.do(c); err != "" {
				t.Error(err)
			}
		}
		named := `{"alert":"` + heatOfBox + `","occurrence":"` + o + `"`
		want := []string{
			"shelved by Mira " + named + `,"why":"new lamp","until":"` + until.Format(time.RFC3339) + `"}`,
			"unshelved by Jo " + named + "}",
			"acknowledged by Jo " + named + `,"why":"door was open"}`,
		}
		if diff := cmp.Diff(want, r.deeds()); diff != "" {
			t.Errorf("book (-want +got):\n%s", diff)
		}
		if err := r.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(r.Entries(0), r.store.entries); diff != "" {
			t.Errorf("what is true and what is stored (-true +stored):\n%s", diff)
		}
	})
}

// A deed that comes again, late, or about another occurrence does no harm, and
// leaves nothing in the book.
func TestADeedThatComesAgain(t *testing.T) {
	ack := func(o string) monitor.Change {
		return monitor.Change{Acknowledge: &monitor.Acknowledge{Alert: heatOfBox, Occurrence: o, By: "Jo"}}
	}
	shelve := func(o string, long time.Duration) monitor.Change {
		return monitor.Change{Shelve: &monitor.Shelve{Alert: heatOfBox, Occurrence: o, For: long, By: "Jo"}}
	}
	until := func(o string, end time.Time) monitor.Change {
		return monitor.Change{Shelve: &monitor.Shelve{Alert: heatOfBox, Occurrence: o, Until: end, By: "Jo"}}
	}
	for _, c := range []struct {
		why     string
		do      func(r *room, older, present string) []monitor.Change
		deeds   int
		refused string
		harmed  func(s alerts.State) bool
	}{
		{
			"an acknowledgement twice",
			func(_ *room, _, o string) []monitor.Change { return []monitor.Change{ack(o), ack(o)} },
			1, "", func(s alerts.State) bool { return s.Acknowledged.IsZero() },
		},
		{
			"an acknowledgement of the occurrence before",
			func(_ *room, older, _ string) []monitor.Change { return []monitor.Change{ack(older)} },
			0, "present occurrence", func(s alerts.State) bool { return !s.Acknowledged.IsZero() },
		},
		{
			"a shelving of the occurrence before",
			func(_ *room, older, _ string) []monitor.Change { return []monitor.Change{shelve(older, time.Hour)} },
			0, "present occurrence", func(s alerts.State) bool { return !s.ShelvedUntil.IsZero() },
		},
		{
			"a shelving twice at once",
			func(_ *room, _, o string) []monitor.Change {
				return []monitor.Change{shelve(o, time.Hour), shelve(o, time.Hour)}
			},
			1, "", func(s alerts.State) bool { return time.Until(s.ShelvedUntil) > time.Hour },
		},
		{
			"a shelving until a time, twice",
			func(r *room, _, o string) []monitor.Change {
				end := time.Now().Add(2 * time.Hour)
				return []monitor.Change{until(o, end), until(o, end)}
			},
			1, "", func(s alerts.State) bool { return time.Until(s.ShelvedUntil) > 2*time.Hour },
		},
		{
			"a shelving that comes after its own end",
			func(_ *room, _, o string) []monitor.Change {
				return []monitor.Change{until(o, time.Now().Add(-time.Minute))}
			},
			0, "above zero", func(s alerts.State) bool { return !s.ShelvedUntil.IsZero() },
		},
		{
			"a shelving for longer than a week",
			func(_ *room, _, o string) []monitor.Change {
				return []monitor.Change{until(o, time.Now().Add(169*time.Hour))}
			},
			0, "at most 7 days", func(s alerts.State) bool { return !s.ShelvedUntil.IsZero() },
		},
		{
			"off a shelf that it is not on",
			func(_ *room, _, o string) []monitor.Change {
				return []monitor.Change{{Unshelve: &monitor.Unshelve{Alert: heatOfBox, Occurrence: o, By: "Jo"}}}
			},
			0, "", func(s alerts.State) bool { return !s.Told() },
		},
	} {
		t.Run(c.why, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := heat(t, newMemory())
				older := r.alert(heatOfBox).Occurrence
				r.hand.celsius("p", 28)
				r.live(5 * time.Minute)
				r.acknowledge(heatOfBox, "before")
				r.hand.celsius("p", 39)
				r.live(3 * time.Minute)
				said := ""
				for _, change := range c.do(r, older, r.alert(heatOfBox).Occurrence) {
					said += r.do(change)
				}
				if c.refused == "" && said != "" || !strings.Contains(said, c.refused) {
					t.Errorf("it was told %q, want %q", said, c.refused)
				}
				if got := r.deeds()[1:]; len(got) != c.deeds {
					t.Errorf("the book says %q, want %d", got, c.deeds)
				}
				if s := *r.alert(heatOfBox); c.harmed(s) {
					t.Errorf("the alert is now %+v", s)
				}
			})
		})
	}
}

// An acknowledgement waits for no disk, whether that hangs or is full, nor for
// an entry that does; its entry reaches the disk once that works again.
func TestAnAcknowledgementWaitsForNoDisk(t *testing.T) {
	for why, trouble := range map[string]func() (chan struct{}, error){
		"it hangs": func() (chan struct{}, error) { return make(chan struct{}), nil },
		"it fails": func() (chan struct{}, error) { return nil, errDisk },
	} {
		t.Run(why, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := heat(t, newMemory())
				if err := r.Sync(t.Context()); err != nil {
					t.Fatal(err)
				}
				hang, fail := trouble()
				r.store.trouble(fail, hang)
				go func() {
					note := book.Entry{Kind: book.KindNote, Data: []byte(`{"text":"x"}`)}
					_, _ = r.Do(t.Context(), monitor.Change{Entry: &note})
				}()
				synctest.Wait()
				began := time.Now()
				r.acknowledge(heatOfBox, "Jo")
				if took := time.Since(began); took != 0 {
					t.Errorf("the acknowledgement took %s", took)
				}
				if a := r.alert(heatOfBox); a.AcknowledgedBy != "Jo" || len(r.deeds()) != 1 {
					t.Errorf("alert %+v, book %q", a, r.deeds())
				}
				r.store.trouble(nil, nil)
				r.live(time.Minute)
				if err := r.Sync(t.Context()); err != nil {
					t.Fatal(err)
				}
				stored := 0
				for _, e := range r.store.entries {
					if e.Kind == book.KindAcknowledged {
						stored++
					}
				}
				if stored != 1 || r.store.states[heatOfBox].AcknowledgedBy != "Jo" {
					t.Errorf("%d entries stored, state %+v", stored, r.store.states[heatOfBox])
				}
			})
		})
	}
}

// What was done before the clock was set gets its true time in the book.
func TestADeedBeforeTheClockIsSet(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		first := heat(t, newMemory())
		if err := first.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		time.Sleep(5 * time.Hour)
		r := newRoom(t, first.store, "p")
		r.hand.celsius("p", 39)
		r.wall, r.trusted, r.boot = -20*365*24*time.Hour, false, "boot-2"
		r.live(time.Minute)
		done := time.Now().UTC()
		o := r.alert(heatOfBox).Occurrence
		if err := r.do(monitor.Change{Shelve: &monitor.Shelve{
			Alert: heatOfBox, Occurrence: o, For: time.Hour, By: "Jo",
		}}); err != "" {
			t.Fatal(err)
		}
		if got := r.deeds(); len(got) != 0 {
			t.Errorf("the book says %q under a date that is wrong", got)
		}
		r.live(time.Minute)
		r.wall, r.trusted = 0, true
		r.live(time.Minute)
		if err := r.Sync(t.Context()); err != nil {
			t.Fatal(err)
		}
		var got *book.Entry
		for _, e := range r.store.entries {
			if e.Kind == book.KindShelved {
				got = &e
			}
		}
		if got == nil || got.At.Sub(done).Abs() > 15*time.Second || len(r.Snapshot().Book.Problems) > 0 {
			t.Errorf("stored %+v, problems %q; done at %s", got, r.Snapshot().Book.Problems, done)
		}
	})
}

// The book's word about an alert comes of doing it, not of writing it.
func TestADeedIsNotWrittenByHand(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := heat(t, newMemory())
		e := book.Entry{
			Kind: book.KindAcknowledged, Data: []byte(`{"alert":"` + heatOfBox + `","occurrence":"o1"}`),
		}
		if err := r.do(monitor.Change{Entry: &e}); !strings.Contains(err, "the alert itself") {
			t.Errorf("it was told %q", err)
		}
		if !r.alert(heatOfBox).Acknowledged.IsZero() || len(r.deeds()) != 0 {
			t.Error("it was taken for an acknowledgement")
		}
	})
}
