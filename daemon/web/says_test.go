package web

import (
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

// A hand writes a small book, a line an hour.
type hand struct {
	t       *testing.T
	entries []book.Entry
}

func (p *hand) write(kind book.Kind, data any) book.Entry {
	p.t.Helper()
	text, err := json.Marshal(data)
	if err != nil {
		p.t.Fatal(err)
	}
	n := len(p.entries)
	at := time.Date(2026, 6, 10, 6, 0, 0, 0, time.UTC).Add(time.Duration(n) * time.Hour)
	e := book.Entry{Seq: uint64(n + 1), At: at, Made: at, Kind: kind, Data: text}
	p.entries = append(p.entries, e)
	return e
}

func at[T any](v T) *T { return &v }

func TestEntriesAreSaidInTheKeepersWords(t *testing.T) {
	p := &hand{t: t}
	rows := []struct {
		sentence string
		kind     book.Kind
		data     any
		want     string
		odd      bool // it makes no sense in the book, and is told all the same
	}{
		{
			"a place is set up", book.KindPlace,
			book.PlaceData{Place: "oak", Kind: incubation.Incubator, Name: "Oak cabinet"},
			"Oak cabinet set up: an incubator", false,
		},
		{
			"the room is the room", book.KindPlace,
			book.PlaceData{Place: "room", Kind: incubation.Room, Name: "Back room"},
			"Back room set up", false,
		},
		{
			"a box goes by the name it has now", book.KindPlace,
			book.PlaceData{Place: "box-1", Kind: incubation.Box, Name: "Box one"},
			"Box one set up: an egg box", false,
		},
		{
			"a second box", book.KindPlace,
			book.PlaceData{Place: "box-2", Kind: incubation.Box, Name: "Box 2"},
			"Box 2 set up: an egg box", false,
		},
		{
			"a lay box", book.KindPlace,
			book.PlaceData{Place: "lay", Kind: incubation.LayBox, Name: "Lay box"},
			"Lay box set up: a lay box", false,
		},
		{
			"an enclosure", book.KindPlace,
			book.PlaceData{Place: "pen", Kind: incubation.Enclosure, Name: "Pen"},
			"Pen set up: an enclosure", false,
		},
		{"a place is renamed", book.KindPlace, book.PlaceData{Place: "box-1", Name: "Box 1"}, "Box one is now called Box 1", false},
		{
			"a place is another kind of place", book.KindPlace,
			book.PlaceData{Place: "pen", Kind: incubation.LayBox},
			"Pen is now a lay box", false,
		},
		{
			"a box stands somewhere for the first time", book.KindStand,
			book.StandData{Place: "box-1", In: "oak"},
			"Box 1 into Oak cabinet", false,
		},
		{"it moves", book.KindStand, book.StandData{Place: "box-1", In: "room"}, "Box 1 from Oak cabinet into Back room", false},
		{"it is taken out", book.KindStand, book.StandData{Place: "box-1"}, "Box 1 taken out of Back room", false},
		{"what has no name goes by its id", book.KindStand, book.StandData{Place: "box-9", In: "elm"}, "box-9 into elm", true},
		{
			"a calibrated probe", book.KindProbe,
			book.ProbeData{
				Probe: "w1-04", Place: "box-1", Position: incubation.Substrate,
				OffsetKelvin: -0.25, AccuracyKelvin: 0.1,
			},
			"Probe w1-04 into Box 1: in the substrate, beside the eggs; −0.25\u00a0°C added to its value; right to within 0.1\u00a0°C", false,
		},
		{"a plain probe", book.KindProbe, book.ProbeData{Probe: "w1-05", Place: "room"}, "Probe w1-05 into Back room", false},
		{"a probe is taken out", book.KindProbe, book.ProbeData{Probe: "w1-05"}, "Probe w1-05 taken out", false},
		{"a thermostat", book.KindSetpoint, book.SetpointData{Place: "oak", Celsius: 31.5}, "Thermostat of Oak cabinet set to 31.5\u00a0°C", false},
		{
			"limits, all of them", book.KindLimits,
			book.LimitsData{
				Place: "oak", LowCelsius: at(incubation.Celsius(26)),
				HighCelsius: at(incubation.Celsius(33.5)), LowHumidityRatio: at(0.755), OffSetpointKelvin: at(0.5), OverSetpointKelvin: at(1.0),
			},
			"Limits of Oak cabinet: too cold under 26\u00a0°C, too warm over 33.5\u00a0°C, too dry under 75.5\u00a0%, " +
				"warn when off the setpoint by 0.5\u00a0°C, wake me when over the setpoint by 1\u00a0°C", false,
		},
		{
			"limits of day, night and season, and of rules", book.KindLimits,
			book.LimitsData{
				Place: "pen", HighCelsius: at(incubation.Celsius(34)),
				Night: &book.NightLimits{From: 21 * 60, To: 7*60 + 30, PeriodLimits: book.PeriodLimits{
					LowCelsius: at(incubation.Celsius(18)), HighCelsius: at(incubation.Celsius(26)),
				}},
				Cooling: &book.CoolingLimits{
					From: book.YearDay{Month: time.November, Day: 15}, To: book.YearDay{Month: time.February, Day: 28},
					PeriodLimits: book.PeriodLimits{LowHumidityRatio: at(0.4)},
				},
				RuleOverrides: map[string]book.RuleOverride{
					"above-limit": {OnDelaySeconds: at(1800.0)}, "off-setpoint": {Off: true}, "too-warm": {Limit: at(1.2)},
				},
			},
			"Limits of Pen: too warm over 34\u00a0°C; from 21:00 to 07:30 too cold under 18\u00a0°C, too warm over " +
				"26\u00a0°C; from 15 Nov to 28 Feb too dry under 40\u00a0%; “Above its limit” after 30 min, “Off its " +
				"setpoint” not told, “Too warm” at 1.2\u00a0°C off the setpoint", false,
		},
		{"no limits of its own", book.KindLimits, book.LimitsData{Place: "oak"}, "Oak cabinet goes by the rules’ own limits", false},
		{"a female", book.KindFemale, book.FemaleData{Female: "f1", Name: "Safron"}, "Female Safron", false},
		{"a female renamed", book.KindFemale, book.FemaleData{Female: "f1", Name: "Saffron"}, "Safron is now called Saffron", false},
		{
			"a clutch found", book.KindLaying,
			book.LayingData{
				Clutch: "c1", Female: "f1", Place: "lay",
				From: time.Date(2026, 6, 10, 19, 0, 0, 0, time.UTC), To: time.Date(2026, 6, 11, 2, 0, 0, 0, time.UTC),
				Eggs: []book.EggName{{Egg: "c1-a", Mark: "A"}, {Egg: "c1-b", Mark: "B"}},
			},
			"Saffron laid two eggs in Lay box between 10 Jun 21:00 and 11 Jun 04:00", false,
		},
		{"an egg goes into its first box", book.KindEgg, book.EggData{Egg: "c1-b", Box: "box-1"}, "Saffron B into Box 1", false},
		{"and into another", book.KindEgg, book.EggData{Egg: "c1-b", Box: "box-2"}, "Saffron B from Box 1 into Box 2", false},
		{"an egg that is not in the book", book.KindEgg, book.EggData{Egg: "c9-a", Box: "box-9"}, "c9-a into box-9", true},
		{
			"a plan by day", book.KindPlan,
			book.PlanData{Egg: "c1-a", Steps: []book.PlanStep{{Day: 1.5, Celsius: 32}, {Day: 20, Box: "box-2"}}},
			"Plan for Saffron A: 32\u00a0°C from day 1.5, then into Box 2 on day 20", false,
		},
		{"a plan by date", book.KindPlan, book.PlanData{Place: "oak", Steps: []book.PlanStep{
			{At: time.Date(2026, 6, 20, 6, 0, 0, 0, time.UTC), Celsius: 28},
		}}, "Plan for Oak cabinet: 28\u00a0°C from 20 Jun 08:00", false},
		{"a move by date", book.KindPlan, book.PlanData{Egg: "c1-a", Steps: []book.PlanStep{
			{At: time.Date(2026, 6, 20, 6, 0, 0, 0, time.UTC), Box: "box-2"},
		}}, "Plan for Saffron A: into Box 2 on 20 Jun 08:00", false},
		{"a move later today", book.KindPlan, book.PlanData{Egg: "c1-a", Steps: []book.PlanStep{
			{At: time.Date(2026, 7, 1, 20, 0, 0, 0, time.UTC), Box: "box-2"},
		}}, "Plan for Saffron A: into Box 2 today at 22:00", false},
		{"no plan", book.KindPlan, book.PlanData{Egg: "c1-a", Steps: []book.PlanStep{}}, "No plan for Saffron A any more", false},
		{"a candle in doubt", book.KindCandle, book.CandleData{Egg: "c1-a", Seen: "unsure"}, "Saffron A candled: not sure", false},
		{"a living egg", book.KindCandle, book.CandleData{Egg: "c1-a", Seen: "alive"}, "Saffron A candled: alive", false},
		{"a pip", book.KindPip, book.EggEvent{Egg: "c1-a"}, "Saffron A pipped", false},
		{"a hatch, sexed", book.KindHatch, book.HatchData{Egg: "c1-a", Sex: "female"}, "Saffron A hatched, female as seen", false},
		{
			"its animal, looked at again", book.KindSexed,
			book.SexedData{Egg: "c1-a", Sex: "male", How: incubation.ByAnatomy},
			"Saffron A sexed: a male", false,
		},
		{
			"a label from the temperature is no sexing", book.KindSexed,
			book.SexedData{Egg: "c1-a", Sex: "female", How: incubation.ByTemperature},
			"Saffron A labelled by temperature, not looked at: a female", false,
		},
		{
			"more animals than hatched, of eggs nobody knows", book.KindSexed,
			book.SexedData{Clutch: "c1", Males: 1, Females: 2, How: incubation.ByAnatomy},
			"Clutch c1 of Saffron sexed: one male and two females, egg not known", true,
		},
		{
			"a counted label", book.KindSexed,
			book.SexedData{Clutch: "c1", Females: 1, How: incubation.ByTemperature},
			"Clutch c1 of Saffron labelled by temperature, not looked at: one female, egg not known", false,
		},
		{"a lost egg", book.KindFail, book.FailData{Egg: "c1-b", Cause: "dented"}, "Saffron B lost: dented", false},
		{"a note about a place", book.KindNote, book.NoteData{Subject: "box-1", Text: "Misted."}, "Box 1: Misted.", false},
		{"about a clutch", book.KindNote, book.NoteData{Subject: "c1", Text: "Small."}, "Clutch c1 of Saffron: Small.", false},
		{"about a female", book.KindNote, book.NoteData{Subject: "f1", Text: "Dug."}, "Saffron: Dug.", false},
		{"about nothing", book.KindNote, book.NoteData{Text: "Power went at noon."}, "Power went at noon.", false},
		{
			"taken back, with why", book.KindVoid,
			book.VoidData{Entry: 24, Why: "wrong egg"},
			"Took back “Saffron B from Box 1 into Box 2”: wrong egg", false,
		},
		{
			"a place is worked on", book.KindService,
			book.ServiceData{Place: "oak", Until: time.Date(2026, 6, 12, 20, 0, 0, 0, time.UTC), Why: "new fan"},
			"Oak cabinet out of service until 22:00: new fan", false,
		},
		{"and is back", book.KindService, book.ServiceData{Place: "oak", Back: true}, "Oak cabinet back in service", false},
		{
			"an alert was seen", book.KindAcknowledged,
			book.AlertData{Alert: "too-warm.place.box-1", Occurrence: "o7", Why: "lid was off"},
			"“Too warm” about Box 1 acknowledged: lid was off", false,
		},
		{
			"one about the program itself", book.KindAcknowledged,
			book.AlertData{Alert: "clock.system.clutchd", Occurrence: "o8"},
			"“Clock not set” acknowledged", false,
		},
		{
			"shelved until later that day", book.KindShelved,
			book.ShelvedData{
				AlertData: book.AlertData{Alert: "stale.probe.w1-04", Occurrence: "o9", Why: "battery ordered"},
				Until:     time.Date(2026, 6, 12, 7, 30, 0, 0, time.UTC),
			},
			"“Silent probe” about w1-04 shelved until 09:30: battery ordered", false,
		},
		{
			"shelved over the night", book.KindShelved,
			book.ShelvedData{
				AlertData: book.AlertData{Alert: "stale.probe.w1-04", Occurrence: "o9"},
				Until:     time.Date(2026, 6, 13, 5, 0, 0, 0, time.UTC),
			},
			"“Silent probe” about w1-04 shelved until 13 Jun 07:00", false,
		},
		{
			"off the shelf", book.KindUnshelved,
			book.AlertData{Alert: "stale.probe.w1-04", Occurrence: "o9"},
			"“Silent probe” about w1-04 taken off the shelf", false,
		},
		{"a place out of use", book.KindPlace, book.PlaceData{Place: "pen", Gone: true}, "Pen is no longer in use", false},
		{"a door has a contact", book.KindContact, book.ContactData{Contact: "d-1", Kind: incubation.Door, Place: "oak"}, "Contact d-1 tells of the door of Oak cabinet", false},
		{"so has the floor", book.KindContact, book.ContactData{Contact: "drip", Kind: incubation.Leak, Place: "room"}, "Contact drip tells of water in Back room", false},
		{"a contact is taken out", book.KindContact, book.ContactData{Contact: "d-1"}, "Contact d-1 taken out", false},
		{
			"a probe in melting ice", book.KindCalibrated,
			book.CalibratedData{
				Probe: "w1-04", Method: incubation.IcePoint, Celsius: []incubation.CalibrationPoint{{Read: 0.4}},
				Due: time.Date(2027, 6, 1, 10, 0, 0, 0, time.UTC),
			},
			"Probe w1-04 calibrated in melting ice: read 0.4\u00a0°C at 0\u00a0°C; right to within 0.18\u00a0°C; due again 1 Jun 2027", false,
		},
		{
			"a hygrometer over salt", book.KindCalibrated,
			book.CalibratedData{
				Probe: "w1-04", Method: incubation.SaltPoint,
				HumidityRatio: []book.HumidityPoint{{Read: 0.72, Salt: incubation.SodiumChloride, Celsius: 25}},
				Due:           time.Date(2027, 6, 1, 10, 0, 0, 0, time.UTC),
			},
			"Probe w1-04 calibrated over salt: read 72\u00a0% at table salt of 25\u00a0°C; due again 1 Jun 2027", false,
		},
		{
			"an enclosure in a rack", book.KindPlace,
			book.PlaceData{Place: "tub", Kind: incubation.Enclosure, Name: "Tub 4", Rack: "A", Slot: 4},
			"Tub 4 set up: an enclosure", false,
		},
		{
			"an animal is written down", book.KindAnimal,
			book.AnimalData{Animal: "m1", Name: "Flint", Sex: incubation.Male, Hatched: "2023-05"},
			"Flint: male, hatched 2023-05", false,
		},
		{"and renamed", book.KindAnimal, book.AnimalData{Animal: "m1", Name: "Flynt"}, "Flint is now called Flynt", false},
		{"more is known of one", book.KindAnimal, book.AnimalData{Animal: "f1", Sire: "m1"}, "Saffron: sire Flynt", false},
		{"a move to an enclosure", book.KindHoused, book.HousedData{Animal: "f1", Enclosure: "tub"}, "Saffron into Tub 4", false},
		{"and out of it", book.KindHoused, book.HousedData{Animal: "f1"}, "Saffron taken out of the enclosure", false},
		{
			"a belly", book.KindChecked,
			book.CheckedData{Animal: "f1", Stage: incubation.Follicular, Sides: "both", Size: "large"},
			"Saffron: follicular, large, on both sides", false,
		},
		{
			"a belly with a worry", book.KindChecked,
			book.CheckedData{Animal: "f1", Stage: incubation.Gravid, Signs: []incubation.Sign{"red-belly", "weak"}, Note: "vet called"},
			"Saffron: gravid, reddened belly, weak: vet called", false,
		},
		{
			"a pairing", book.KindPaired,
			book.PairedData{Female: "f1", Male: "m1", Outcome: incubation.Refused},
			"Saffron and Flynt together: refused", false,
		},
		{"a weight", book.KindWeighed, book.WeighedData{Animal: "f1", Grams: 61.55}, "Saffron weighs 61.55\u00a0g", false},
		{"a box on the scale", book.KindWeighed, book.WeighedData{Box: "box-1", Grams: 212}, "Box 1 weighs 212\u00a0g", false},
		{"a treatment", book.KindTreated, book.TreatedData{Animal: "f1", What: "calcium"}, "Saffron treated: calcium", false},
		{
			"kept apart", book.KindQuarantine,
			book.QuarantineData{Animal: "m1", Until: time.Date(2026, 9, 1, 10, 0, 0, 0, time.UTC), Why: "new here"},
			"Flynt in quarantine until 1 Sep: new here", false,
		},
		{"a rest", book.KindRetired, book.RetiredData{Animal: "f1", Why: incubation.Resting, Note: "thin"}, "Saffron rests from breeding: thin", false},
		{"back from it", book.KindRetired, book.RetiredData{Animal: "f1", Back: true}, "Saffron breeds again", false},
		{"a picture", book.KindPhoto, book.PhotoData{Animal: "f1", Photo: "p1"}, "A picture of Saffron", false},
		{
			"gates", book.KindGates,
			book.GatesData{MinGrams: at(50.0), MaxLossRatio: at(0.15), MaxClutches: at(6)},
			"Females are paired from 50\u00a0g, having lost 15\u00a0% at most, for 6 clutches a season at most", false,
		},
		{"no gates", book.KindGates, book.GatesData{}, "Females are paired by the starting values", false},
		{"the season's settings", book.KindSeason, book.SeasonData{}, "The season goes by the northern year, no daily message", false},
		{
			"with a daily message", book.KindSeason,
			book.SeasonData{Southern: true, Daily: at(book.ClockTime(450))},
			"The season goes by the southern year, what is due is told daily at 07:30", false,
		},
		{"a box aired", book.KindLooked, book.LookedData{Box: "box-1", Aired: true, Wet: true}, "Box 1: aired, too wet", false},
		{"a dented egg", book.KindLooked, book.LookedData{Egg: "c1-b", Dents: incubation.SlightDents}, "Saffron B: slight dents", true},
		{"a first shed", book.KindMilestone, book.MilestoneData{Egg: "c1-a", What: incubation.FirstShed}, "Saffron A: first shed", false},
	}
	for _, r := range rows {
		p.write(r.kind, r.data)
	}
	said := teller{words{zone: time.FixedZone("CEST", 7200), now: time.Date(2026, 7, 1, 12, 0, 0, 0, time.UTC)}, book.Fold(p.entries)}
	kinds := map[book.Kind]bool{}
	for i, r := range rows {
		kinds[r.kind] = true
		if got := said.says(p.entries[i]); got != r.want {
			t.Errorf("%s: %q, want %q", r.sentence, got, r.want)
		}
		if skipped := slices.Contains(said.book.Skipped, p.entries[i].Seq); skipped != r.odd {
			t.Errorf("%s: the book skips it: %v; %q", r.sentence, skipped, said.book.Problems)
		}
	}
	for _, f := range forms() {
		if !kinds[f.Kind] {
			t.Errorf("no row tells a %s; there are %v", f.Kind, slices.Collect(maps.Keys(kinds)))
		}
	}
}

func TestEntriesAreSaidInTheVisitorsUnit(t *testing.T) {
	p := &hand{t: t}
	set := p.write(book.KindSetpoint, book.SetpointData{Place: "oak", Celsius: 31.111})
	probe := p.write(book.KindProbe, book.ProbeData{Probe: "w1", Place: "oak", OffsetKelvin: 0.5})
	said := teller{words{fahrenheit: true}, book.Fold(p.entries)}
	if got := said.says(set); got != "Thermostat of oak set to 88\u00a0°F" {
		t.Errorf("88\u00a0°F, kept in °C, come back as %q", got)
	}
	if got := said.says(probe); got != "Probe w1 into oak: 0.9\u00a0°F added to its value" {
		t.Errorf("a difference of 0.5\u00a0°C is %q", got)
	}
}

func TestUnreadableAndLongEntriesAreSaid(t *testing.T) {
	p := &hand{t: t}
	p.write(book.KindNote, book.NoteData{Text: strings.Repeat("very ", 40)})
	void := p.write(book.KindVoid, book.VoidData{Entry: 1})
	said := teller{words{}, book.Fold(p.entries)}
	if got := said.says(void); len([]rune(got)) > 120 || !strings.Contains(got, "very…”") {
		t.Errorf("a long note taken back is told as %q", got)
	}
	if got := said.says(book.Entry{Kind: "moult", Data: json.RawMessage(`{}`)}); got != "An entry that cannot be read" {
		t.Errorf("an unknown kind is told as %q", got)
	}
	if got := said.says(book.Entry{Seq: 1, Kind: book.KindVoid, Data: json.RawMessage(`{"entry":1}`)}); got != "Took back entry 1" {
		t.Errorf("an entry that takes itself back is told as %q", got)
	}
}

func TestOpenAPINamesEveryKind(t *testing.T) {
	text, err := files.ReadFile("openapi.json")
	if err != nil {
		t.Fatal(err)
	}
	var doc struct {
		Components struct {
			Schemas map[string]struct {
				Properties map[string]struct{ Enum []book.Kind }
			}
		}
	}
	if err := json.Unmarshal(text, &doc); err != nil {
		t.Fatal(err)
	}
	// What was done about an alert can be read and not written.
	written := slices.DeleteFunc(book.Kinds(), book.OfAlert)
	for schema, want := range map[string][]book.Kind{"Entry": book.Kinds(), "NewEntry": written} {
		got := doc.Components.Schemas[schema].Properties["kind"].Enum
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("%s names %v, want %v", schema, got, want)
		}
	}
}
