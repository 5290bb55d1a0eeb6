package web_test

import (
	"encoding/json"
	"strings"
	"testing"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// What a clutch's page says of the sexes of its hatchlings, so many days
// after the first of them hatched.
func TestClutchPageTellsTheSexes(t *testing.T) {
	const (
		seen  = incubation.ByAnatomy
		label = incubation.ByTemperature
	)
	egg := func(id, sex string, how incubation.SexedHow) book.SexedData {
		return book.SexedData{Egg: id, Sex: sex, How: how}
	}
	const ask, part = "look at the sex now</span> Two to four months old.", "sexed in part"
	const form = `href="/entries/new?kind=sexed&amp;egg=k2-a&amp;back=/clutches/k2">`
	const offer = `href="/entries/new?kind=sexed&amp;clutch=k2&amp;back=/clutches/k2">`
	for _, r := range []struct {
		sentence string
		after    float64 // days from the hatch to the page
		written  []book.SexedData
		has, not []string
	}{
		{
			"young animals are not asked about", 30, nil,
			[]string{"<p>Not sexed.</p>", form + "Sexed<", offer},
			[]string{ask, part},
		},
		{"old enough, both are asked about", 61, nil, []string{ask}, []string{part}},
		{"after four months nobody asks", 121, nil, []string{"<p>Not sexed.</p>"}, []string{ask, part}},
		{
			"one of two sexed: that is warned of", 80,
			[]book.SexedData{egg("k2-a", "male", seen)},
			[]string{"<p>A male: looked at 23 Aug, 70 days old.</p>", form + "Sexed again<", ask, part, "1 of 2 hatchlings, usually the easy ones"},
			nil,
		},
		{
			"both sexed", 80,
			[]book.SexedData{egg("k2-a", "male", seen), egg("k2-b", "female", seen)},
			[]string{"A male: looked at 23 Aug", "A female: looked at 23 Aug"},
			[]string{ask, part, offer, "Not sexed"},
		},
		{
			"a label is told as one, and the animal still asked about", 80,
			[]book.SexedData{egg("k2-a", "female", label), egg("k2-b", "female", label)},
			[]string{"<p>Labelled female by temperature: not looked at, so nothing is learned from it.</p>", form + "Sexed<", ask},
			[]string{part, "A female"},
		},
		{
			"both counted, their eggs not known", 80,
			[]book.SexedData{{Clutch: "k2", Males: 1, Females: 1, How: seen}},
			[]string{"One male and one female: looked at 23 Aug. Which egg each came from is not known.", "<p>Among those counted above.</p>"},
			[]string{ask, part, "Not sexed"},
		},
		{
			"one of two counted", 80,
			[]book.SexedData{{Clutch: "k2", Females: 1, How: seen}},
			[]string{"One female: looked at 23 Aug.", "<p>Perhaps among those counted above.</p>", ask, part},
			nil,
		},
		{
			"labels counted", 80,
			[]book.SexedData{{Clutch: "k2", Females: 2, How: label}},
			[]string{"Labelled by temperature: two females. Not looked at, so nothing is learned from it.", ask},
			[]string{part},
		},
	} {
		t.Run(r.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := open(t)
				s.tell(t, 0, book.KindHatch, book.HatchData{Egg: "k2-a"})
				s.tell(t, 0, book.KindHatch, book.HatchData{Egg: "k2-b"})
				for _, d := range r.written {
					s.tell(t, 70, book.KindSexed, d)
				}
				s.snap.Time = days(r.after)
				page := s.ask("GET", "/clutches/k2", "").Body.String()
				for _, says := range r.has {
					if !strings.Contains(page, says) {
						t.Errorf("the page lacks %q", says)
					}
				}
				for _, says := range r.not {
					if strings.Contains(page, says) {
						t.Errorf("the page holds %q", says)
					}
				}
				_, list, _ := strings.Cut(s.ask("GET", "/clutches", "").Body.String(), `href="/clutches/k2"`)
				line, _, _ := strings.Cut(list, "</a>")
				if got := strings.Contains(line, "look at the sex now"); got != strings.Contains(page, ask) {
					t.Errorf("the list asks: %v, unlike the clutch's page", got)
				}
			})
		})
	}
}

// tell writes an entry so many days after noon, and shows the room with it.
func (s *site) tell(t *testing.T, after float64, kind book.Kind, data any) {
	t.Helper()
	text, err := json.Marshal(data)
	if err != nil {
		t.Fatal(err)
	}
	e := book.Entry{At: days(after), Made: days(after), Kind: kind, Data: text}
	if err := book.Check(s.snap.Book, e); err != nil {
		t.Fatal(err)
	}
	s.snap.Book = s.snap.Book.With(e)
	s.snap.Clutches = clutches(s.snap.Book)
}

// A page that is open shows a sexing that was written down elsewhere.
func TestASexingBringsAnOpenPageUpToDate(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		stamp := func() string {
			_, rest, _ := strings.Cut(s.ask("GET", "/clutches/k1", "").Body.String(), `data-structure="`)
			stamp, _, _ := strings.Cut(rest, `"`)
			return stamp
		}
		before := stamp()
		s.tell(t, 60, book.KindSexed, book.SexedData{Clutch: "k1", Males: 1, How: incubation.ByAnatomy})
		counted := stamp()
		s.tell(t, 61, book.KindSexed, book.SexedData{Clutch: "k1", Females: 1, How: incubation.ByAnatomy})
		if again := stamp(); before == counted || counted == again || len(again) < 8 {
			t.Errorf("the page's stamps are %s, %s and %s: each is to be another", before, counted, again)
		}
	})
}
