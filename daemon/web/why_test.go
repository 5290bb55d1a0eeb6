package web_test

import (
	"errors"
	"html"
	"math"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/daemon/web"
	"clutchd/incubation"
	"clutchd/incubation/species"
)

// estimated are the words of the invented room's estimates.
func estimated(snap *monitor.Snapshot) []string {
	var out []string
	for _, c := range snap.Clutches {
		for _, e := range c.Eggs {
			if e.Estimate != nil {
				out = append(out, e.Estimate.Sex.Words)
			}
		}
	}
	return out
}

// No page shows an estimate without saying what it is worth.
func TestEveryEstimateComesWithTheCaution(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		shown := 0
		all := map[string]string{"clutch k2": "/clutches/k2", "clutch k4": "/clutches/k4", "box 1": "/places/box-1"}
		for name, path := range pages {
			all[name] = path
		}
		for name, path := range all {
			page := html.UnescapeString(s.ask("GET", path, "").Body.String())
			for _, words := range estimated(s.snap) {
				if !strings.Contains(strings.ToLower(page), strings.ToLower(words)) {
					continue
				}
				shown++
				if !strings.Contains(page, incubation.Caution) {
					t.Errorf("%s says %q without the caution", name, words)
				}
				break
			}
		}
		// Room, clutches, four clutches, a box or two, what two eggs rest on.
		if shown < 9 {
			t.Errorf("only %d pages show an estimate: this test no longer sees them", shown)
		}
	})
}

func TestWhySaysWhatWouldNarrowIt(t *testing.T) {
	for _, c := range []struct {
		sentence, path string
		change         func(*site, *web.Options)
		want, not      []string
	}{
		{
			"the best first, with what to do", "/eggs/k3-a/why", nil,
			[]string{
				"Lay a probe in the substrate beside the eggs (it helps from now on): measured there all along, male 58–90 % would be 70–90 %.",
				"Measure on: this part narrows by itself.", "the literature does not know",
				"sht31-1-44", "in Box 2, bottom: in the box's air", "w1-28-04a1", "right to within 0.5 °C, as its maker states",
			},
			[]string{"Calibrate the probe", "Fill the gaps"},
		},
		{
			"a probe beside the egg cannot lie better", "/eggs/k2-a/why", nil,
			[]string{"in the substrate, beside the eggs"},
			[]string{"Lay a probe"},
		},
		{
			"an ended egg has nothing left to narrow", "/eggs/k1-a/why", nil,
			[]string{"Measured by", "What is assumed"},
			[]string{"What would narrow it"},
		},
		{
			"a refusal is told", "/eggs/k3-a/why",
			func(_ *site, o *web.Options) {
				o.Doubts = refusing{&monitor.Refusal{Text: "its record is still being read: ask again in a moment"}}
			},
			[]string{"Its record is still being read: ask again in a moment."},
			[]string{"Lay a probe", "Nothing you could measure"},
		},
		{
			"nothing that would help is said to help", "/eggs/k3-a/why",
			func(_ *site, o *web.Options) { o.Doubts = refusing{} },
			[]string{"There is no estimate to narrow yet."},
			[]string{"Lay a probe"},
		},
		{
			"nobody to ask", "/eggs/k3-a/why", func(_ *site, o *web.Options) { o.Doubts, o.History = nil, nil },
			[]string{"Measured by"},
			[]string{"What would narrow it", ">Gaps<"},
		},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t, func(o *web.Options) {
					if c.change != nil {
						c.change(nil, o)
					}
				})
				w := s.ask("GET", c.path, "")
				page := strings.ReplaceAll(html.UnescapeString(w.Body.String()), "\u00a0", " ")
				if w.Code != http.StatusOK {
					t.Fatalf("answers %d", w.Code)
				}
				for _, want := range c.want {
					if !strings.Contains(page, want) {
						t.Errorf("does not say %q", want)
					}
				}
				for _, not := range c.not {
					if strings.Contains(page, not) {
						t.Errorf("says %q", not)
					}
				}
			})
		})
	}
}

type refusing struct{ err error }

func (r refusing) Narrowings(string) ([]incubation.Narrowing, error) { return nil, r.err }

func TestWhyRefuses(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		for path, code := range map[string]int{
			"/eggs/none/why": 404, "/api/eggs/none/narrowings": 404, "/api/eggs/k1-a/narrowings": 422,
		} {
			if w := s.ask("GET", path, ""); w.Code != code {
				t.Errorf("%s answers %d, want %d", path, w.Code, code)
			}
		}
		broken := open(t, func(o *web.Options) { o.Doubts = refusing{errors.New("worn out")} })
		if w := broken.ask("GET", "/eggs/k3-a/why", ""); w.Code != 500 {
			t.Errorf("a fault answers %d", w.Code)
		}
	})
}

// Every number that estimates are made under is on the page, with what it is
// worth and where it is from.
func TestWhyListsEveryAssumption(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		page := html.UnescapeString(open(t).ask("GET", "/eggs/k3-a/why", "").Body.String())
		figures := species.Leopard().Figures()
		if len(figures) < 23 {
			t.Fatalf("only %d figures", len(figures))
		}
		for _, f := range figures {
			source := f.Cite(plainCelsius, "°C")
			if _, of, ok := strings.Cut(source, "fit/leopard-gecko.json: "); ok {
				source = of // how it was fitted is said once
			}
			source = strings.TrimPrefix(source, f.Mark.Says()+": ") // stands before it
			source = strings.NewReplacer("bend_celsius", "“Development slows its rise from”",
				"anchor_days", "“Time to hatching there”").Replace(source)
			if !strings.Contains(page, source) {
				t.Errorf("%s is not on the page: %q", f.Name, source)
			}
		}
		for _, name := range []string{"_celsius", "_days", "_kelvin", "package fit", "Limits:"} {
			if strings.Contains(page, name) {
				t.Errorf("the page says %q, a name of the file", name)
			}
		}
		for _, worth := range []string{">published<", ">derived<", ">a judgement<", ">common practice, no source<"} {
			if !strings.Contains(page, worth) {
				t.Errorf("nothing is marked %s", worth)
			}
		}
	})
}

func TestClutchTellsTheWindowByWhatTheBookSays(t *testing.T) {
	for _, c := range []struct {
		sentence string
		change   func(*monitor.Snapshot)
		want     []string
		not      []string
	}{
		{
			"the chance that it has hatched already is told when it matters", func(*monitor.Snapshot) {},
			[]string{"12 % of such eggs have hatched by now."},
			[]string{"overdue", "Pipped by"},
		},
		{
			"a small one is not", func(s *monitor.Snapshot) { s.Clutches[2].Eggs[0].Hatch.Due = 0.04; s.Clutches[2].Eggs[1].Hatch.Due = 0 },
			nil,
			[]string{"of such eggs"},
		},
		{
			"all of the ensemble is not all eggs", func(s *monitor.Snapshot) { s.Clutches[2].Eggs[0].Hatch.Due = 1 },
			[]string{"over 99 % of such eggs"},
			[]string{"100 % of such"},
		},
		{
			"a candling near the window is what it goes by",
			func(s *monitor.Snapshot) {
				s.Book.Eggs["k2-a"].AliveAt = s.Clutches[2].Eggs[0].Hatch.Earliest.Add(-time.Hour)
			},
			[]string{"It was alive and not hatched on 13 Jun: the window counts from there."},
			nil,
		},
		{
			"a pipped egg says so", func(s *monitor.Snapshot) {
				s.Book.Eggs["k2-a"].PippedAt = noon.Add(-time.Hour)
				s.Clutches[2].Eggs[0].State = incubation.Pipped
			},
			[]string{"Pipped by 14 Jun: the window counts from there."},
			nil,
		},
		{
			"past the window: look, wait, never cut",
			func(s *monitor.Snapshot) { s.Clutches[2].Eggs[0].Hatch.Latest = noon.Add(-time.Hour) },
			[]string{
				"overdue</span> It was expected by 14 Jun.", "Never cut it open, never pull", "cool light", "without turning",
				"Common practice, no source.",
			},
			nil,
		},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				c.change(s.snap)
				page := strings.ReplaceAll(html.UnescapeString(s.ask("GET", "/clutches/k2", "").Body.String()), "\u00a0", " ")
				for _, want := range c.want {
					if !strings.Contains(page, want) {
						t.Errorf("does not say %q", want)
					}
				}
				for _, not := range c.not {
					if strings.Contains(page, not) {
						t.Errorf("says %q", not)
					}
				}
			})
		})
	}
}

// Time outside the limits is told with what is published of them, in the
// visitor's unit, and never as a chance of survival.
func TestClutchTellsHarm(t *testing.T) {
	for unit, want := range map[string][]string{
		"C": {
			"2 h 30 min above 35.0 °C in all", "At most 1 h 50 min at a stretch; warmest 36.4 °C", "96 degree-minutes",
			"lethal constant maximum just above 35 °C (Viets et al. 1993", "at 44 °C, and at 42 °C",
			"40 min below 24.0 °C in all", "This limit is a judgement: 26 °C is the lowest",
			incubation.Unpriced,
			"15 Jun, about 12:00; later a change of temperature may no longer move the odds by ten points",
		},
		"F": {
			"2 h 30 min above 95.0 °F in all", "warmest 97.5 °F", "173 degree-minutes",
			"lethal constant maximum just above 95 °F", "78.8 °F is the lowest", incubation.Unpriced,
		},
	} {
		t.Run(unit, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				page := open(t).ask("GET", "/clutches/k3", "", "Cookie", "clutchd_units="+unit).Body.String()
				page = strings.ReplaceAll(html.UnescapeString(page), "\u00a0", " ")
				for _, text := range want {
					if !strings.Contains(page, text) {
						t.Errorf("does not say %q", text)
					}
				}
				if strings.Contains(page, "surviv") {
					t.Error("speaks of survival")
				}
			})
		})
	}
}

func plainCelsius(c incubation.Celsius) string {
	return strconv.FormatFloat(math.Round(float64(c)*10)/10, 'f', -1, 64)
}
