package proof_test

import (
	"flag"
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
)

var allFaults = flag.Bool("faults", false, "give every fault a house of its own (minutes)")

// warmUp is how long a house is well before a fault: shelves' differences are
// learned and sensors known by then.
const warmUp = 18 * time.Hour

// A verdict is what came of a fault.
type verdict struct {
	fault
	rule     string // of the first notice; "": none
	about    string
	took     time.Duration // until then; negative: never
	plain    time.Duration // a plain threshold's, the same
	messages int           // announcements
	told     []alerts.Notice
}

// healthy is a house that has been well for warmUp, with eggs of three ages.
func healthy(t *testing.T, beat time.Duration, contacts bool) *house {
	h := newHouse(t, beat, nil)
	if contacts {
		h.newPanel()
	}
	h.start()
	h.furnish()
	if contacts {
		h.connect()
	}
	h.lay("fern-1", "fern", 12*24*time.Hour, "box-1", "box-4")
	h.lay("ivy-1", "ivy", 28*24*time.Hour, "box-2", "box-5")
	h.lay("fern-2", "fern", 3*24*time.Hour, "box-3", "box-3")
	h.live(warmUp)
	return h
}

// suffer has a fault begin, waits, and says what was told.
func (h *house) suffer(f fault) verdict {
	h.Helper()
	before := h.post.count()
	h.plain.arm()
	h.watch = f.watch
	from := time.Now()
	f.begin(h)
	h.live(time.Until(from.Add(f.watch)))
	v := verdict{fault: f, took: -1, plain: -1, told: h.post.since(before)}
	if f.end != nil {
		f.end(h)
	}
	if !h.plain.first.IsZero() {
		v.plain = h.plain.first.Sub(from)
	}
	for _, n := range v.told {
		if !announces(n) {
			continue
		}
		if v.messages++; v.rule == "" {
			v.rule, v.about = n.Rule, n.Subject.ID
			v.took = h.post.when(before, n).Sub(from)
		}
	}
	return v
}

// check holds the verdict against what is asked.
func (v verdict) check(t *testing.T) {
	t.Helper()
	switch {
	case v.within == 0 && v.took >= 0:
		t.Errorf("told by %s after %s: nothing should be", v.rule, after(v.took))
	case v.within > 0 && v.took < 0:
		t.Errorf("never told")
	case v.within > 0 && v.took > v.within:
		t.Errorf("told after %s, want %s at most", after(v.took), after(v.within))
	case v.within > 0 && len(v.rules) > 0 && !slices.Contains(v.rules, v.rule):
		t.Errorf("told by %s, want one of %s", v.rule, strings.Join(v.rules, ", "))
	}
	if v.messages > v.most {
		t.Errorf("%d messages, want %d at most", v.messages, v.most)
	}
	if t.Failed() {
		for _, n := range v.told {
			t.Log(line(n))
		}
	}
}

// TestCatalogue gives every fault a house of its own and prints the table.
func TestCatalogue(t *testing.T) {
	if !*allFaults {
		t.Skip("-faults lives them all; TestCourse lives some, one after the other")
	}
	verdicts := make([]verdict, len(faults()))
	t.Run("each", func(t *testing.T) {
		for i, f := range faults() {
			t.Run(f.name, func(t *testing.T) {
				t.Parallel()
				synctest.Test(t, func(t *testing.T) {
					beat := f.beat
					if beat == 0 {
						beat = 30 * time.Second
					}
					h := healthy(t, beat, f.contacts)
					for _, n := range h.post.since(0) {
						if announces(n) {
							t.Errorf("told while all was well: %s", line(n))
						}
					}
					verdicts[i] = h.suffer(f)
					verdicts[i].check(t)
				})
			})
		}
	})
	fmt.Println(table(verdicts))
	if *update {
		document(t, verdicts)
	}
}

// table gives the verdicts as Markdown.
func table(all []verdict) string {
	var b strings.Builder
	b.WriteString("| what goes wrong | comes as | told first by | after | a plain threshold | messages |\n")
	b.WriteString("|---|---|---|---|---|---|\n")
	for _, v := range all {
		if v.name == "" {
			continue // -run left it out
		}
		by := v.rule + ", " + v.about
		if v.rule == "" {
			by = "nobody"
			if v.why != "" {
				by += ", " + v.why
			}
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %d |\n", v.name, v.bytes, by, after(v.took), after(v.plain), v.messages)
	}
	return b.String()
}
