package i2c_test

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"golang.org/x/sys/unix"
	"periph.io/x/conn/v3/physic"

	"clutchd/incubation"
	"clutchd/sensors"
	"clutchd/sensors/i2c"
)

// A script is a bus on which everything is laid down, byte for byte. Each line
// of its text is one transfer, in order:
//
//	24 00                written, acknowledged
//	F7 > 80 00 00        written, then read
//	> 66 66 93           read alone
//	24 00 ! absent       refused: absent, gone, timeout or io
//	@2s 24 00            the bus takes so long
//	* F3 > 08            again and again, as long as it is asked
//	0x48 > 19 00         with that chip; without: as in the line before
//
// A transfer that is not the next line fails the test, and so do lines that
// are left over.
type script struct {
	t     *testing.T
	steps []step
	count int // of transfers
}

type step struct {
	addr    uint16
	out, in []byte
	err     error
	takes   time.Duration
	forever bool
	line    string
}

func newScript(t *testing.T, addr uint16, text string) *script {
	t.Helper()
	s := &script{t: t}
	for line := range strings.Lines(text) {
		if line, _, _ = strings.Cut(line, "#"); strings.TrimSpace(line) != "" {
			next := parseStep(t, addr, strings.TrimSpace(line))
			addr = next.addr
			s.steps = append(s.steps, next)
		}
	}
	return s
}

func parseStep(t *testing.T, addr uint16, line string) step {
	t.Helper()
	s := step{addr: addr, line: line}
	rest, refusal, _ := strings.Cut(line, "!")
	rest, s.forever = strings.CutPrefix(rest, "*")
	words := strings.Fields(rest)
	into := &s.out
	for _, word := range words {
		switch {
		case word == ">":
			into = &s.in
		case strings.HasPrefix(word, "@"):
			d, err := time.ParseDuration(word[1:])
			check(t, err)
			s.takes = d
		case strings.HasPrefix(word, "0x"):
			_, err := fmt.Sscanf(word, "0x%x", &s.addr)
			check(t, err)
		default:
			b, err := hex.DecodeString(word)
			check(t, err)
			*into = append(*into, b...)
		}
	}
	s.err = refusalNamed(t, strings.TrimSpace(refusal))
	return s
}

func refusalNamed(t *testing.T, name string) error {
	t.Helper()
	switch name {
	case "":
		return nil
	case "absent":
		return unix.EREMOTEIO
	case "gone":
		return unix.ENXIO
	case "timeout":
		return unix.ETIMEDOUT
	case "io":
		return unix.EIO
	}
	t.Fatalf("script: no refusal is called %q", name)
	return nil
}

func (s *script) Tx(addr uint16, out, in []byte) error {
	s.count++
	if len(s.steps) == 0 {
		s.t.Errorf("transfer 0x%02x % x > %d bytes: the script is at its end", addr, out, len(in))
		return unix.EIO
	}
	if s.steps[0].forever && !s.steps[0].is(addr, out, in) && len(s.steps) > 1 {
		s.steps = s.steps[1:]
	}
	next := s.steps[0]
	if !next.is(addr, out, in) {
		s.t.Errorf("transfer 0x%02x % x > %d bytes: the script goes on with 0x%02x %q", addr, out, len(in), next.addr, next.line)
		return unix.EIO
	}
	if !next.forever {
		s.steps = s.steps[1:]
	}
	time.Sleep(next.takes)
	if next.err != nil {
		return next.err
	}
	copy(in, next.in)
	return nil
}

// is says whether a transfer is this step; a refused read may be of any length.
func (s step) is(addr uint16, out, in []byte) bool {
	return addr == s.addr && bytes.Equal(out, s.out) && (len(in) == len(s.in) || s.err != nil)
}

func (s *script) used() {
	s.t.Helper()
	for _, step := range s.steps {
		if !step.forever {
			s.t.Errorf("script: not used: %q", step.line)
		}
	}
}

func (s *script) String() string                  { return "i2c-1" }
func (s *script) SetSpeed(physic.Frequency) error { return errors.New("not asked for") }

// say reads a sensor once and gives the outcome in a word or two: "24.0013"
// or "24.0013 0.4000", with the quality unless it is good, or the cause of the
// fault. It fails the test when an outcome is not as the contract wants it.
func say(ctx context.Context, t *testing.T, s sensors.Sensor) string {
	t.Helper()
	r, err := s.Read(ctx)
	if err != nil {
		f, ok := errors.AsType[*sensors.Fault](err)
		if !ok || f.Probe != s.Probe().ID || f.Cause == "" {
			t.Errorf("error %v is no fault of probe %s", err, s.Probe().ID)
		}
		if r != (incubation.Reading{}) {
			t.Errorf("fault %v comes with the reading %+v", err, r)
		}
		return string(sensors.CauseOf(err))
	}
	if r.Probe != s.Probe().ID || r.Has != s.Probe().Has || !r.Time.IsZero() {
		t.Errorf("reading %+v does not fit its probe %+v", r, s.Probe())
	}
	text := fmt.Sprintf("%.4f", r.Celsius)
	if r.Has&incubation.RelativeHumidity != 0 {
		text += fmt.Sprintf(" %.4f", r.Humidity)
	}
	if r.Quality != incubation.Good {
		text += " " + r.Quality.String()
	}
	return text
}

// play reads a chip on a scripted bus as often as there are outcomes wanted.
func play(t *testing.T, model string, addr uint16, text string, want ...string) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		t.Helper()
		bus := newScript(t, addr, text)
		s, err := i2c.Open(bus, model, addr)
		check(t, err)
		for i, w := range want {
			if got := say(t.Context(), t, s); got != w {
				t.Errorf("read %d says %q, want %q", i+1, got, w)
			}
		}
		bus.used()
	})
}

func check(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// lines repeats and joins parts of a script.
func lines(parts ...string) string { return strings.Join(parts, "\n") }
