package book_test

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

func celsius(c incubation.Celsius) *incubation.Celsius { return &c }

// ended is the laid room with one hatched egg and one that lies in box 1, a
// second box in the incubator, and a box out of use.
func ended() []book.Entry {
	return laid(
		at(4, book.KindPlace, book.PlaceData{Place: "old", Kind: incubation.Box, Name: "Old box"}),
		at(5, book.KindPlace, book.PlaceData{Place: "old", Gone: true}),
		at(50, book.KindHatch, book.HatchData{Egg: "c-1-a"}),
	)
}

func laying(change func(*book.LayingData)) book.LayingData {
	d := book.LayingData{
		Clutch: "c-2", Female: "f-1", From: day(59), To: day(60), Place: "lay",
		Eggs: []book.EggName{{Egg: "c-2-a", Mark: "A"}, {Egg: "c-2-b", Mark: "B"}},
	}
	if change != nil {
		change(&d)
	}
	return d
}

func TestCheckAccepts(t *testing.T) {
	s := folded(t, ended())
	for name, e := range map[string]book.Entry{
		"a second clutch": at(60, book.KindLaying, laying(nil)),
		"a clutch of one": at(60, book.KindLaying, laying(func(d *book.LayingData) {
			d.Eggs, d.Place = d.Eggs[:1], ""
		})),
		"an entry about the time before the hatch": at(49, book.KindPip, book.EggEvent{Egg: "c-1-a"}),
		"a note about a hatched egg":               at(60, book.KindNote, book.NoteData{Subject: "c-1-a", Text: "fed\ntwice"}),
		"a used box comes back":                    at(60, book.KindPlace, book.PlaceData{Place: "old"}),
		"the same stand again":                     at(60, book.KindStand, book.StandData{Place: "box-1", In: "warm"}),
		"a probe the book has not heard of":        at(60, book.KindProbe, book.ProbeData{Probe: "w1-28-0316a2797cff", Place: "box-1", Position: incubation.Substrate, AccuracyKelvin: 0.5}),
		"the door of an incubator":                 at(60, book.KindContact, book.ContactData{Contact: "door-1", Kind: incubation.Door, Place: "warm"}),
		"water under a tub":                        at(60, book.KindContact, book.ContactData{Contact: "drip", Kind: incubation.Leak, Place: "box-1"}),
		"the mains of the room":                    at(60, book.KindContact, book.ContactData{Contact: "ups", Kind: incubation.Mains, Place: "room"}),
		"a plan in the egg's days": at(60, book.KindPlan, book.PlanData{
			Egg:   "c-1-b",
			Steps: []book.PlanStep{{Day: 58, Celsius: 32}, {Day: 59.5, Celsius: 28}, {Day: 62, Box: "box-2"}},
		}),
		"no plan any more":                              at(60, book.KindPlan, book.PlanData{Place: "warm"}),
		"the hatch was wrong":                           at(60, book.KindVoid, book.VoidData{Entry: 15}),
		"the laying was wrong, though much rests on it": at(60, book.KindVoid, book.VoidData{Entry: 10}),
	} {
		if err := book.Check(s, e); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestCheckRefuses(t *testing.T) {
	s := folded(t, ended())
	long := strings.Repeat("x", 2001)
	plan := func(steps ...book.PlanStep) book.PlanData { return book.PlanData{Egg: "c-1-b", Steps: steps} }
	soon := book.PlanStep{At: day(70), Celsius: 28}
	for _, row := range []struct {
		name  string
		entry book.Entry
		field string
		text  string // the sentence holds it
	}{
		{"an unknown place", at(60, book.KindStand, book.StandData{Place: "box-9", In: "warm"}), "place", `no place "box-9"`},
		{"an unknown container", at(60, book.KindStand, book.StandData{Place: "box-1", In: "cold"}), "in", `no place "cold"`},
		{"a box into itself", at(60, book.KindStand, book.StandData{Place: "box-1", In: "box-1"}), "in", "cannot stand in"},
		{"an incubator into a box", at(60, book.KindStand, book.StandData{Place: "warm", In: "box-1"}), "in", "cannot stand in"},
		{"taken out of nothing", at(60, book.KindStand, book.StandData{Place: "box-2"}), "in", "does not stand"},
		{"a place out of use", at(60, book.KindStand, book.StandData{Place: "old", In: "warm"}), "place", "out of use"},
		{"out of use with an egg in it", at(60, book.KindPlace, book.PlaceData{Place: "box-1", Gone: true}), "gone", "not empty"},
		{"out of use with a box in it", at(60, book.KindPlace, book.PlaceData{Place: "warm", Gone: true}), "gone", "not empty"},
		{"a full box is no incubator", at(60, book.KindPlace, book.PlaceData{Place: "box-1", Kind: incubation.Incubator}), "kind", "in use as an egg box"},
		{"a new place without a name", at(60, book.KindPlace, book.PlaceData{Place: "box-7", Kind: incubation.Box}), "name", "empty"},
		{"a new place of blanks", at(60, book.KindPlace, book.PlaceData{Place: "box-7", Kind: incubation.Box, Name: "  "}), "name", "empty"},
		{"a new place without a kind", at(60, book.KindPlace, book.PlaceData{Place: "box-7", Name: "Seven"}), "kind", "missing"},
		{"a kind nobody knows", at(60, book.KindPlace, book.PlaceData{Place: "box-7", Kind: "tent", Name: "Seven"}), "kind", "no kind of place"},
		{"a name with a control character", at(60, book.KindPlace, book.PlaceData{Place: "box-1", Name: "a\nb"}), "name", "cannot be shown"},
		{"a name too long", at(60, book.KindPlace, book.PlaceData{Place: "box-1", Name: long}), "name", "longer than 80"},
		{"an id in capitals", at(60, book.KindPlace, book.PlaceData{Place: "Box", Kind: incubation.Box, Name: "Box"}), "place", "lower-case"},
		{"an id too long", at(60, book.KindFemale, book.FemaleData{Female: long[:41], Name: "Long"}), "female", "longer than 40"},
		{"an id that is an egg's already", at(60, book.KindFemale, book.FemaleData{Female: "c-1-a", Name: "Egg"}), "female", "id of an egg"},
		{"no id", at(60, book.KindFemale, book.FemaleData{Name: "Nobody"}), "female", "empty"},
		{"a setpoint nowhere", at(60, book.KindSetpoint, book.SetpointData{Place: "cold", Celsius: 28}), "place", "no place"},
		{"a setpoint in °F", at(60, book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: 88}), "celsius", "outside 0 to 50"},
		{"a probe nowhere is taken out", at(60, book.KindProbe, book.ProbeData{Probe: "p-1"}), "probe", "in no place"},
		{"a position nobody knows", at(60, book.KindProbe, book.ProbeData{Probe: "p-1", Place: "box-1", Position: "lid"}), "position", "no position"},
		{"an offset of 20 K", at(60, book.KindProbe, book.ProbeData{Probe: "p-1", Place: "box-1", OffsetKelvin: 20}), "offset_kelvin", "outside -10 to 10"},
		{"a contact that tells of nothing is taken away", at(60, book.KindContact, book.ContactData{Contact: "door-1"}), "contact", "tells of no place"},
		{"a contact of a kind nobody knows", at(60, book.KindContact, book.ContactData{Contact: "door-1", Kind: "bell", Place: "warm"}), "kind", "no kind of contact"},
		{"a contact without a kind", at(60, book.KindContact, book.ContactData{Contact: "door-1", Place: "warm"}), "kind", "no kind of contact"},
		{"a contact nowhere", at(60, book.KindContact, book.ContactData{Contact: "door-1", Kind: incubation.Door, Place: "cold"}), "place", "no place"},
		{"the door of a tub", at(60, book.KindContact, book.ContactData{Contact: "door-1", Kind: incubation.Door, Place: "box-1"}), "place", "an egg box: it has no door"},
		{"the mains of a tub", at(60, book.KindContact, book.ContactData{Contact: "ups", Kind: incubation.Mains, Place: "box-1"}), "place", "has no mains"},
		{"limits upside down", at(60, book.KindLimits, book.LimitsData{Place: "pen", LowCelsius: celsius(30), HighCelsius: celsius(28)}), "low_celsius", "not below"},
		{"a limit in °F", at(60, book.KindLimits, book.LimitsData{Place: "pen", HighCelsius: celsius(90)}), "high_celsius", "outside"},
		{"found before the last look", at(60, book.KindLaying, laying(func(d *book.LayingData) { d.To = day(58) })), "to", "before the last look"},
		{"found after the entry", at(59.5, book.KindLaying, laying(nil)), "to", "after the time of the entry"},
		{"a last look in another season", at(90, book.KindLaying, laying(func(d *book.LayingData) { d.From, d.To = day(1), day(89) })), "from", "more than 60 days"},
		{"no last look", at(60, book.KindLaying, laying(func(d *book.LayingData) { d.From = time.Time{} })), "from", "missing"},
		{"an unknown female", at(60, book.KindLaying, laying(func(d *book.LayingData) { d.Female = "f-9" })), "female", "no female"},
		{"a clutch that is there", at(60, book.KindLaying, laying(func(d *book.LayingData) { d.Clutch = "c-1" })), "clutch", "already"},
		{"an egg that is there", at(60, book.KindLaying, laying(func(d *book.LayingData) { d.Eggs[1].Egg = "c-1-b" })), "egg", "already"},
		{"one egg twice", at(60, book.KindLaying, laying(func(d *book.LayingData) { d.Eggs[1].Egg = "c-2-a" })), "egg", "used twice"},
		{"one mark twice", at(60, book.KindLaying, laying(func(d *book.LayingData) { d.Eggs[1].Mark = "A" })), "mark", "two eggs are marked A"},
		{"an egg without a mark", at(60, book.KindLaying, laying(func(d *book.LayingData) { d.Eggs[0].Mark = "" })), "mark", "empty"},
		{"no eggs", at(60, book.KindLaying, laying(func(d *book.LayingData) { d.Eggs = nil })), "eggs", "at least one"},
		{"seven eggs", at(60, book.KindLaying, laying(func(d *book.LayingData) { d.Eggs = make([]book.EggName, 7) })), "eggs", "more than 6"},
		{"laid in an unknown place", at(60, book.KindLaying, laying(func(d *book.LayingData) { d.Place = "pit" })), "place", "no place"},
		{"an unknown egg", at(60, book.KindEgg, book.EggData{Egg: "c-9", Box: "box-1"}), "egg", `no egg "c-9"`},
		{"placed before it was found", at(1.5, book.KindEgg, book.EggData{Egg: "c-1-b", Box: "box-1"}), "egg", "no egg"},
		{"a hatched egg moved", at(60, book.KindEgg, book.EggData{Egg: "c-1-a", Box: "box-2"}), "egg", "hatched on 2026-04-20 12:00 UTC"},
		{"an egg into the incubator itself", at(60, book.KindEgg, book.EggData{Egg: "c-1-b", Box: "warm"}), "box", "put into egg boxes"},
		{"hatched twice", at(60, book.KindHatch, book.HatchData{Egg: "c-1-a"}), "egg", "hatched on"},
		{"lost before it hatched", at(40, book.KindFail, book.FailData{Egg: "c-1-a"}), "at", "contradict a later entry: entry 15"},
		{"a sex nobody knows", at(60, book.KindHatch, book.HatchData{Egg: "c-1-b", Sex: "both"}), "sex", "male or female"},
		{"a light that showed nothing", at(60, book.KindCandle, book.CandleData{Egg: "c-1-b", Seen: "red"}), "seen", "alive, unsure or dead"},
		{"a cause too long", at(60, book.KindFail, book.FailData{Egg: "c-1-b", Cause: long[:201]}), "cause", "longer than 200"},
		{"a note without words", at(60, book.KindNote, book.NoteData{}), "text", "empty"},
		{"a note too long", at(60, book.KindNote, book.NoteData{Text: long}), "text", "longer than 2000"},
		{"a note about nothing", at(60, book.KindNote, book.NoteData{Subject: "moon", Text: "full"}), "subject", `nothing called "moon"`},
		{"a plan for nothing", at(60, book.KindPlan, book.PlanData{}), "place", "one of the two"},
		{"a plan for two", at(60, book.KindPlan, book.PlanData{Place: "warm", Egg: "c-1-b"}), "place", "one of the two"},
		{"a plan for a box", at(60, book.KindPlan, book.PlanData{Place: "box-1", Steps: []book.PlanStep{soon}}), "place", "an incubator or an egg"},
		{"a plan for a hatched egg", at(60, book.KindPlan, book.PlanData{Egg: "c-1-a", Steps: []book.PlanStep{soon}}), "egg", "hatched on"},
		{"an incubator's plan in an egg's days", at(60, book.KindPlan, book.PlanData{Place: "warm", Steps: []book.PlanStep{{Day: 20, Celsius: 28}}}), "steps", "step 1: only an egg's plan"},
		{"a step without a time", at(60, book.KindPlan, plan(book.PlanStep{Celsius: 28})), "steps", "step 1: it needs a time"},
		{"a step without an end", at(60, book.KindPlan, plan(soon, book.PlanStep{At: day(71)})), "steps", "step 2: it needs a temperature"},
		{"a step that does two things", at(60, book.KindPlan, plan(book.PlanStep{Day: 20, Celsius: 28, Box: "box-2"})), "steps", "not both"},
		{"a move to an unknown box", at(60, book.KindPlan, plan(book.PlanStep{Day: 20, Box: "box-9"})), "steps", "no place"},
		{"steps out of order", at(60, book.KindPlan, plan(soon, book.PlanStep{Day: 20, Celsius: 30})), "steps", "step 2 comes before step 1"},
		{"a day far out", at(60, book.KindPlan, plan(book.PlanStep{Day: 201, Celsius: 30})), "steps", "outside 0 to 200"},
		{"forty-one steps", at(60, book.KindPlan, plan(make([]book.PlanStep, 41)...)), "steps", "longer than 40"},
		{"nothing taken back", at(60, book.KindVoid, book.VoidData{}), "entry", "missing"},
		{"an entry nobody made", at(60, book.KindVoid, book.VoidData{Entry: 99}), "entry", "no entry 99"},
		{"no time", book.Entry{Kind: book.KindNote, Data: json.RawMessage(`{"text":"x"}`)}, "at", "missing"},
		{"a clock at its epoch", book.Entry{At: time.Unix(60, 0), Kind: book.KindNote, Data: json.RawMessage(`{"text":"x"}`)}, "at", "in the year 1970"},
		{"a day and an hour ahead", book.Entry{At: day(2).Add(time.Hour), Made: day(1), Kind: book.KindNote, Data: json.RawMessage(`{"text":"x"}`)}, "at", "not come yet"},
		{"a zone that is none", book.Entry{At: day(2), Zone: "Mars; drop", Kind: book.KindNote, Data: json.RawMessage(`{"text":"x"}`)}, "zone", "not the name of a time zone"},
		{"an entry far too large", book.Entry{At: day(2), Kind: book.KindNote, Data: make([]byte, 20000)}, "data", "larger than"},
		{"no data", book.Entry{At: day(2), Kind: book.KindNote}, "data", "not a JSON object"},
		{"a sequence in use", func() book.Entry { e := at(60, book.KindNote, book.NoteData{Text: "x"}); e.Seq = 3; return e }(), "seq", "in the book already"},
	} {
		err := book.Check(s, row.entry)
		var p *book.Problem
		if !errors.As(err, &p) {
			t.Errorf("%s: %v, want a problem", row.name, err)
			continue
		}
		if p.Field != row.field || !strings.Contains(p.Text, row.text) {
			t.Errorf("%s: %s: %q, want %s: … %q …", row.name, p.Field, p.Text, row.field, row.text)
		}
	}
}

func TestWhatWasDoneTwice(t *testing.T) {
	tap := at(60, book.KindNote, book.NoteData{Text: "x"})
	tap.Request = "tap"
	s := folded(t, number(append(ended(), tap, at(61, book.KindVoid, book.VoidData{Entry: 15}))...))
	for _, row := range []struct {
		name, want string
		entry      book.Entry
	}{
		{"a double tap", "entered already, as entry 16", tap},
		{"taken back twice", "taken back already", at(62, book.KindVoid, book.VoidData{Entry: 15})},
	} {
		row.entry.Seq = 0
		if err := book.Check(s, row.entry); err == nil || !strings.Contains(err.Error(), row.want) {
			t.Errorf("%s: %v, want … %s …", row.name, err, row.want)
		}
	}
}
