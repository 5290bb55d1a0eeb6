package monitor_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/monitor"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/sensors"
)

// scenarios is where the stories of a room lie; README there tells how one is
// written.
const scenarios = "../../testdata/scenario"

// TestScenarios lives every story through. Together they must raise every rule
// there is, and see the end of each.
func TestScenarios(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(scenarios, "*.txt"))
	if err != nil || len(files) == 0 {
		t.Fatalf("stories in %s: %d, %v", scenarios, len(files), err)
	}
	raised, ended := map[string]bool{}, map[string]bool{}
	for i, file := range files {
		if underRace && i%3 != 0 {
			continue // they all go the same ways between goroutines; the plain run lives them all
		}
		lines := storyOf(t, file)
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txt"), func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				s := &scene{room: newRoom(t, newMemory()), raised: raised, ended: ended}
				for _, l := range lines {
					s.live(t, l)
				}
			})
		})
	}
	for _, r := range alerts.Rules() {
		if underRace {
			break
		}
		if !raised[r.Code] {
			t.Errorf("no story raises %s", r.Code)
		}
		if !ended[r.Code] {
			t.Errorf("no story sees the end of %s", r.Code)
		}
	}
}

// A storyLine is one thing that happens, so long after the one before.
type storyLine struct {
	where string // file and line
	after time.Duration
	verb  string
	args  string
}

// storyOf reads a file: its first line tells the story in a sentence, the rest
// are lines "[+DURATION] VERB [ARGUMENTS]".
func storyOf(t *testing.T, file string) []storyLine {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out []storyLine
	in := bufio.NewScanner(f)
	for n := 1; in.Scan(); n++ {
		text := strings.TrimSpace(in.Text())
		if n == 1 && !(strings.HasPrefix(text, "# ") && strings.HasSuffix(text, ".")) {
			t.Fatalf("%s: the first line is to be a sentence behind a #", file)
		}
		if text == "" || strings.HasPrefix(text, "#") {
			continue
		}
		l := storyLine{where: fmt.Sprintf("%s:%d", filepath.Base(file), n)}
		if strings.HasPrefix(text, "+") {
			word, rest, _ := strings.Cut(text, " ")
			if l.after, err = lasting(word[1:]); err != nil {
				t.Fatalf("%s: %v", l.where, err)
			}
			text = strings.TrimSpace(rest)
		}
		l.verb, l.args, _ = strings.Cut(text, " ")
		out = append(out, l)
	}
	if in.Err() != nil {
		t.Fatal(in.Err())
	}
	return out
}

// lasting reads a duration, which may be in days.
func lasting(text string) (time.Duration, error) {
	if days, ok := strings.CutSuffix(text, "d"); ok {
		n, err := strconv.Atoi(days)
		return time.Duration(n) * 24 * time.Hour, err
	}
	return time.ParseDuration(text)
}

// A scene is a story on its way.
type scene struct {
	room          *room
	heard         int // notices that an expect has seen
	raised, ended map[string]bool
}

func (s *scene) live(t *testing.T, l storyLine) {
	t.Helper()
	s.pass(l.after)
	verbs := map[string]func(string) error{
		"probe": s.probe, "contact": s.contact, "room": s.furnish, "clutch": s.lay, "entry": s.enter, "clock": s.clock,
		"disk": s.disk, "destination": s.destination, "restart": s.restart, "seen": s.see, "expect": s.expect, "stands": s.stands,
	}
	do := verbs[l.verb]
	if do == nil {
		t.Fatalf("%s: %q is nothing that can happen", l.where, l.verb)
	}
	if err := do(l.args); err != nil {
		t.Fatalf("%s: %s %s: %v", l.where, l.verb, l.args, err)
	}
}

// pass lets time pass, in coarse ticks where it is much.
func (s *scene) pass(d time.Duration) {
	const day = 24 * time.Hour
	if d >= day {
		s.room.days(int(d / day))
		d %= day
	}
	s.room.live(d)
}

// probe: "ID reads 28.4 [72%]", "ID silent", "ID fault CAUSE", "ID through BUS",
// "ID every DURATION".
func (s *scene) probe(args string) error {
	f := strings.Fields(args)
	if len(f) < 2 {
		return fmt.Errorf("of %q", args)
	}
	h, id := s.room.hand, f[0]
	if !slices.ContainsFunc(h.probes, func(p sensors.Probe) bool { return p.ID == id }) {
		h.probes = append(h.probes, newHand(id).probes...)
	}
	switch f[1] {
	case "silent":
		h.silent(id)
	case "through":
		i := slices.IndexFunc(h.probes, func(p sensors.Probe) bool { return p.ID == id })
		h.probes[i].Through = f[2]
	case "every":
		every, err := time.ParseDuration(f[2])
		i := slices.IndexFunc(h.probes, func(p sensors.Probe) bool { return p.ID == id })
		h.probes[i].Interval = every
		return err
	case "fault":
		h.fault(id, sensors.Cause(f[2]))
	case "reads":
		c, err := strconv.ParseFloat(f[2], 64)
		if err != nil {
			return err
		}
		h.celsius(id, incubation.Celsius(c))
		if len(f) > 3 {
			percent, err := strconv.ParseFloat(strings.TrimSuffix(f[3], "%"), 64)
			h.humid(id, incubation.Humidity(percent/100))
			return err
		}
	}
	return nil
}

// contact: "ID KIND STATE", "ID KIND fault CAUSE", "ID KIND silent".
func (s *scene) contact(args string) error {
	f := strings.Fields(args)
	if len(f) < 3 {
		return fmt.Errorf("of %q", args)
	}
	return s.room.panel.says(f[0], incubation.ContactKind(f[1]), f[2:]...)
}

// furnish: "SETPOINT": an incubator, a box in it, and probe p in the box.
func (s *scene) furnish(args string) error {
	c, err := strconv.ParseFloat(args, 64)
	s.room.incubator(incubation.Celsius(c))
	return err
}

func (s *scene) lay(string) error { s.room.clutch(); return nil }

// enter: "KIND JSON".
func (s *scene) enter(args string) error {
	kind, data, _ := strings.Cut(args, " ")
	_, err := s.room.Do(s.room.Context(), monitor.Change{
		Entry: &book.Entry{Kind: book.Kind(kind), Data: json.RawMessage(data)},
	})
	return err
}

// clock: "unset" as after a boot, "set", "ahead 3d".
func (s *scene) clock(args string) error {
	word, by, _ := strings.Cut(args, " ")
	switch word {
	case "unset":
		s.room.wall, s.room.trusted = -20*365*24*time.Hour, false
	case "set":
		s.room.wall, s.room.trusted = 0, true
	case "ahead":
		d, err := lasting(by)
		s.room.wall += d
		return err
	default:
		return fmt.Errorf("not %q", word)
	}
	return nil
}

// disk: "full", "hangs", "works", "damaged".
func (s *scene) disk(args string) error {
	switch args {
	case "full":
		s.room.store.trouble(errDisk, nil)
	case "hangs":
		s.room.store.trouble(nil, make(chan struct{}))
	case "works":
		s.room.store.trouble(nil, nil)
	case "damaged":
		s.room.store.harm("book.db is damaged.")
	default:
		return fmt.Errorf("not %q", args)
	}
	return nil
}

// destination: "NAME dead" or "NAME alive".
func (s *scene) destination(args string) error {
	name, word, _ := strings.Cut(args, " ")
	if word != "dead" && word != "alive" {
		return fmt.Errorf("not %q", word)
	}
	s.room.post.is(name, word == "dead")
	return nil
}

// restart: "2h": the power is gone for so long; sensors say what they said.
func (s *scene) restart(args string) error {
	d, err := lasting(args)
	if err != nil {
		return err
	}
	before := s.room
	if err := before.Sync(before.Context()); err != nil {
		return err
	}
	time.Sleep(d)
	s.room, s.heard = newRoom(before.T, before.store), 0
	s.room.boot, s.room.hand.probes, s.room.hand.say = before.boot+"+", before.hand.probes, before.hand.say
	s.room.panel.all, s.room.panel.say = before.panel.all, before.panel.say
	return nil
}

// see: "ALERT": the keeper acknowledges it.
func (s *scene) see(args string) error {
	a := s.room.alert(args)
	if a == nil {
		return fmt.Errorf("it is not there")
	}
	_, err := s.room.Do(s.room.Context(), monitor.Change{
		Acknowledge: &monitor.Acknowledge{Alert: args, Occurrence: a.Occurrence, By: "keeper"},
	})
	return err
}

// expect: "REASON RULE SUBJECT, …" or "nothing": all that was told since the
// last time, in any order.
func (s *scene) expect(args string) error {
	var want []string
	if args != "nothing" {
		want = strings.Split(args, ", ")
	}
	said := s.room.post.said()
	got := slices.Clone(said[s.heard:])
	s.heard = len(said)
	for _, g := range got {
		f := strings.Fields(g)
		s.raised[f[1]] = s.raised[f[1]] || f[0] == "raised"
		s.ended[f[1]] = s.ended[f[1]] || f[0] == "cleared" || f[0] == "latched" || f[0] == "withdrawn"
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		return fmt.Errorf("it told of %q", got)
	}
	return nil
}

// stands: "ALERT [critical|warning|notice]" or "no ALERT": what a keeper is to
// see now. An event's end is no news, and is seen here only.
func (s *scene) stands(args string) error {
	f := strings.Fields(args)
	if f[0] == "no" {
		if a := s.room.alert(f[1]); a != nil && a.Told() {
			return fmt.Errorf("it does: %s", a.Text)
		}
		s.ended[strings.Split(f[1], ".")[0]] = true
		return nil
	}
	a := s.room.alert(f[0])
	switch {
	case a == nil || !a.Told():
		return fmt.Errorf("it does not")
	case len(f) > 1 && string(a.Severity) != f[1]:
		return fmt.Errorf("it is a %s", a.Severity)
	}
	return nil
}
