package store_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime"
	"strconv"
	"testing"
	"time"

	"clutchd/alerts"
	"clutchd/daemon/store"
	"clutchd/incubation"
	"clutchd/incubation/book"
)

// This test binary is also the program whose writes are traced, failed and
// cut off: started with writerEnv naming a folder it stores a scripted
// evening and says on its standard output what it was told is on the disk.
const (
	writerEnv  = "CLUTCHD_STORE_WRITER"
	stepsEnv   = "CLUTCHD_STORE_STEPS"
	noSyncEnv  = "CLUTCHD_STORE_NOSYNC"
	patientEnv = "CLUTCHD_STORE_PATIENT"
)

func TestMain(m *testing.M) {
	dir := os.Getenv(writerEnv)
	if dir == "" {
		m.Run()
		return
	}
	if err := write(dir); err != nil {
		fmt.Fprintln(os.Stderr, err)
		panic("writer: " + err.Error())
	}
}

// evening is when the script begins: a year's end, so that two history files
// are made, and early enough that windows are packed.
var evening = time.Date(2026, 12, 31, 10, 0, 0, 0, time.UTC)

const (
	scriptStep = 30 * time.Minute
	perStep    = 4 // readings of each probe a step
	scriptBoot = "boot-of-the-script"
)

var scriptProbes = []string{"shelf-1", "shelf-2"}

// write plays the script. Each line it says is one write call.
func write(dir string) error {
	ctx := context.Background()
	steps, err := strconv.Atoi(os.Getenv(stepsEnv))
	if err != nil {
		return err
	}
	runtime.LockOSThread() // strace counts the calls of each thread by itself
	var s *store.Store
	err = patiently(func() (err error) {
		s, err = store.Open(ctx, dir, store.WithNoSync(os.Getenv(noSyncEnv) != ""))
		return err
	})
	if err != nil {
		return err
	}
	say("open", 0)
	for i := range steps {
		for _, part := range script {
			if err := patiently(func() error { return part.do(ctx, s, i) }); err != nil {
				return fmt.Errorf("%s %d: %w", part.name, i, err)
			}
			say(part.name, i)
		}
	}
	return s.Close()
}

// patiently tries again after an error if it was told to expect one.
func patiently(do func() error) error {
	err := do()
	for range 3 {
		if err == nil || os.Getenv(patientEnv) == "" {
			return err
		}
		say("refused", 0)
		err = do()
	}
	return err
}

func say(what string, i int) { os.Stdout.WriteString(fmt.Sprintf("ack %s %d\n", what, i)) }

// A part is one kind of step: how it is done, and how it is missed.
type part struct {
	name string
	do   func(ctx context.Context, s *store.Store, i int) error
	// kept says whether what was acknowledged up to step i is there.
	kept func(ctx context.Context, s *store.Store, i int) error
}

var errLost = errors.New("acknowledged and lost")

var script = []part{
	{"book", commitStep, keptBook},
	{"readings", appendStep, keptReadings},
	{"staged", stageStep, keptStaged},
	{"ids", reserveStep, keptIDs},
}

func scriptEntry(i int) book.Entry {
	return book.Entry{
		Seq: uint64(i) + 1, At: evening, Made: evening, Kind: book.KindNote,
		Data: []byte(fmt.Sprintf(`{"text":"step %d"}`, i)),
	}
}

func scriptState(i int) alerts.State {
	v := float64(i)
	return alerts.State{
		Alert: "too-warm.place.box-1", Rule: "too-warm", Phase: alerts.Active, Value: &v,
	}
}

// scriptPast is an occurrence of step i that begins, and that of the step
// before as it ended.
func scriptPast(i int) []alerts.State {
	begins := scriptState(i)
	begins.Occurrence, begins.Raised = fmt.Sprintf("o%d", i), evening.Add(time.Duration(i)*scriptStep)
	if i == 0 {
		return []alerts.State{begins}
	}
	ended := begins
	ended.Occurrence, ended.Phase = fmt.Sprintf("o%d", i-1), alerts.Normal
	ended.Raised = begins.Raised.Add(-scriptStep)
	return []alerts.State{ended, begins}
}

// keptPast says whether every step up to i has left its occurrence, ended but
// for the last; steps after i may have come too.
func keptPast(ctx context.Context, s *store.Store, i int) error {
	past, err := s.Past(ctx, evening, evening.Add(48*time.Hour))
	if err != nil || len(past) < i+1 {
		return errors.Join(fmt.Errorf("%d past occurrences: %w", len(past), errLost), err)
	}
	for n, was := range past {
		ended := was.Phase == alerts.Normal
		if was.Occurrence != fmt.Sprintf("o%d", n) || ended != (n < len(past)-1) {
			return fmt.Errorf("occurrence %d is %q, %s: %w", n, was.Occurrence, was.Phase, errLost)
		}
	}
	return nil
}

func commitStep(ctx context.Context, s *store.Store, i int) error {
	notice := alerts.Notice{
		ID: uint64(i) + 1, Reason: "raised", Time: evening, State: scriptState(i),
	}
	return s.CommitBook(ctx, []book.Entry{scriptEntry(i)}, alerts.Changes{
		States: []alerts.State{scriptState(i)}, Notices: []alerts.Notice{notice}, Past: scriptPast(i),
	})
}

func keptBook(ctx context.Context, s *store.Store, i int) error {
	entries, err := s.Entries(ctx)
	if err != nil || len(entries) < i+1 {
		return errors.Join(fmt.Errorf("%d entries: %w", len(entries), errLost), err)
	}
	states, err := s.States(ctx)
	if err != nil || len(states) != 1 || *states[0].Value < float64(i) {
		return errors.Join(fmt.Errorf("states %v: %w", states, errLost), err)
	}
	notices, _, err := s.Outbox(ctx)
	if err != nil || len(notices) < i+1 {
		return errors.Join(fmt.Errorf("%d notices: %w", len(notices), errLost), err)
	}
	return keptPast(ctx, s, i)
}

// scriptReading is reading j of step i.
func scriptReading(probe string, i, j int) incubation.Reading {
	at := evening.Add(time.Duration(i)*scriptStep + time.Duration(j)*scriptStep/perStep)
	return warm(probe, at, 28+float64(i*perStep+j)/100)
}

func appendStep(ctx context.Context, s *store.Store, i int) error {
	var all []incubation.Reading
	for j := range perStep {
		for _, p := range scriptProbes {
			all = append(all, scriptReading(p, i, j))
		}
	}
	return s.Append(ctx, all)
}

func keptReadings(ctx context.Context, s *store.Store, i int) error {
	for _, probe := range scriptProbes {
		n := 0
		for r, err := range s.Range(ctx, probe, evening, evening.Add(48*time.Hour)) {
			if err != nil {
				return err
			}
			if want := scriptReading(probe, n/perStep, n%perStep); !alike(r, want) {
				return fmt.Errorf("reading %d is %v, want %v: %w", n, r, want, errLost)
			}
			n++
		}
		if n < (i+1)*perStep {
			return fmt.Errorf("%d readings, want %d: %w", n, (i+1)*perStep, errLost)
		}
	}
	return nil
}

// stageStep stages a reading at every step and settles them at every fourth.
func stageStep(ctx context.Context, s *store.Store, i int) error {
	r := warm("untimed", time.Time{}, 20+float64(i)/100)
	u := incubation.Untimed{Boot: scriptBoot, Elapsed: time.Duration(i) * time.Minute, Reading: r}
	if err := s.Stage(ctx, []incubation.Untimed{u}); err != nil {
		return err
	}
	if i%4 != 3 {
		return nil
	}
	_, err := s.Settle(ctx, scriptBoot, evening)
	return err
}

func keptStaged(ctx context.Context, s *store.Store, i int) error {
	if _, err := s.Settle(ctx, scriptBoot, evening); err != nil {
		return err
	}
	n := 0
	for _, err := range s.Range(ctx, "untimed", evening, evening.Add(48*time.Hour)) {
		if err != nil {
			return err
		}
		n++
	}
	if n < i+1 {
		return fmt.Errorf("%d staged readings, want %d: %w", n, i+1, errLost)
	}
	return nil
}

func reserveStep(ctx context.Context, s *store.Store, i int) error {
	_, err := s.Reserve(ctx, 10)
	return err
}

func keptIDs(ctx context.Context, s *store.Store, i int) error {
	first, err := s.Reserve(ctx, 1)
	if err != nil || first < uint64(i+1)*10+1 {
		return errors.Join(fmt.Errorf("id %d given again: %w", first, errLost), err)
	}
	return nil
}

// acks is, by part, the last step that was acknowledged, plus one.
type acks map[string]int

func (a acks) note(what string, i int) { a[what] = max(a[what], i+1) }

// kept opens a folder and checks that it holds all that was acknowledged and
// that nothing was found damaged.
func (a acks) kept(dir string) (err error) {
	s, err := store.Open(context.Background(), dir, store.Options{})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	for _, p := range script {
		if n := a[p.name]; n > 0 {
			if err := p.kept(context.Background(), s, n-1); err != nil {
				return err
			}
		}
	}
	if told := s.Damage(); len(told) > 0 {
		return fmt.Errorf("told damaged: %q", told)
	}
	return nil
}
