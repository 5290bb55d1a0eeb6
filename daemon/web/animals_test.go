package web_test

import (
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"

	"github.com/google/go-cmp/cmp"
)

// animalPages are the pages of the herd, by the name of their golden file.
var animalPages = map[string]string{
	"herd": "/females", "herd-stage": "/females?sort=stage", "herd-males": "/females?show=males",
	"herd-young": "/females?show=young", "herd-retired": "/females?show=retired",
	"animal": "/females/f-pepper", "animal-male": "/animals/m-flint", "animal-young": "/animals/k0",
	"form-check": "/entries/new?kind=checked&animal=f-saffron&back=/females/f-saffron",
	"form-pair":  "/entries/new?kind=paired&female=f-pepper", "form-weigh": "/entries/new?kind=weighed&animal=f-pepper",
	"form-animal":  "/entries/new?kind=animal&animal=f-pepper",
	"form-correct": "/entries/new?replaces=69&back=/females/f-pepper",
}

func TestAnimalPagesLookAsTheyDid(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := openHerd(t)
		inline := regexp.MustCompile(`(?i)\sstyle=|\son[a-z]+=|<style|<script>|javascript:|//[a-z]+\.[a-z]`)
		for name, path := range animalPages {
			w := s.ask("GET", path, "")
			if w.Code != http.StatusOK {
				t.Fatalf("%s answers %d", path, w.Code)
			}
			golden(t, name, w.Body.String())
			if found := inline.FindString(w.Body.String()); found != "" {
				t.Errorf("%s holds %q, which the policy drops", path, found)
			}
		}
	})
}

func TestAnimalPagesFitAPhone(t *testing.T) {
	b := browse(t)
	s := openHerd(t)
	name := "Wilhelmine-Charlotte of the lower shelf, daughter of Ottilie"
	s.tell(t, 0, book.KindAnimal, book.AnimalData{Animal: "f-long", Name: name, Sex: incubation.Female, Dam: "f-pepper"})
	s.tell(t, 0, book.KindWeighed, book.WeighedData{Animal: "f-long", Grams: 60.25})
	pages := map[string]string{"animal-long": "/females/f-long", "check-long": "/entries/new?kind=checked&animal=f-long"}
	for name, path := range animalPages {
		pages[name] = path
	}
	server := httptest.NewServer(s.handler)
	t.Cleanup(func() { server.CloseClientConnections(); server.Close() })
	b.fits(server.URL, pages)
}

func TestEmptyHerdSaysHowToBegin(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		s.snap.Book, s.snap.Clutches = book.Fold(nil), nil
		for show, says := range map[string]string{
			"": "No female is in the book yet. Write down the first", "?show=males": "No male is in the book yet",
			"?show=young": "becomes an animal with one tap", "?show=retired": "None has left or rests",
		} {
			page := s.ask("GET", "/females"+show, "").Body.String()
			if !strings.Contains(page, says) || !strings.Contains(page, "/entries/new?kind=animal") {
				t.Errorf("/females%s does not say %q and how to add one", show, says)
			}
		}
		for path, says := range map[string]string{
			"/entries/new?kind=checked": `<a href="/entries/new?kind=animal&amp;sex=female">add a female</a>`,
			"/entries/new?kind=laying":  `<a href="/entries/new?kind=animal&amp;sex=female">add a female</a>`,
			"/entries/new?kind=weighed": `<a href="/entries/new?kind=animal">add an animal</a>`,
			"/clutches":                 "write it down with “Eggs found”",
			"/wall":                     `<a href="/clutches">Clutches</a>`,
		} {
			if page := s.ask("GET", path, "").Body.String(); !strings.Contains(page, says) {
				t.Errorf("%s of an empty book does not say %q", path, says)
			}
		}
	})
}

var names = regexp.MustCompile(`<span class="name">([^<]*)<`)

// listed are the names on a list, in its order.
func listed(page string) string {
	_, body, _ := strings.Cut(page, `class="rack"`)
	var out []string
	for _, m := range names.FindAllStringSubmatch(body, -1) {
		out = append(out, strings.TrimSpace(m[1]))
	}
	return strings.Join(out, ", ")
}

func TestHerdIsOrderedAndFound(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := openHerd(t)
		for _, c := range []struct{ sentence, query, want string }{
			{"in the racks' order", "", "Saffron, Juniper, Pepper"},
			{"by name", "?sort=name", "Juniper, Pepper, Saffron"},
			{"by stage, the nearest to a laying first, who has just laid last", "?sort=stage", "Saffron, Juniper, Pepper"},
			{"who was not looked at for longest first", "?sort=seen", "Juniper, Pepper, Saffron"},
			{"an order that there is not is the racks'", "?sort=colour", "Saffron, Juniper, Pepper"},
			{"found by a part of the name, in either case", "?find=PEP", "Pepper"},
			{"found by the rack", "?find=north", "Saffron, Juniper"},
			{"none found", "?find=zebra", ""},
			{"males, who is in no rack last", "?show=males", "Oak, Flint"},
			{"young", "?show=young", "No. 17"},
		} {
			page := s.ask("GET", "/females"+c.query, "").Body.String()
			if got := listed(page); got != c.want {
				t.Errorf("%s: %s, want %s", c.sentence, got, c.want)
			}
		}
		if w := s.ask("GET", "/females?show=snakes", ""); w.Code != http.StatusNotFound {
			t.Errorf("a list that there is not answers %d", w.Code)
		}
	})
}

func TestAnAnimalHasOneAddress(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := openHerd(t)
		for path, to := range map[string]string{
			"/animals/f-pepper?written=3": "/females/f-pepper?written=3", "/females/m-oak": "/animals/m-oak",
			"/females/k0": "/animals/k0",
		} {
			if w := s.ask("GET", path, ""); w.Code != http.StatusSeeOther || w.Header().Get("Location") != to {
				t.Errorf("%s answers %d, %s", path, w.Code, w.Header().Get("Location"))
			}
		}
		for _, path := range []string{"/females/none", "/animals/none", "/entries/new?replaces=9999", "/photos/none.jpg"} {
			if w := s.ask("GET", path, ""); w.Code != http.StatusNotFound {
				t.Errorf("%s answers %d, want 404", path, w.Code)
			}
		}
	})
}

func TestAnimalFormsWriteTheBook(t *testing.T) {
	for _, c := range []struct {
		sentence string
		form     url.Values
		data     string
	}{
		{
			"a check, one answer", fill("kind", "checked", "animal", "f-pepper", "stage", "quiet", "sides", ""),
			`{"animal":"f-pepper","stage":"quiet"}`,
		},
		{
			"a check with all that can be tapped", fill("kind", "checked", "animal", "f-pepper", "stage", "follicular/large",
				"sides", "both", "sign-thin", "yes", "sign-not-eating", "yes", "note", "pale"),
			`{"animal":"f-pepper","stage":"follicular","sides":"both","size":"large","signs":["not-eating","thin"],"note":"pale"}`,
		},
		{
			"a pairing", fill("kind", "paired", "female", "f-saffron", "judged", "f-saffron", "male", "m-flint", "outcome", "refused"),
			`{"female":"f-saffron","male":"m-flint","outcome":"refused"}`,
		},
		{
			"a pairing over days", fill("kind", "paired", "female", "f-saffron", "judged", "f-saffron", "male", "m-flint", "outcome", "unseen",
				"at", "2026-06-11T20:00", "until", "2026-06-13T08:00"),
			`{"female":"f-saffron","male":"m-flint","outcome":"unseen","until":"2026-06-13T06:00:00Z"}`,
		},
		{"a weight, with a comma", fill("kind", "weighed", "animal", "m-oak", "grams", "71,5"), `{"animal":"m-oak","grams":71.5}`},
		{"a box weighed", fill("kind", "weighed", "box", "box-1", "grams", "412"), `{"box":"box-1","grams":412}`},
		{
			"a treatment that goes on to the end of a day", fill("kind", "treated", "animal", "m-oak", "what", "drops", "until", "2026-06-20"),
			`{"animal":"m-oak","what":"drops","until":"2026-06-20T21:59:00Z"}`,
		},
		{
			"kept apart", fill("kind", "quarantine", "animal", "m-oak", "until", "2026-08-01", "why", "mites"),
			`{"animal":"m-oak","until":"2026-08-01T21:59:00Z","why":"mites"}`,
		},
		{"no longer apart", fill("kind", "quarantine", "animal", "m-flint", "over", "yes"), `{"animal":"m-flint"}`},
		{"moved", fill("kind", "housed", "animal", "m-flint", "enclosure", "tub-4"), `{"animal":"m-flint","enclosure":"tub-4"}`},
		{"taken out", fill("kind", "housed", "animal", "m-oak", "enclosure", "."), `{"animal":"m-oak","enclosure":""}`},
		{"sold", fill("kind", "retired", "animal", "m-oak", "why", "sold", "note", "to a friend"), `{"animal":"m-oak","why":"sold","note":"to a friend"}`},
		{
			"a newcomer, its birth known to the month", fill("kind", "animal", "name", "Ember 2", "sex", "female", "hatched", "5/2024", "age_class", ""),
			`{"animal":"ember-2","name":"Ember 2","sex":"female","hatched":"2024-05"}`,
		},
		{
			"a day as it is said here", fill("kind", "animal", "name", "Ash", "hatched", "3.2.2024"),
			`{"animal":"ash","name":"Ash","hatched":"2024-02-03"}`,
		},
		{
			"eggs found now, looked a day before", fill("kind", "laying", "female", "f-saffron", "ago", "24", "from", "", "to", "", "eggs", "1",
				"place", "", "clutch", "k9"),
			`{"clutch":"k9","female":"f-saffron","from":"2026-06-13T10:32:10Z","to":"2026-06-14T10:32:10Z","eggs":[{"egg":"k9-a","mark":"A"}]}`,
		},
		{"veins in the light", fill("kind", "candle", "egg", "k3-a", "seen", "alive/veins"), `{"egg":"k3-a","seen":"alive","shows":"veins"}`},
		{"a doubt", fill("kind", "candle", "egg", "k3-a", "seen", "unsure"), `{"egg":"k3-a","seen":"unsure"}`},
		{
			"an egg looked at", fill("kind", "looked", "about", "egg:k3-a", "dents", "slight", "mould", "yes", "note", "far side"),
			`{"egg":"k3-a","dents":"slight","mould":true,"note":"far side"}`,
		},
		{"a box aired", fill("kind", "looked", "about", "box:box-1", "aired", "yes"), `{"box":"box-1","aired":true}`},
		{"a hatchling's first shed", fill("kind", "milestone", "egg", "k1-a", "what", "shed"), `{"egg":"k1-a","what":"shed"}`},
		{"hatched and weighed", fill("kind", "hatch", "egg", "k2-a", "sex", "", "grams", "3,1"), `{"egg":"k2-a","grams":3.1}`},
		{
			"what more is known of one: what the book has is left out", fill("kind", "animal", "animal", "f-pepper", "name", "Pepper", "sex", "female",
				"hatched", "2023-05", "dam", "f-juniper", "sire", "", "note", "Dark belly: use the lamp."),
			`{"animal":"f-pepper","dam":"f-juniper"}`,
		},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := openHerd(t)
				w := s.ask("POST", "/entries", c.form.Encode())
				if w.Code != http.StatusSeeOther || len(s.door.made) != 1 {
					t.Fatalf("answer %d, %d changes\n%s", w.Code, len(s.door.made), errorsIn(w.Body.String()))
				}
				if diff := cmp.Diff(c.data, string(s.door.made[0].Entry.Data)); diff != "" {
					t.Errorf("data (-want +got):\n%s", diff)
				}
			})
		})
	}
}

func TestAnimalFormsSayWhatIsWrong(t *testing.T) {
	for _, c := range []struct {
		sentence string
		form     url.Values
		says     []string
	}{
		{
			"no stage", fill("kind", "checked", "animal", "f-pepper", "sides", "one", "sign-weak", "yes"),
			[]string{"What shows through the skin: choose one here.", `value="one" checked`, `name="sign-weak" value="yes" checked`},
		},
		{
			"eggs, and nobody says when one last looked", fill("kind", "laying", "female", "f-saffron", "ago", "", "from", "", "eggs", "2", "clutch", "k9"),
			[]string{"a date and time is wanted here, or a tap above"},
		},
		{"a male's belly", fill("kind", "checked", "animal", "m-oak", "stage", "quiet"), []string{"Oak is a male"}},
		{"no weight", fill("kind", "weighed", "animal", "m-oak", "grams", ""), []string{"a weight is wanted here"}},
		{"kilograms", fill("kind", "weighed", "animal", "m-oak", "grams", "0.07", "sure", "x"), []string{"grams 0.07 is outside 1 to 250", `value="0.07"`}},
		{"a day that is none", fill("kind", "treated", "animal", "m-oak", "what", "drops", "until", "soon"), []string{"is not a day", `value="soon"`, `value="drops"`}},
		{"a birth nobody understands", fill("kind", "animal", "name", "Ash", "hatched", "last spring"), []string{"is no year (2023), month", `value="last spring"`}},
		{"a name of which no id can be made", fill("kind", "animal", "name", "Жанна"), []string{"no id can be made of this name", `value="Жанна"`}},
		{"her own mother", fill("kind", "animal", "animal", "f-pepper", "dam", "f-pepper"), []string{"not its own dam"}},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			atNoon(t, func(t *testing.T) {
				s := openHerd(t)
				w := s.ask("POST", "/entries", c.form.Encode())
				page := html.UnescapeString(w.Body.String())
				if w.Code != http.StatusUnprocessableEntity || len(s.door.made) > 0 {
					t.Errorf("answer %d, %d changes", w.Code, len(s.door.made))
				}
				for _, says := range c.says {
					if !strings.Contains(page, says) {
						t.Errorf("the form lacks %q:\n%s", says, errorsIn(page))
					}
				}
			})
		})
	}
}

// formOn gives the fields of the form that posts to the book and holds a word.
func formOn(t *testing.T, page, word string) url.Values {
	t.Helper()
	for _, form := range regexp.MustCompile(`(?s)<form method="post" action="/entries".*?</form>`).FindAllString(page, -1) {
		if !strings.Contains(form, word) {
			continue
		}
		out := url.Values{}
		for _, input := range regexp.MustCompile(`<input[^>]*>`).FindAllString(form, -1) {
			get := func(name string) string {
				m := regexp.MustCompile(name + `="([^"]*)"`).FindStringSubmatch(input)
				if m == nil {
					return ""
				}
				return html.UnescapeString(m[1])
			}
			if kind := get("type"); (kind == "radio" || kind == "checkbox") && !strings.Contains(input, " checked") {
				continue
			}
			out.Set(get(" name"), get("value"))
		}
		return out
	}
	t.Fatalf("no form on the page holds %q", word)
	return nil
}

// A usual check is three taps: Check, what shows, Write it down. The same as
// last time is one.
func TestCheckTakesThreeTaps(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := openHerd(t)
		page := s.ask("GET", "/females/f-saffron", "").Body.String()
		check := regexp.MustCompile(`<a class="first" href="([^"]*)">Check</a>`).FindStringSubmatch(page)
		if check == nil {
			t.Fatal("the page offers no check")
		}
		form := formOn(t, s.ask("GET", html.UnescapeString(check[1]), "").Body.String(), `class="entry near"`)
		form.Set("stage", "follicular/large")
		w := s.ask("POST", "/entries", form.Encode())
		if w.Code != http.StatusSeeOther || !strings.HasPrefix(w.Header().Get("Location"), "/females/f-saffron?written=") {
			t.Fatalf("answer %d, %s\n%s", w.Code, w.Header().Get("Location"), errorsIn(w.Body.String()))
		}
		page = s.ask("GET", w.Header().Get("Location"), "").Body.String()
		if !strings.Contains(page, "Written down: Saffron: follicular, large.") {
			t.Error("the page does not say what was written down")
		}
		same := formOn(t, page, "Same as last time")
		if w := s.ask("POST", "/entries", same.Encode()); w.Code != http.StatusSeeOther {
			t.Fatalf("the same as last time answers %d", w.Code)
		}
		c := s.snap.Book.Animals["f-saffron"].Checks
		last, before := c[len(c)-1], c[len(c)-2]
		last.Seq, last.At, before.Seq, before.At = 0, time.Time{}, 0, time.Time{}
		if diff := cmp.Diff(before, last); diff != "" || len(c) != 5 {
			t.Errorf("%d checks; the last two differ:\n%s", len(c), diff)
		}
	})
}

func TestSameAsLastTimeIsNotAlwaysOffered(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := openHerd(t)
		for animal, why := range map[string]string{"f-pepper": "who laid since", "f-juniper": "who was never looked at"} {
			if page := s.ask("GET", "/females/"+animal, "").Body.String(); strings.Contains(page, "Same as last time") {
				t.Errorf("it is offered of one %s", why)
			}
		}
		s.tell(t, 0, book.KindChecked, book.CheckedData{Animal: "f-saffron", Stage: incubation.Unsure})
		if page := s.ask("GET", "/females/f-saffron", "").Body.String(); strings.Contains(page, "Same as last time") {
			t.Error("a doubt is offered again")
		}
	})
}

func TestUndoIsOneTap(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := openHerd(t)
		w := s.ask("POST", "/entries", fill("kind", "weighed", "animal", "m-oak", "grams", "70", "return", "/animals/m-oak").Encode())
		page := s.ask("GET", w.Header().Get("Location"), "").Body.String()
		undo := formOn(t, page, ">Undo<")
		one, two := s.ask("POST", "/entries", undo.Encode()), s.ask("POST", "/entries", undo.Encode())
		if one.Code != http.StatusSeeOther || two.Code != http.StatusSeeOther || len(s.door.made) != 2 {
			t.Fatalf("undone twice: %d and %d, %d changes", one.Code, two.Code, len(s.door.made))
		}
		if n := len(s.snap.Book.Animals["m-oak"].Weights); n != 1 {
			t.Errorf("%d weights count, want the one before", n)
		}
		page = s.ask("GET", one.Header().Get("Location"), "").Body.String()
		if !strings.Contains(page, "Took back “Oak weighs 70\u00a0g”") || !strings.HasPrefix(one.Header().Get("Location"), "/animals/m-oak?") {
			t.Errorf("after the undo %s says nothing of it", one.Header().Get("Location"))
		}
		if old := s.ask("GET", "/?written=69", "").Body.String(); strings.Contains(old, ">Undo<") || !strings.Contains(old, ">take back<") {
			t.Error("an entry of another day is undone with one tap")
		}
	})
}

func TestCorrectionKeepsTheOldEntry(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := openHerd(t)
		var old book.Entry
		for _, e := range s.snap.Book.Entries {
			if e.Kind == book.KindChecked && strings.Contains(string(e.Data), "digging") {
				old = e
			}
		}
		old.At = old.At.Add(17 * time.Second) // a time that no field of a form holds
		form := formOn(t, s.ask("GET", fmt.Sprintf("/entries/new?replaces=%d&back=/females/f-pepper", old.Seq), "").Body.String(), `class="entry near"`)
		if diff := cmp.Diff("gravid yes 2026-06-05T12:32", form.Get("stage")+" "+form.Get("sign-digging")+" "+form.Get("at")); diff != "" {
			t.Errorf("the form is not filled in:\n%s", diff)
		}
		form.Set("stage", "shelling")
		form.Del("sign-digging")
		w := s.ask("POST", "/entries", form.Encode())
		if w.Code != http.StatusSeeOther {
			t.Fatalf("answer %d\n%s", w.Code, errorsIn(w.Body.String()))
		}
		e := s.door.made[0].Entry
		was := s.snap.Book.Entries
		if e.Replaces != old.Seq || !e.At.Equal(old.At.Add(-17*time.Second)) || string(e.Data) != `{"animal":"f-pepper","stage":"shelling"}` {
			t.Errorf("written: replaces %d at %v: %s (of %d entries)", e.Replaces, e.At, e.Data, len(was))
		}
		for _, path := range []string{"/entries", "/females/f-pepper"} {
			page := s.ask("GET", path, "").Body.String()
			for _, says := range []string{"Corrected: Pepper: gravid, digging", "stands for it: Pepper: shelling", fmt.Sprintf("stands for entry %d", old.Seq)} {
				if !strings.Contains(page, says) {
					t.Errorf("%s does not say %q", path, says)
				}
			}
		}
		if w := s.ask("GET", fmt.Sprintf("/entries/new?replaces=%d", old.Seq), ""); w.Code != http.StatusNotFound {
			t.Errorf("what was corrected can be corrected again: %d", w.Code)
		}
	})
}

// Every kind that has a form of an animal opens filled in, and gives back what
// it shows.
func TestCorrectionGivesBackWhatItShows(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := openHerd(t)
		s.tell(t, 0, book.KindRetired, book.RetiredData{Animal: "m-flint", Why: incubation.Resting, Note: "winter"})
		s.tell(t, 0.01, book.KindRetired, book.RetiredData{Animal: "m-flint", Back: true})
		s.tell(t, 0.01, book.KindQuarantine, book.QuarantineData{Animal: "m-flint", Why: "well"})
		s.tell(t, 0.01, book.KindHoused, book.HousedData{Animal: "m-oak"})
		s.tell(t, 0, book.KindPaired, book.PairedData{
			Female: "f-pepper", Male: "m-oak", Outcome: incubation.Unseen, Until: days(2), Note: "quiet",
		})
		s.tell(t, 0, book.KindCandle, book.CandleData{Egg: "k3-a", Seen: "unsure", Shows: incubation.Dark})
		s.tell(t, 0, book.KindCandle, book.CandleData{Egg: "k3-b", Seen: "alive"})
		s.tell(t, 0, book.KindLooked, book.LookedData{Egg: "k3-a", Dents: incubation.DeepDents, Wet: true})
		s.tell(t, 0, book.KindLooked, book.LookedData{Box: "box-1", Aired: true, Mould: true, Note: "fan"})
		s.tell(t, 0, book.KindMilestone, book.MilestoneData{Egg: "k1-a", What: incubation.FirstMeal})
		seen := map[book.Kind]int{}
		for _, e := range s.snap.Book.Entries {
			w := s.ask("GET", fmt.Sprintf("/entries/new?replaces=%d", e.Seq), "")
			if w.Code != http.StatusOK {
				continue
			}
			page := w.Body.String()
			form := formOn(t, page, `class="entry`)
			for _, m := range regexp.MustCompile(`(?s)<select id="[^"]*" name="([^"]*)".*?</select>`).FindAllStringSubmatch(page, -1) {
				if chosen := regexp.MustCompile(`value="([^"]*)" selected`).FindStringSubmatch(m[0]); chosen != nil {
					form.Set(m[1], chosen[1])
				}
			}
			for _, m := range regexp.MustCompile(`(?s)<textarea[^>]* name="([^"]*)"[^>]*>(.*?)</textarea>`).FindAllStringSubmatch(page, -1) {
				form.Set(m[1], html.UnescapeString(m[2]))
			}
			form.Set("unit", "°C")
			made := len(s.door.made)
			before := s.snap
			w = s.ask("POST", "/entries", form.Encode())
			if w.Code != http.StatusSeeOther || len(s.door.made) != made+1 {
				t.Errorf("entry %d (%s): answer %d\n%s", e.Seq, e.Kind, w.Code, errorsIn(w.Body.String()))
				continue
			}
			got := s.door.made[made].Entry
			if diff := cmp.Diff(string(e.Data), string(got.Data)); diff != "" || got.Replaces != e.Seq {
				t.Errorf("entry %d (%s, -shown +written):\n%s", e.Seq, e.Kind, diff)
			}
			seen[e.Kind]++
			s.snap, s.door.state = before, before.Book
		}
		for _, kind := range []book.Kind{
			book.KindAnimal, book.KindFemale, book.KindHoused, book.KindChecked, book.KindPaired, book.KindWeighed,
			book.KindTreated, book.KindQuarantine, book.KindRetired, book.KindNote, book.KindCandle, book.KindLooked,
			book.KindMilestone, book.KindHatch, book.KindFail, book.KindEgg,
		} {
			if seen[kind] == 0 {
				t.Errorf("no entry of kind %s was opened for correction", kind)
			}
		}
	})
}

func TestTwoPhonesSeeEachOther(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := openHerd(t)
		open := func(animal string) url.Values {
			return formOn(t, s.ask("GET", "/entries/new?kind=checked&animal="+animal, "").Body.String(), `class="entry near"`)
		}
		mine, theirs, other := open("f-pepper"), open("f-pepper"), open("f-saffron")
		theirs.Set("stage", "laid")
		if w := s.ask("POST", "/entries", theirs.Encode()); w.Code != http.StatusSeeOther {
			t.Fatalf("the first answers %d", w.Code)
		}
		other.Set("stage", "quiet")
		if w := s.ask("POST", "/entries", other.Encode()); w.Code != http.StatusSeeOther {
			t.Errorf("a check of another female answers %d", w.Code)
		}
		if w := s.ask("POST", "/entries", theirs.Encode()); w.Code != http.StatusSeeOther || len(s.door.made) != 2 {
			t.Errorf("a second tap answers %d; %d changes", w.Code, len(s.door.made))
		}
		mine.Set("stage", "gravid")
		w := s.ask("POST", "/entries", mine.Encode())
		page := w.Body.String()
		if w.Code != http.StatusUnprocessableEntity || len(s.door.made) != 2 ||
			!strings.Contains(page, "Since this form was opened: Pepper: has laid, 12:32.") || !strings.Contains(page, "Nothing is written down yet") {
			t.Fatalf("the second phone: %d, %d changes\n%s", w.Code, len(s.door.made), page)
		}
		again := formOn(t, page, `class="entry near"`)
		if again.Get("stage") != "gravid" {
			t.Errorf("the form lost its answer: %v", again)
		}
		if w := s.ask("POST", "/entries", again.Encode()); w.Code != http.StatusSeeOther || len(s.door.made) != 3 {
			t.Errorf("written all the same: %d, %d changes", w.Code, len(s.door.made))
		}
	})
}

func TestOddWeightIsAskedAgain(t *testing.T) {
	for _, c := range []struct {
		sentence string
		grams    string
		asked    bool
	}{
		{"as much as before", "72", false},
		{"a quarter less is a clutch laid and a hard week", "54", false},
		{"two figures changed places", "27", true},
		{"another animal on the scale", "95", true},
	} {
		atNoon(t, func(t *testing.T) {
			s := openHerd(t)
			form := formOn(t, s.ask("GET", "/entries/new?kind=weighed&animal=m-oak", "").Body.String(), `class="entry near"`)
			form.Set("grams", c.grams)
			w := s.ask("POST", "/entries", form.Encode())
			if (w.Code == http.StatusUnprocessableEntity) != c.asked {
				t.Fatalf("%s: answer %d", c.sentence, w.Code)
			}
			if !c.asked {
				return
			}
			if page := w.Body.String(); !strings.Contains(page, "Is it the right animal, and the right number?") {
				t.Errorf("%s: the page does not ask", c.sentence)
			}
			again := formOn(t, w.Body.String(), `class="entry near"`)
			other := url.Values{}
			for k, v := range again {
				other[k] = v
			}
			other.Set("grams", "20")
			if w := s.ask("POST", "/entries", other.Encode()); w.Code != http.StatusUnprocessableEntity {
				t.Errorf("%s: another odd weight is taken for the one that was asked about", c.sentence)
			}
			if w := s.ask("POST", "/entries", again.Encode()); w.Code != http.StatusSeeOther {
				t.Errorf("%s: sent again it answers %d", c.sentence, w.Code)
			}
		})
	}
}

func TestPairingIsWarnedOfNotRefused(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := openHerd(t)
		page := s.ask("GET", "/entries/new?kind=paired&female=f-pepper", "").Body.String()
		if !strings.Contains(page, "Flint is in quarantine until") || !strings.Contains(page, "Better not now: Pepper lost 17") {
			t.Error("the form does not say what stands in the way")
		}
		if oak, flint := strings.Index(page, `value="m-oak"`), strings.Index(page, `value="m-flint"`); oak < 0 || flint < oak {
			t.Error("the male that may be tried does not stand first")
		}
		kin := s.ask("GET", "/entries/new?kind=paired&female=k0", "").Body.String()
		if n := strings.Count(strings.ToLower(kin), "parent and child"); n != 1 {
			t.Errorf("that he is her sire is said %d times", n)
		}
		blind := formOn(t, s.ask("GET", "/entries/new?kind=paired&male=m-flint", "").Body.String(), `class="entry near"`)
		blind.Set("female", "f-pepper")
		blind.Set("outcome", "refused")
		w := s.ask("POST", "/entries", blind.Encode())
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "quarantine") {
			t.Fatalf("a pair that was not seen together before answers %d", w.Code)
		}
		again := formOn(t, w.Body.String(), `class="entry near"`)
		again.Set("female", "f-pepper")
		if w = s.ask("POST", "/entries", again.Encode()); w.Code != http.StatusSeeOther {
			t.Fatalf("written all the same: %d", w.Code)
		}
		if page := s.ask("GET", w.Header().Get("Location"), "").Body.String(); !strings.Contains(page, "look again in some days") {
			t.Error("after a refusal nothing is proposed")
		}
	})
}

func TestHatchlingBecomesAnAnimalWithOneTap(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := openHerd(t)
		for _, path := range []string{"/females?show=young", "/clutches/k1"} {
			form := formOn(t, s.ask("GET", path, "").Body.String(), "Make it an animal")
			before := s.snap
			if w := s.ask("POST", "/entries", form.Encode()); w.Code != http.StatusSeeOther {
				t.Fatalf("%s: answer %d\n%s", path, w.Code, errorsIn(w.Body.String()))
			}
			a := s.snap.Book.Animals["y-k1-a"]
			if a == nil || a.Dam != "f-pepper" || a.Egg != "k1-a" || a.Hatched == "" || a.Name != "k1 A" {
				t.Errorf("%s: it became %+v", path, a)
			}
			if page := s.ask("GET", path, "").Body.String(); strings.Contains(page, "Make it an animal") {
				t.Errorf("%s: it can be made one twice", path)
			}
			s.snap, s.door.state = before, before.Book
		}
	})
}

// structureless: a page of animals is not made anew under a thumb.
func TestAnimalPagesAreLeftAloneByTheTick(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := openHerd(t)
		for _, path := range []string{"/females", "/females/f-pepper"} {
			if page := s.ask("GET", path, "").Body.String(); strings.Contains(page, "data-waits") {
				t.Errorf("%s is made anew while it is open", path)
			}
		}
	})
}

// While one types the list narrows; the same is asked of the server by the
// button, where there is no script.
func TestListNarrowsWhileOneTypes(t *testing.T) {
	b := browse(t)
	s := openHerd(t)
	server := httptest.NewServer(s.handler)
	t.Cleanup(func() { server.CloseClientConnections(); server.Close() })
	b.open(server.URL + "/females")
	var shown []string
	b.ask(`(() => { const i = document.querySelector("input[data-find]"); i.value = "SOUTH"; i.dispatchEvent(new Event("input"));
		return [...document.querySelectorAll(".herd .name, .rack h2")].filter(e => e.offsetParent).map(e => e.textContent.trim()); })()`, &shown)
	if diff := cmp.Diff([]string{"South rack", "Pepper"}, shown); diff != "" {
		t.Errorf("typing SOUTH leaves (-want +got):\n%s", diff)
	}
}

// A laying is news of a belly too: what was seen before it is no longer so.
func TestALayingEndsWhatWasSeenBefore(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := open(t)
		s.tell(t, -3, book.KindChecked, book.CheckedData{Animal: "f-pepper", Stage: incubation.Gravid})
		for address, says := range map[string]string{
			"/females": "has laid · 2 days ago", "/females/f-pepper": `<p class="says">has laid</p>`, "/round": "has laid · 2 days ago",
		} {
			if page := strings.ToLower(s.ask("GET", address, "").Body.String()); !strings.Contains(page, says) {
				t.Errorf("%s does not say %q of Pepper", address, says)
			}
		}
		s.tell(t, -1, book.KindChecked, book.CheckedData{Animal: "f-pepper", Stage: incubation.Quiet})
		if page := s.ask("GET", "/females/f-pepper", "").Body.String(); !strings.Contains(page, `<p class="says">Quiet</p>`) {
			t.Error("a look after the laying is not told")
		}
	})
}
