package store_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"go.etcd.io/bbolt"

	"clutchd/alerts"
	"clutchd/daemon/store"
)

func occurrence(id string, raised time.Time) alerts.State {
	return alerts.State{
		Alert: "too-warm.place.inc-1", Rule: "too-warm", Occurrence: id, Raised: raised, Text: id,
	}
}

// logged opens the folder and gives what its log says.
func logged(t *testing.T, dir string, from, to time.Time) []string {
	t.Helper()
	st := open(t, dir)
	defer shut(t, st)
	if told := st.Damage(); len(told) > 0 {
		t.Errorf("told damaged: %q", told)
	}
	past, err := st.Past(t.Context(), from, to)
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for _, s := range past {
		ids = append(ids, s.Text)
	}
	return ids
}

func TestPastOccurrences(t *testing.T) {
	at := func(d time.Duration) time.Time { return noon.Add(d) }
	later := occurrence("o2", at(time.Hour))
	ended := later
	ended.Text, ended.Phase = "o2 is over", alerts.Normal
	moved := later
	moved.Text, moved.Raised = "o2 at its true time", at(-48*time.Hour)
	for _, c := range []struct {
		why      string
		commits  []alerts.Changes
		from, to time.Time
		want     []string
	}{
		{
			"they come in order of when they were raised, however they were stored",
			[]alerts.Changes{{Past: []alerts.State{later, occurrence("o1", at(0))}}},
			time.Time{},
			at(24 * time.Hour),
			[]string{"o1", "o2"},
		},
		{
			"two of one moment come by occurrence",
			[]alerts.Changes{{Past: []alerts.State{occurrence("o2", at(0)), occurrence("o1", at(0))}}},
			at(0), at(1),
			[]string{"o1", "o2"},
		},
		{
			"the first moment of the stretch is in it, its end is not",
			[]alerts.Changes{{Past: []alerts.State{later, occurrence("o1", at(0))}}},
			at(0), at(time.Hour),
			[]string{"o1"},
		},
		{
			"what an occurrence became takes the place of what it was",
			[]alerts.Changes{{Past: []alerts.State{later}}, {Past: []alerts.State{ended}}},
			time.Time{},
			at(24 * time.Hour),
			[]string{"o2 is over"},
		},
		{
			"one whose clock was set under it is there once, at its true time",
			[]alerts.Changes{{Past: []alerts.State{later, occurrence("o1", at(0))}}, {Past: []alerts.State{moved}}},
			time.Time{},
			at(24 * time.Hour),
			[]string{"o2 at its true time", "o1"},
		},
		{
			"what was raised before the log's end is dropped, with the same commit's",
			[]alerts.Changes{
				{Past: []alerts.State{occurrence("o1", at(0))}},
				{Past: []alerts.State{later}, DropPast: at(time.Minute)},
			},
			time.Time{},
			at(24 * time.Hour),
			[]string{"o2"},
		},
		{
			"one that was dropped and changes once more is there again",
			[]alerts.Changes{
				{Past: []alerts.State{later}}, {DropPast: at(2 * time.Hour)}, {Past: []alerts.State{ended}},
			},
			time.Time{},
			at(24 * time.Hour),
			[]string{"o2 is over"},
		},
	} {
		t.Run(c.why, func(t *testing.T) {
			dir := folder(t)
			st := open(t, dir)
			for _, changes := range c.commits {
				if err := st.CommitBook(t.Context(), nil, changes); err != nil {
					t.Fatal(err)
				}
			}
			shut(t, st)
			if diff := gocmp.Diff(c.want, logged(t, dir, c.from, c.to)); diff != "" {
				t.Errorf("past (-want +got):\n%s", diff)
			}
		})
	}
}

// A state without an occurrence is nothing that was ever told.
func TestPastNeedsAnOccurrence(t *testing.T) {
	st := open(t, folder(t))
	defer shut(t, st)
	nameless := []alerts.State{occurrence("", noon)}
	if err := st.CommitBook(t.Context(), nil, alerts.Changes{Past: nameless}); err == nil {
		t.Error("a past occurrence without an id was stored")
	}
}

// A book from before there was a log opens, behind a copy of it as it was, and
// keeps the log from then on; the years of readings are not copied for it.
func TestBookOfTheFirstSchemaOpens(t *testing.T) {
	s := makeSound(t)
	toFirstSchema(t, filepath.Join(s.dir, bookFile))
	st := open(t, s.dir)
	entries, err := st.Entries(t.Context())
	if err != nil || len(entries) != len(s.entries) {
		t.Errorf("%d entries, want %d, %v", len(entries), len(s.entries), err)
	}
	past := []alerts.State{occurrence("o1", noon)}
	if err := st.CommitBook(t.Context(), nil, alerts.Changes{Past: past}); err != nil {
		t.Error(err)
	}
	shut(t, st)
	if diff := gocmp.Diff([]string{"o1"}, logged(t, s.dir, noon, noon.Add(1))); diff != "" {
		t.Errorf("past (-want +got):\n%s", diff)
	}
	if got := glob(t, s.dir, "book-backup-*.db"); len(got) != 1 {
		t.Errorf("copies of the book %v, want one", got)
	}
	if got := glob(t, s.dir, "history-*-backup-*.db"); len(got) != 0 {
		t.Errorf("a change of the book copied the readings: %v", got)
	}
}

// A damaged book whose only copy is of the first schema begins from that.
func TestDamagedBookBeginsFromAnOlderSchema(t *testing.T) {
	s := makeSound(t)
	const name = "book-backup-20260101T000000Z.db"
	backup(t, s, name, 20)
	toFirstSchema(t, filepath.Join(s.dir, name))
	remove(t, s, bookFile)
	st := open(t, s.dir)
	defer shut(t, st)
	if entries, err := st.Entries(t.Context()); err != nil || len(entries) != 20 {
		t.Errorf("%d entries, want 20, %v", len(entries), err)
	}
	if _, err := st.Past(t.Context(), time.Time{}, noon); err != nil {
		t.Error(err)
	}
}

// toFirstSchema makes a book as the first program wrote it.
func toFirstSchema(t *testing.T, path string) {
	t.Helper()
	db, err := bbolt.Open(path, 0o600, &bbolt.Options{Timeout: time.Second, PageSize: os.Getpagesize()})
	if err != nil {
		t.Fatal(err)
	}
	if err := db.Update(store.ToFirstSchema); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}
