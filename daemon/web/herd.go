package web

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"clutchd/incubation"
)

// herdBody is the animals of one kind, one line each.
type herdBody struct {
	Title  string
	Shows  []pick // females, males, young, retired
	Sorts  []pick
	Groups []herdGroup
	Show   string
	Sort   string
	Find   string
	Lines  int // of animals of this kind, before any was looked for
	Count  int // of what is listed, hatchlings of Young among it
	Of     int // of what would be without looking for one
	Young  []raiseLine
	Add    string // address of the form for another
	Legend []tap
}

// A pick is one of several pages that show the same otherwise.
type pick struct {
	Text, Href string
	Here       bool
}

type herdGroup struct {
	Name  string // of the rack or stage; "" where there is one list
	Lines []herdLine
}

// A herdLine is one animal in the list.
type herdLine struct {
	Href, Name, Slot string
	Where            string // rack and slot, to be found by
	Draw, Stage, Ago string // stage seen last
	Next             string // expected
	Weight, Trend    string
	Age              string
	Word             string // quarantine, gone
	Photo            string
	animal           *incubation.Animal
	place            *incubation.Place
}

// herdShows are the four lists, by the address's word.
var herdShows = [...]struct{ show, text, title, sex string }{
	{"", "Females", "Females", incubation.Female},
	{"males", "Males", "Males", incubation.Male},
	{"young", "Young", "Young, or not sexed", ""},
	{"retired", "Left", "Left, died or at rest", ""},
}

// shownIn says in which list an animal stands. One at rest stands in the last
// alone.
func shownIn(a *incubation.Animal) string {
	switch {
	case a.Retired != nil:
		return "retired"
	case a.Sex == incubation.Male:
		return "males"
	case a.Sex != incubation.Female:
		return "young"
	}
	return ""
}

func (s *Server) herd(v *visit) error {
	b := herdBody{Show: v.asked("show"), Sort: v.asked("sort"), Find: strings.TrimSpace(v.asked("find"))}
	if !b.choose(v) {
		return missing{"list of animals called " + b.Show}
	}
	lines := v.herdLines(b.Show)
	if b.Show == "young" {
		b.Young = v.raiseLines()
	}
	b.Lines, b.Of = len(lines), len(lines)+len(b.Young)
	if b.Find != "" {
		want := strings.ToLower(b.Find)
		lines = slices.DeleteFunc(lines, func(l herdLine) bool {
			return !strings.Contains(strings.ToLower(l.Name+" "+l.Slot+" "+l.animal.ID), want)
		})
		b.Young = slices.DeleteFunc(b.Young, func(l raiseLine) bool { return !strings.Contains(strings.ToLower(l.Name), want) })
	}
	b.Count = len(lines) + len(b.Young)
	b.Groups = groupHerd(lines, b.Sort)
	if b.Show == "" {
		b.Legend = stageTaps()
	}
	return v.render("herd", frame{Title: b.Title, Nav: "females", Body: b}, http.StatusOK)
}

// choose fills in what can be chosen; false for a list that there is not.
func (b *herdBody) choose(v *visit) bool {
	to := func(show, sort string) string {
		q := url.Values{}
		for name, text := range map[string]string{"show": show, "sort": sort} {
			if text != "" {
				q.Set(name, text)
			}
		}
		if len(q) == 0 {
			return "/females"
		}
		return "/females?" + q.Encode()
	}
	for _, s := range herdShows {
		b.Shows = append(b.Shows, pick{s.text, to(s.show, ""), s.show == b.Show})
		if s.show == b.Show {
			b.Title = s.title
			b.Add = "/entries/new?kind=animal&sex=" + s.sex + "&back=" + escapeQuery(to(b.Show, ""))
		}
	}
	sorts := [][2]string{{"", "in racks"}, {"name", "by name"}}
	if b.Show == "" {
		sorts = append(sorts, [2]string{"stage", "by stage"}, [2]string{"seen", "by last look"})
	}
	if !slices.ContainsFunc(sorts, func(s [2]string) bool { return s[0] == b.Sort }) {
		b.Sort = ""
	}
	for _, s := range sorts {
		b.Sorts = append(b.Sorts, pick{s[1], to(b.Show, s[0]), s[0] == b.Sort})
	}
	return b.Title != ""
}

func (v *visit) herdLines(show string) []herdLine {
	var out []herdLine
	for _, a := range v.snap.Book.Animals {
		if shownIn(a) == show {
			out = append(out, v.herdLine(a))
		}
	}
	return out
}

func (v *visit) herdLine(a *incubation.Animal) herdLine {
	l := herdLine{
		Href: pageOf(a), Name: v.snap.Book.Name(a.ID), Slot: v.slotOf(a), Where: v.slotOf(a), animal: a,
		place: v.snap.Book.Places[incubation.At(a.Stays, v.snap.Time)], Word: v.standing(a),
	}
	if n := len(a.Photos); n > 0 {
		l.Photo = a.Photos[n-1].File
	}
	if w := len(a.Weights); w > 0 {
		l.Weight, l.Trend = gramsWord(a.Weights[w-1].Grams), trendWord(a.Weights)
	}
	if a.Sex != incubation.Female {
		l.Age = v.ageOf(a)
		return l
	}
	if c := v.condition(a); c != nil {
		l.Draw, l.Stage, l.Ago = drawOf(c), sawWords(*c), v.say.age(c.At)
	}
	if a.Retired == nil {
		l.Next = v.nextOf(a)
	}
	return l
}

// standing is a word about an animal that is kept apart or gone; "" about
// others.
func (v *visit) standing(a *incubation.Animal) string {
	switch {
	case a.Retired != nil:
		return leftWord(a.Retired.Why) + " " + v.say.day(a.Retired.At)
	case a.Quarantine.After(v.snap.Time):
		return "quarantine until " + v.say.day(a.Quarantine)
	}
	return ""
}

func leftWord(w incubation.Leaving) string {
	switch w {
	case incubation.Resting:
		return "at rest since"
	case incubation.Given:
		return "given away"
	}
	return string(w)
}

// pageOf is the address of an animal's page.
func pageOf(a *incubation.Animal) string {
	if a.Sex == incubation.Female {
		return "/females/" + a.ID
	}
	return "/animals/" + a.ID
}

// Weights are compared over about a month; under a twentieth it is the scale,
// a meal or a shed. Judgement.
const (
	trendDays  = 30
	trendRatio = 0.05
)

// trendWord says how the weight goes; "" where one weighing alone is known, or
// none within a year of the newest.
func trendWord(all []incubation.Weight) string {
	w := all[len(all)-1]
	for i := len(all) - 2; i >= 0; i-- {
		apart := w.At.Sub(all[i].At)
		if apart < trendDays*24*time.Hour && i > 0 && w.At.Sub(all[i-1].At) <= 2*trendDays*24*time.Hour {
			continue // an older one is nearer to a month
		}
		switch ratio := w.Grams/all[i].Grams - 1; {
		case apart > 365*24*time.Hour:
			return ""
		case ratio >= trendRatio:
			return "gaining"
		case ratio <= -trendRatio:
			return "losing"
		}
		return "steady"
	}
	return ""
}

// bySlot orders enclosures as a round goes: rack by rack, those in none last.
func bySlot(a, b *incubation.Place) int {
	slot := func(p *incubation.Place) int {
		if p == nil || p.Slot == 0 {
			return 1
		}
		return 0
	}
	if c := cmp.Compare(slot(a), slot(b)); c != 0 || a == nil || b == nil {
		return c
	}
	return cmp.Or(asCounted(a.Rack, b.Rack), cmp.Compare(a.Slot, b.Slot), asCounted(a.Name, b.Name), strings.Compare(a.ID, b.ID))
}

// asCounted orders names as people count: rack 2 before rack 10.
func asCounted(a, b string) int {
	for a != "" && b != "" {
		n, m := figures(a), figures(b)
		if n == 0 || m == 0 {
			if c := strings.Compare(strings.ToLower(a[:1]), strings.ToLower(b[:1])); c != 0 {
				return c
			}
			a, b = a[1:], b[1:]
			continue
		}
		x, y := strings.TrimLeft(a[:n], "0"), strings.TrimLeft(b[:m], "0")
		if c := cmp.Or(cmp.Compare(len(x), len(y)), strings.Compare(x, y)); c != 0 {
			return c
		}
		a, b = a[n:], b[m:]
	}
	return cmp.Compare(len(a), len(b))
}

// figures is how many figures a text begins with.
func figures(s string) int {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}

// toLaying orders females by what was seen: the nearest to a laying first, who
// has just laid behind who may begin, who was never looked at last.
func toLaying(l herdLine) int {
	i := slices.Index([]string{
		"gravid", "shelling", "large", "follicles", "small", "unsure", "quiet", "laid", "resorbed",
	}, l.Draw)
	if i < 0 {
		return 100
	}
	return i
}

// groupHerd orders the lines and puts them under headings.
func groupHerd(lines []herdLine, by string) []herdGroup {
	tile := func(l herdLine) int {
		return slices.IndexFunc(stageTaps(), func(t tap) bool { return t.Draw == l.Draw })
	}
	slices.SortFunc(lines, func(a, b herdLine) int {
		name := cmp.Or(asCounted(a.Name, b.Name), strings.Compare(a.animal.ID, b.animal.ID))
		switch by {
		case "name":
			return name
		case "stage":
			return cmp.Or(cmp.Compare(toLaying(a), toLaying(b)), bySlot(a.place, b.place), name)
		case "seen":
			return cmp.Or(seenAt(a).Compare(seenAt(b)), name)
		}
		return cmp.Or(bySlot(a.place, b.place), name)
	})
	var out []herdGroup
	for _, l := range lines {
		head := ""
		switch {
		case by == "stage" && l.Draw == "":
			head = "Not looked at yet"
		case by == "stage":
			head = capital(stageTaps()[tile(l)].Text)
		case by == "" && l.place != nil && l.place.Slot > 0:
			head = capital(cmp.Or(l.place.Rack, "the rack"))
			l.Slot = "slot " + strconv.Itoa(l.place.Slot) // the rack stands above
		case by == "":
			head = "In no rack"
		}
		if n := len(out); n == 0 || out[n-1].Name != head {
			out = append(out, herdGroup{Name: head})
		}
		g := &out[len(out)-1]
		g.Lines = append(g.Lines, l)
	}
	if len(out) == 1 && by == "" {
		out[0].Name = strings.TrimPrefix(out[0].Name, "In no rack")
	}
	return out
}

func seenAt(l herdLine) time.Time {
	if c := l.animal.Last(); c != nil {
		return c.At
	}
	return time.Time{}
}
