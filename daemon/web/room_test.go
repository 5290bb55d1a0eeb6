package web_test

import (
	"flag"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"clutchd/daemon/monitor"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the golden pages anew")

var (
	stamps   = regexp.MustCompile(`\?v=[0-9a-f]{12}`)
	requests = regexp.MustCompile(`"page-[A-Za-z0-9_-]{16}"`)
)

// golden compares a page with what it was, without what differs each time.
func golden(t *testing.T, name, page string) {
	t.Helper()
	page = stamps.ReplaceAllString(requests.ReplaceAllString(page, `"page-ID"`), "?v=STAMP")
	file := filepath.Join("testdata", name+".html")
	if *update {
		if err := os.WriteFile(file, []byte(page), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(page, "\n")); diff != "" {
		t.Errorf("page %s is not as it was (-was +is):\n%s", name, diff)
	}
}

// atNoon runs a test at the moment the invented room was looked at.
func atNoon(t *testing.T, f func(t *testing.T)) {
	synctest.Test(t, func(t *testing.T) {
		time.Sleep(time.Until(noon))
		f(t)
	})
}

// pages are all that can be opened, by the name of their golden file.
var pages = map[string]string{
	"room": "/", "clutches": "/clutches", "clutch": "/clutches/k3", "clutch-ended": "/clutches/k1",
	"labels": "/labels?clutch=k3&address=http://192.168.1.20:8080", "sheet": "/sheet",
	"review": "/clutches/k1/review", "review-live": "/clutches/k3/review",
	"eggplan": "/eggs/k3-b/plan?want=male", "eggplan-female": "/eggs/k4-a/plan?want=female",
	"eggplan-any": "/eggs/k4-a/plan", "eggplan-closed": "/eggs/k2-a/plan?want=male", "eggplan-hatched": "/eggs/k1-a/plan",
	"eggplan-own": "/eggs/k4-a/plan?want=male&day-1=10&box-1=box-3&day-2=25&celsius-2=31.5",
	"why":         "/eggs/k3-a/why", "why-ended": "/eggs/k1-a/why", "place": "/places/box-2", "place-week": "/places/oak?span=7d", "place-bare": "/places/lay-pepper",
	"alerts": "/alerts", "alerthistory": "/alerts/history", "rules": "/alerts/rules",
	"tune": "/alerts/rules/too-warm", "tune-tried": "/alerts/rules/too-warm?place=box-2&try=1&limit=2&minutes=20", "entries": "/entries", "about": "/about",
	"form-laying": "/entries/new?kind=laying", "form-plan": "/entries/new?kind=plan&place=tin",
	"form-limits": "/entries/new?kind=limits&place=box-2", "form-probe": "/entries/new?kind=probe&probe=w1-28-04d4",
	"form-place": "/entries/new?kind=place&place=box-3", "form-sexed": "/entries/new?kind=sexed&egg=k1-a",
	"wall": "/wall", "tokens": "/settings/tokens",
	"form-sexed-mixed": "/entries/new?kind=sexed&clutch=k1",
	"today":            "/today", "season": "/season", "roundstart": "/round", "round": "/round?day=2026-06-14", "settings": "/settings",
	"help-words": "/help/words", "help-belly": "/help/belly", "slot": "/slots/pepper", "place-shelves": "/places/oak?target=32",
}

func TestPagesLookAsTheyDid(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		for name, path := range pages {
			w := s.ask("GET", path, "")
			if w.Code != http.StatusOK {
				t.Errorf("%s answers %d", path, w.Code)
			}
			golden(t, name, w.Body.String())
		}
	})
}

func TestPagesInFahrenheitSayNoCelsius(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		s.snap.Alerts = nil // their texts are written by the rules
		for name, path := range pages {
			if name == "rules" || name == "season" || name == "help-belly" || name == "settings" {
				continue // reasons are told in °C, and both units are offered
			}
			page := s.ask("GET", path, "", "Cookie", "clutchd_units=F").Body.String()
			body, _, _ := strings.Cut(page, "<footer>")
			if strings.Contains(body, "°C") {
				t.Errorf("%s tells °C to a visitor who chose °F", path)
			}
		}
		if w := s.ask("GET", "/", "", "Cookie", "clutchd_units=F"); !strings.Contains(w.Body.String(), ">92.1</b><small>°F") {
			t.Error("the room does not tell 33.4 °C as 92.1 °F")
		}
	})
}

// Nothing inline: the content policy would drop it without a word.
func TestPagesHoldNothingThatThePolicyDrops(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		inline := regexp.MustCompile(`(?i)\sstyle=|\son[a-z]+=|<style|<script>|<script [^>]*>[^<]|javascript:|//[a-z]+\.[a-z]`)
		for _, path := range pages {
			if found := inline.FindString(s.ask("GET", path, "").Body.String()); found != "" {
				t.Errorf("%s holds %q", path, found)
			}
		}
	})
}

func TestPagesTellWhenTheirNumbersAreOld(t *testing.T) {
	for _, c := range []struct {
		sentence string
		age      time.Duration
		change   func(*monitor.Snapshot)
		says     string
		silent   bool
	}{
		{sentence: "a fresh tick needs no banner", says: "The watch has stopped.", silent: true},
		{sentence: "a tick older than a minute does", age: 3 * time.Minute, says: "The last round finished <span data-live=\"late\">3 min</span> ago"},
		{sentence: "a clock that was never set says nothing of how old a tick is", change: func(s *monitor.Snapshot) {
			s.Trusted, s.Finished, s.Time = false, noon, time.Unix(90, 0)
		}, says: "The watch has stopped.", silent: true},
		{sentence: "nor does it hide that the watch stopped", age: 3 * time.Minute, change: func(s *monitor.Snapshot) {
			s.Trusted, s.Finished, s.Time = false, noon, time.Unix(90, 0)
		}, says: "The watch has stopped."},
		{sentence: "a store that cannot be written is told", change: func(s *monitor.Snapshot) { s.StoreFault = "no space left" }, says: "no space left"},
		{sentence: "an untrusted clock is told and can be set", change: func(s *monitor.Snapshot) { s.Trusted = false }, says: `action="/clock"`},
		{sentence: "before the first tick nothing is told as true", change: func(s *monitor.Snapshot) { s.Tick = 0 }, says: "The first round is not finished"},
		{sentence: "an empty room says how to begin", change: func(s *monitor.Snapshot) {
			s.Places, s.Probes, s.Clutches, s.Alerts = nil, nil, nil, nil
		}, says: "Nothing is set up yet"},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				if c.change != nil {
					c.change(s.snap)
				}
				time.Sleep(c.age)
				page := s.ask("GET", "/", "").Body.String()
				page = regexp.MustCompile(`(?s)<div[^>]* hidden>.*?</div>`).ReplaceAllString(page, "")
				if strings.Contains(page, c.says) == c.silent {
					t.Errorf("page says %q: %v\n%s", c.says, c.silent, page)
				}
			})
		})
	}
}

func TestStaleValueIsNeverToldAsNow(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		for _, path := range []string{"/", "/places/pepper", "/api/room"} {
			if page := s.ask("GET", path, "").Body.String(); strings.Contains(page, "29.6") {
				t.Errorf("%s tells a 41 min old value", path)
			}
		}
	})
}

func TestWhatIsNotThereIsSaidSo(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		for _, path := range []string{"/clutches/none", "/places/none", "/entries/new?kind=none", "/static/none", "/none"} {
			if w := s.ask("GET", path, ""); w.Code != http.StatusNotFound {
				t.Errorf("%s answers %d, want 404", path, w.Code)
			}
		}
	})
}
