package demo

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"strings"
	"time"

	"clutchd/daemon"
	"clutchd/daemon/command"
	"clutchd/daemon/config"
	"clutchd/daemon/monitor"
	"clutchd/incubation/book"
	"clutchd/sensors"
	"clutchd/sensors/simulated"
)

const (
	usage = "demo [-http ADDR] [-mqtt ADDR] [-data DIR] [-calm]"
	// coarse is the beat of the season before the last hours.
	coarse = 10 * time.Minute
	fine   = 10 * time.Second
	// closeUp is how much of the season is lived at the live beat.
	closeUp = 2 * time.Hour
	seed    = 20
	// anchorFile holds the time that the story was told from.
	anchorFile = "story"
)

// Command lives through the invented season in seconds, by the same code that
// watches a real room, and then goes on live with something that goes wrong.
func Command(ctx context.Context, c command.Call) error {
	cfg := config.Default()
	cfg.Site, cfg.Clock, cfg.Kernel.Off = "demo", config.ClockSystem, true
	calm := false
	err := c.Bare(usage, func(set *flag.FlagSet) {
		set.StringVar(&cfg.Web.Listen, "http", cfg.Web.Listen, "`ADDR`ess of the pages")
		set.StringVar(&cfg.Broker.Listen, "mqtt", cfg.Broker.Listen, "`ADDR`ess of the built-in broker")
		set.StringVar(&cfg.StateDir, "data", "", "`FOLDER` to keep the season in (default: none is kept)")
		set.BoolVar(&calm, "calm", false, "nothing goes wrong")
	})
	if err != nil {
		return err
	}
	for _, addr := range []string{cfg.Web.Listen, cfg.Broker.Listen} {
		if _, _, err := net.SplitHostPort(addr); err != nil && addr != "" {
			return &command.WrongCall{
				What: fmt.Sprintf("%q is no address to listen on", addr),
				Hint: "write it as 127.0.0.1:8080, or leave it empty for none",
			}
		}
	}
	if cfg.StateDir == "" {
		dir, err := os.MkdirTemp("", "clutchd-demo-")
		if err != nil {
			return fmt.Errorf("make a folder for the season: %w", err)
		}
		defer os.RemoveAll(dir)
		cfg.StateDir = dir
	}
	s, err := newShow(cfg, calm)
	if err != nil {
		return err
	}
	return daemon.Run(ctx, daemon.Settings{
		Config: cfg, Log: slog.New(slog.NewTextHandler(c.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn})),
		Sampler: s, Contacts: s, Prepare: s.prepare,
		Ready: func(at daemon.Addresses) { fmt.Fprintln(c.Stdout, reached(at)) },
	})
}

// reached says in one line where the room can be looked at and listened to.
func reached(at daemon.Addresses) string {
	text := "the invented room: without pages"
	if at.Web != nil {
		text = fmt.Sprintf("the invented room: http://%s/", at.Web)
	}
	if at.Broker != nil {
		_, port, _ := net.SplitHostPort(at.Broker.String()) // a listener's own
		text += fmt.Sprintf("  messages: mosquitto_sub -p %s -v -t 'clutchd/#'", port)
	}
	return text
}

// A show is one run of the demo. It is also the sampler of its room, which a
// later part of the story may replace.
type show struct {
	calm    bool
	anchor  time.Time // when the story was first told, where its season ends
	now     time.Time // when this run goes live, about
	entries []book.Entry
	spec    simulated.Spec
	room    *simulated.Room
	first   time.Time // of the season
}

// newShow tells the story from now, or from when it was told before in the
// same folder.
func newShow(cfg config.Config, calm bool) (*show, error) {
	now := time.Now().UTC().Truncate(fine)
	anchor, err := anchorOf(cfg.StateDir, now)
	if err != nil {
		return nil, err
	}
	zone, err := cfg.Location()
	if err != nil {
		return nil, err
	}
	entries, spec := Story(anchor, zone.String())
	if calm {
		spec.Faults = nil
	}
	s := &show{calm: calm, anchor: anchor, now: now, entries: entries, spec: spec, first: entries[0].At}
	s.enter(s.first)
	return s, nil
}

// enter begins the room at a time.
func (s *show) enter(start time.Time) {
	s.room = simulated.New(s.spec, seed, start)
	if !s.calm {
		s.room.Inject(stuckAt(s.now))
	}
}

// Probes lists the room's.
func (s *show) Probes() []sensors.Probe { return s.room.Probes() }

// Sample lives on to now.
func (s *show) Sample(ctx context.Context, now time.Time) []sensors.Outcome {
	return s.room.Sample(ctx, now)
}

// Contacts lists the room's.
func (s *show) Contacts() []sensors.Contact { return s.room.Contacts() }

// SampleContacts gives what they said up to now.
func (s *show) SampleContacts(ctx context.Context, now time.Time) []sensors.ContactOutcome {
	return s.room.SampleContacts(ctx, now)
}

// anchorOf gives the time that the story in a folder is told from, now if none
// has been begun there. The file appears whole or not at all.
func anchorOf(folder string, now time.Time) (time.Time, error) {
	path := filepath.Join(folder, anchorFile)
	text, err := os.ReadFile(path)
	if err == nil {
		t, err := time.Parse(time.RFC3339, strings.TrimSpace(string(text)))
		if err != nil {
			return time.Time{}, fmt.Errorf("read %s: %w\nremove the folder for a new season", path, err)
		}
		return t, nil
	}
	if !errors.Is(err, os.ErrNotExist) {
		return time.Time{}, fmt.Errorf("read %s: %w", path, err)
	}
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return time.Time{}, fmt.Errorf("make the folder: %w", err)
	}
	if err := os.WriteFile(path+".new", []byte(now.Format(time.RFC3339)+"\n"), 0o600); err != nil {
		return time.Time{}, fmt.Errorf("write %s: %w", path, err)
	}
	if err := os.Rename(path+".new", path); err != nil {
		return time.Time{}, fmt.Errorf("write %s: %w", path, err)
	}
	return now, nil
}

// prepare lives through what lies before now: the season, or what an earlier
// start left of it; then, if that start lies a while back, the last quarter of
// an hour, so that what goes wrong has begun.
func (s *show) prepare(ctx context.Context, m *monitor.Monitor) error {
	since, end := m.LastReading(), s.seasonEnd()
	if since.Before(s.anchor.Add(-time.Minute)) {
		if err := s.season(ctx, m, since); err != nil || end.Equal(s.now) {
			return err
		}
		since = end
	}
	s.enter(s.now.Add(-closeUp)) // the room was there meanwhile; nobody looked
	s.catchUp(ctx, s.now.Add(-15*time.Minute-fine))
	return s.resume(ctx, m, since)
}

// seasonEnd is the story's present; now, if that has hardly passed.
func (s *show) seasonEnd() time.Time {
	if s.now.Sub(s.anchor) <= closeUp {
		return s.now
	}
	return s.anchor
}

// season lives through the whole story, or what of it lies after since: the
// room alone goes through what was stored before. The book knows an entry that
// it is told again by its request.
func (s *show) season(ctx context.Context, m *monitor.Monitor, since time.Time) error {
	told, day, end := 0, s.first, s.seasonEnd()
	for t := s.first; t.Before(end) && ctx.Err() == nil; t = t.Add(beat(t, end)) {
		if !t.After(since) {
			s.room.Sample(ctx, t)
			continue
		}
		m.Tick(ctx, s.at(t))
		for ; told < len(s.entries) && !s.entries[told].At.After(t); told++ {
			if _, err := m.Do(ctx, monitor.Change{Entry: &s.entries[told]}); err != nil {
				return fmt.Errorf("tell entry %d of the story: %w", told, err)
			}
		}
		if t.Sub(day) >= 24*time.Hour {
			day = t
			if err := s.evening(ctx, m); err != nil {
				return err
			}
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return m.Sync(ctx)
}

// evening is when the invented keeper has seen the day's alerts, and the day
// is written down.
func (s *show) evening(ctx context.Context, m *monitor.Monitor) error {
	for _, a := range m.Standing() {
		seen := monitor.Acknowledge{Alert: a.Alert, Occurrence: a.Occurrence, By: "the keeper"}
		if _, err := m.Do(ctx, monitor.Change{Acknowledge: &seen}); err != nil {
			return fmt.Errorf("acknowledge %s: %w", a.Alert, err)
		}
	}
	return m.Sync(ctx)
}

// resume lives through the last quarter of an hour.
func (s *show) resume(ctx context.Context, m *monitor.Monitor, since time.Time) error {
	for t := s.now.Add(-15 * time.Minute); t.Before(s.now) && ctx.Err() == nil; t = t.Add(fine) {
		if t.After(since) {
			m.Tick(ctx, s.at(t))
		} else {
			s.catchUp(ctx, t)
		}
	}
	return m.Sync(ctx)
}

// catchUp lets the room live on unseen to a time. A room that nobody asked for
// long answers on its coarse beat first: its probes would seem silent.
func (s *show) catchUp(ctx context.Context, to time.Time) {
	for range 2 {
		s.room.Sample(ctx, to)
	}
}

// beat is the season's: fine in its last hours.
func beat(t, end time.Time) time.Duration {
	if end.Sub(t) <= closeUp {
		return fine
	}
	return coarse
}

func (s *show) at(t time.Time) monitor.Instant {
	return monitor.Instant{Wall: t, Trusted: true, Boot: "story", Elapsed: t.Sub(s.first)}
}

// stuckAt is a thermostat that sticks so long before now that it is told soon
// after the pages open.
func stuckAt(now time.Time) simulated.Fault {
	return simulated.Fault{
		Kind: simulated.StuckOn, Subject: StuckIncubator,
		From: now.Add(-stuckBefore), To: now.Add(stuckFor),
	}
}

// stuckFor lets the invented keeper unplug the heater before the boxes, which
// lag behind the air, reach what would hurt the eggs.
const stuckFor = 40 * time.Minute

// stuckBefore was measured: that the story's cabinet warms fast was told 7.3 to 7.7
// minutes after its thermostat stuck in three runs, and later than 8 in one.
const stuckBefore = 6 * time.Minute
