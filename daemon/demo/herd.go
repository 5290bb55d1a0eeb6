package demo

import (
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A beast is an animal of the room, all of it invented.
type beast struct {
	id, name, sex string
	years, months int // its age at the story's present
	dam, sire     string
	pen           string
	grams         []float64 // weighed every four weeks, the newest last
	note          string
}

// herd is everybody but the females of the season's table, whose enclosures
// stand there; those are written with what more is known of them here.
var herd = []beast{
	{id: "obsidian", name: "Obsidian", sex: incubation.Male, years: 5, pen: "5", grams: []float64{78, 77, 79}},
	{id: "rowan", name: "Rowan", sex: incubation.Male, years: 3, months: 2, pen: "6", grams: []float64{71, 72}},
	{
		id: "flint", name: "Flint", sex: incubation.Male, years: 2, months: 1, pen: "7", grams: []float64{66},
		note: "From a fair; apart until the second sample is clean.",
	},
	{id: "saffron", sex: incubation.Female, years: 5, months: 1, grams: []float64{66, 64, 61, 62}},
	{id: "pumice", sex: incubation.Female, years: 4, months: 2, grams: []float64{59, 58, 57, 58}},
	{
		id: "marzipan", sex: incubation.Female, years: 3, dam: "saffron", sire: "obsidian",
		grams: []float64{61, 57, 58, 60},
	},
	{id: "thistle", sex: incubation.Female, years: 4, grams: []float64{63, 60, 62, 64}},
	{id: "juniper", sex: incubation.Female, years: 4, months: 11, grams: []float64{62, 60, 55, 51}},
	{id: "ember", sex: incubation.Female, years: 3, months: 1, dam: "pumice", grams: []float64{56, 54, 55, 53}},
	{id: "mica", sex: incubation.Female, years: 3, months: 2, grams: []float64{58, 56, 57, 54}},
	{id: "sorrel", sex: incubation.Female, years: 2, months: 2, dam: "thistle", grams: []float64{54, 53, 55, 57}},
	{id: "tansy", sex: incubation.Female, years: 2, months: 3, sire: "obsidian", grams: []float64{52, 51, 53, 54}},
	{id: "biscuit", sex: incubation.Female, years: 2, months: 1, grams: []float64{55, 53, 54, 55}},
	{id: "fennel", sex: incubation.Female, years: 2, months: 2, grams: []float64{51, 50, 50, 52}},
	{
		id: "cricket", sex: incubation.Female, years: 1, months: 3, dam: "saffron", sire: "rowan",
		grams: []float64{45, 48, 47, 49}, note: "Her first year: one clutch, and no hurry for another.",
	},
	{
		id: "wren", name: "Wren", sex: incubation.Female, months: 11, dam: "juniper", sire: "rowan", pen: "1",
		grams: []float64{24, 31, 37, 41}, note: "To grow until next season.",
	},
}

// slots says where in the round each enclosure stands.
var slots = map[string]struct {
	rack string
	slot int
}{
	"1": {"Rack A", 1},
	"2": {"Rack A", 2},
	"5": {"Rack A", 3},
	"3": {"Rack B", 1},
	"4": {"Rack B", 2},
	"6": {"Rack B", 3},
	"7": {"", 0}, // apart, beside the door
}

// plainPens are enclosures without a probe.
var plainPens = []string{"5", "6", "7"}

// people writes the animals down: the grown first, so that each finds its
// parents in the book.
func (s *story) people() {
	for _, n := range plainPens {
		s.place(book.PlaceData{
			Place: "enclosure-" + n, Kind: incubation.Enclosure, Name: "Enclosure " + n,
			Rack: slots[n].rack, Slot: slots[n].slot,
		}, roomID)
	}
	pens := map[string]string{}
	for _, f := range females {
		pens[f.id] = f.pen
	}
	for _, b := range herd {
		for _, f := range females {
			if f.id == b.id {
				b.name, b.pen = f.name, f.pen
			}
		}
		hatched := s.now.In(s.zone).AddDate(-b.years, -b.months, 0)
		s.write(s.start, book.KindAnimal, book.AnimalData{
			Animal: b.id, Name: b.name, Sex: b.sex, Hatched: hatched.Format("2006-01"), Note: b.note,
		})
	}
	for _, b := range herd {
		if b.dam != "" || b.sire != "" {
			s.write(s.start, book.KindAnimal, book.AnimalData{Animal: b.id, Dam: b.dam, Sire: b.sire})
		}
		pen := b.pen
		if pen == "" {
			pen = pens[b.id]
		}
		s.write(s.start, book.KindHoused, book.HousedData{Animal: b.id, Enclosure: "enclosure-" + pen})
		for i, g := range b.grams {
			ago := 4 + 28*(len(b.grams)-1-i)
			s.write(s.look(ago, evening), book.KindWeighed, book.WeighedData{Animal: b.id, Grams: g})
		}
	}
}

// rounds tells what was seen of bellies and who was brought together: before
// each clutch follicles, a pairing and white eggs, and then how things stand.
func (s *story) rounds() {
	first := map[string]bool{}
	for i, c := range season {
		found := int(c.ago)
		s.check(found+20, c.female, book.CheckedData{
			Stage: incubation.Follicular, Sides: []string{incubation.OneSide, incubation.BothSide}[i%2], Size: incubation.Small,
		})
		s.check(found+13, c.female, book.CheckedData{
			Stage: incubation.Follicular, Sides: incubation.BothSide, Size: incubation.Large,
		})
		s.check(found+3, c.female, book.CheckedData{Stage: incubation.Gravid})
		if first[c.female] {
			continue // sperm is stored: a pairing is not needed for each clutch
		}
		first[c.female] = true
		s.pair(found+18, c.female, suitor(c.female), incubation.Refused)
		s.pair(found+13, c.female, suitor(c.female), incubation.Accepted)
	}
	for _, l := range lately {
		s.check(l.ago, l.female, l.seen)
	}
	s.pair(91, "saffron", "obsidian", incubation.Accepted)
	s.pair(31, "biscuit", "rowan", incubation.Unseen)
}

// suitor is the male that a female is brought together with: never her sire.
func suitor(female string) string {
	for _, b := range herd {
		if b.id == female && b.sire == "obsidian" {
			return "rowan"
		}
	}
	return map[bool]string{true: "obsidian", false: "rowan"}[len(female)%2 == 1]
}

// lately is what was last seen of those that did not lay in these days.
var lately = []struct {
	ago    int
	female string
	seen   book.CheckedData
}{
	{88, "thistle", book.CheckedData{Stage: incubation.Quiet}},
	{58, "thistle", book.CheckedData{Stage: incubation.Follicular, Sides: incubation.BothSide, Size: incubation.Large}},
	{40, "thistle", book.CheckedData{Stage: incubation.Resorbed, Note: "Fat pads fuller than ever, nothing above them."}},
	{24, "thistle", book.CheckedData{Stage: incubation.Quiet}},
	{30, "marzipan", book.CheckedData{Stage: incubation.Quiet}},
	{9, "marzipan", book.CheckedData{Stage: incubation.Follicular, Sides: incubation.BothSide, Size: incubation.Small}},
	{2, "marzipan", book.CheckedData{Stage: incubation.Follicular, Sides: incubation.BothSide, Size: incubation.Large}},
	{20, "pumice", book.CheckedData{Stage: incubation.Follicular, Sides: incubation.OneSide, Size: incubation.Small}},
	{6, "pumice", book.CheckedData{Stage: incubation.Shelling}},
	{9, "sorrel", book.CheckedData{Stage: incubation.Follicular, Sides: incubation.BothSide, Size: incubation.Large}},
	{1, "sorrel", book.CheckedData{Stage: incubation.Gravid, Signs: []incubation.Sign{incubation.Digging}}},
	{3, "tansy", book.CheckedData{Stage: incubation.Follicular, Sides: incubation.OneSide, Size: incubation.Small}},
	{6, "biscuit", book.CheckedData{Stage: incubation.Quiet}},
	{11, "fennel", book.CheckedData{Stage: incubation.Follicular, Sides: incubation.OneSide, Size: incubation.Small}},
	{3, "cricket", book.CheckedData{Stage: incubation.Unsure, Note: "She would not hold still. Left it."}},
	{4, "juniper", book.CheckedData{Stage: incubation.Quiet, Signs: []incubation.Sign{incubation.Thin}}},
	{5, "ember", book.CheckedData{Stage: incubation.Quiet}},
	{5, "wren", book.CheckedData{Stage: incubation.Quiet}},
}

// care tells what else was done: what is kept apart, treated, aired, weighed.
func (s *story) care() {
	heavy := 48.0
	s.write(s.look(100, evening), book.KindGates, book.GatesData{MinGrams: &heavy})
	s.write(s.look(57, evening), book.KindQuarantine, book.QuarantineData{
		Animal: "flint", Until: s.look(-3, evening), Why: "new",
	})
	s.write(s.look(2, morning), book.KindTreated, book.TreatedData{
		Animal: "juniper", What: "calcium, one drop by mouth", Until: s.look(-4, evening),
	})
	for _, b := range tubs {
		ago := 6
		if b.place == "box-3" {
			ago = 8
		}
		s.write(s.look(ago, evening), book.KindLooked, book.LookedData{Box: b.place, Aired: true})
	}
	s.write(s.look(23, evening), book.KindWeighed, book.WeighedData{Box: "box-4", Grams: 418})
	s.write(s.look(9, evening), book.KindWeighed, book.WeighedData{Box: "box-4", Grams: 412})
}

// hereNow says how the room keeps its year: it lives where it is laying season,
// so that what is due makes sense whenever the demo is started.
func (s *story) hereNow() {
	month := s.now.In(s.zone).Month()
	s.write(s.start, book.KindSeason, book.SeasonData{Southern: month >= time.October || month <= time.March})
}

func (s *story) check(ago int, female string, d book.CheckedData) {
	if at := s.look(ago, evening); at.After(s.start) {
		d.Animal = female
		s.write(at, book.KindChecked, d)
	}
}

func (s *story) pair(ago int, female, male string, how incubation.Reception) {
	if at := s.look(ago, evening).Add(20 * time.Minute); at.After(s.start) {
		s.write(at, book.KindPaired, book.PairedData{Female: female, Male: male, Outcome: how})
	}
}

// raised tells the first weeks of the one hatchling that is kept.
func (s *story) raised(e egg, out time.Time) {
	if e.id != "marzipan-1a" {
		return
	}
	for _, m := range []struct {
		after time.Duration
		what  string
	}{{1, incubation.YolkIn}, {2, incubation.FirstShed}, {6, incubation.FirstMeal}} {
		s.write(s.seen(out.Add(m.after*24*time.Hour)), book.KindMilestone, book.MilestoneData{Egg: e.id, What: m.what})
	}
	at := s.seen(out.Add(8 * 24 * time.Hour))
	s.write(at, book.KindAnimal, book.AnimalData{
		Animal: "nutmeg", Name: "Nutmeg", Egg: e.id, Sire: "rowan", AgeClass: incubation.Young,
	})
	for i, g := range []float64{3.4, 6.1, 10.2} {
		s.write(at.Add(time.Duration(14*i)*24*time.Hour+time.Hour), book.KindWeighed,
			book.WeighedData{Animal: "nutmeg", Grams: g})
	}
}
