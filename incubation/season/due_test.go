package season_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/season"
)

// Each row is a book, a day, and what is due then of one kind and animal.
func TestDue(t *testing.T) {
	const (
		small, large = incubation.Small, incubation.Large
		follicular   = incubation.Follicular
	)
	for _, c := range []struct {
		says    string
		write   func(k *keeper)
		on      string
		kind    season.Kind
		animal  string
		urgency season.Urgency // "": nothing is due
		from    string         // day
		why     string         // part of the reason
	}{
		{
			says:  "small follicles are looked at again from the fifth day on: the starting value is 5 days, 3 to 7",
			write: func(k *keeper) { k.check("2026-02-20", "saffron", follicular, small) },
			on:    "2026-02-25", kind: season.Check, animal: "saffron",
			urgency: season.Today, from: "2026-02-25",
			why: "Follicles small on both sides on 20 February, 5 days ago: refusal while they are small is common",
		},
		{
			says:  "two days before it is told as this week's",
			write: func(k *keeper) { k.check("2026-02-20", "saffron", follicular, small) },
			on:    "2026-02-23", kind: season.Check, animal: "saffron",
			urgency: season.ThisWeek, from: "2026-02-25",
		},
		{
			says:  "eight days after it is late: the starting value ends on the seventh",
			write: func(k *keeper) { k.check("2026-02-20", "saffron", follicular, small) },
			on:    "2026-02-28", kind: season.Check, animal: "saffron", urgency: season.Overdue, from: "2026-02-25",
		},
		{
			says:  "large follicles are looked at again from the fourth day on, within the week",
			write: func(k *keeper) { k.check("2026-03-12", "saffron", follicular, large) },
			on:    "2026-03-16", kind: season.Check, animal: "saffron", urgency: season.Today, from: "2026-03-16",
			why: "Follicles large on both sides on 12 March, 4 days ago: look again within the week.",
		},
		{
			says: "after an accepted pairing the check comes a week later, and says what to look for",
			write: func(k *keeper) {
				k.check("2026-03-12", "saffron", follicular, large)
				k.pair("2026-03-12 13:00", "saffron", "flint", incubation.Accepted)
			},
			on: "2026-03-19", kind: season.Check, animal: "saffron", urgency: season.Today, from: "2026-03-19",
			why: "Flint was accepted on 12 March, 7 days ago: follicles flush within the week after.",
		},
		{
			says: "a week after a laying the next follicles are looked for: the starting value is 8 days",
			write: func(k *keeper) {
				k.lays("2026-03-25", "saffron", "c-1")
			},
			on: "2026-04-02", kind: season.Check, animal: "saffron", urgency: season.Today, from: "2026-04-02",
			why: "Laid on 25 March, 8 days ago: the next follicles may show after a week.",
		},
		{
			says: "eggs that nobody looked for two days were found then, not laid",
			write: func(k *keeper) {
				k.add("2026-03-25", book.KindLaying, book.LayingData{
					Clutch: "c-1", Female: "saffron", From: on("2026-03-23"), To: on("2026-03-25"),
					Eggs: []book.EggName{{Egg: "c-1-a", Mark: "A"}},
				})
			},
			on: "2026-04-02", kind: season.Check, animal: "saffron", urgency: season.Today, from: "2026-04-02",
			why: "Found on 25 March, 8 days ago: the next follicles may show after a week.",
		},
		{
			says:  "a quiet female is looked at a week later while a season opens",
			write: func(k *keeper) { k.check("2026-01-20", "saffron", incubation.Quiet, "") },
			on:    "2026-01-27", kind: season.Check, animal: "saffron", urgency: season.Today, from: "2026-01-27",
			why: "A season opens about",
		},
		{
			says:  "out of the season a month later is enough",
			write: func(k *keeper) { k.check("2026-09-01", "saffron", incubation.Quiet, "") },
			on:    "2026-09-20", kind: season.Check, animal: "saffron",
		},
		{
			says: "a resorption is followed by a monthly look",
			write: func(k *keeper) {
				k.check("2026-03-01", "saffron", incubation.Resorbed, "")
			},
			on: "2026-03-31", kind: season.Check, animal: "saffron", urgency: season.Today, from: "2026-03-31",
			why: "it may be months until the next",
		},
		{
			says:  "a female that was never looked at is due at once",
			write: func(k *keeper) {},
			on:    "2026-02-01", kind: season.Check, animal: "saffron", urgency: season.Today, from: "2026-02-01",
			why: "No check of her is in the book yet.",
		},
		{
			says: "nothing is asked of a female that was sold",
			write: func(k *keeper) {
				k.check("2026-02-20", "saffron", follicular, large)
				k.add("2026-02-21", book.KindRetired, book.RetiredData{Animal: "saffron", Why: incubation.Sold})
			},
			on: "2026-02-25", animal: "saffron",
		},
		{
			says: "one that rests from breeding is not looked at",
			write: func(k *keeper) {
				k.check("2026-02-20", "saffron", follicular, large)
				k.add("2026-02-21", book.KindRetired, book.RetiredData{Animal: "saffron", Why: incubation.Resting})
			},
			on: "2026-02-25", animal: "saffron",
		},
		{
			says: "but one that carries eggs is, resting or not",
			write: func(k *keeper) {
				k.check("2026-02-20", "saffron", incubation.Gravid, "")
				k.add("2026-02-21", book.KindRetired, book.RetiredData{Animal: "saffron", Why: incubation.Resting})
			},
			on: "2026-02-24", kind: season.Check, animal: "saffron", urgency: season.Today, from: "2026-02-24",
		},
		{
			says:  "a young one of four months is not looked at for follicles",
			write: func(k *keeper) { k.animal("wren", incubation.Female, "2025-10-20", "rack-4") },
			on:    "2026-02-20", kind: season.Check, animal: "wren",
		},
		{
			says:  "large follicles and no pairing this season: bring her together with the male",
			write: func(k *keeper) { k.check("2026-03-12", "saffron", follicular, large) },
			on:    "2026-03-13", kind: season.Pair, animal: "saffron", urgency: season.Today, from: "2026-03-13",
			why: "Follicles large on both sides yesterday; no pairing of hers is in the book this season.",
		},
		{
			says:  "small follicles propose none",
			write: func(k *keeper) { k.check("2026-03-12", "saffron", follicular, small) },
			on:    "2026-03-13", kind: season.Pair, animal: "saffron",
		},
		{
			says: "an accepted pairing this season is enough: sperm is stored",
			write: func(k *keeper) {
				k.pair("2026-02-01", "saffron", "flint", incubation.Accepted)
				k.check("2026-03-12", "saffron", follicular, large)
			},
			on: "2026-03-13", kind: season.Pair, animal: "saffron",
		},
		{
			says: "unless what came of it was clear",
			write: func(k *keeper) {
				k.pair("2026-02-01", "saffron", "flint", incubation.Accepted)
				k.lays("2026-02-27", "saffron", "c-1")
				for _, e := range []string{"c-1-a", "c-1-b"} {
					k.add("2026-03-11", book.KindFail, book.FailData{Egg: e, Cause: "clear"})
				}
				k.check("2026-03-12", "saffron", follicular, large)
			},
			on: "2026-03-13", kind: season.Pair, animal: "saffron", urgency: season.Today,
			why: "her last clutch was clear",
		},
		{
			says: "after a refusal three days are let pass: the early end of looking again",
			write: func(k *keeper) {
				k.check("2026-03-12", "saffron", follicular, large)
				k.pair("2026-03-12 13:00", "saffron", "flint", incubation.Refused)
			},
			on: "2026-03-13", kind: season.Pair, animal: "saffron", urgency: season.ThisWeek, from: "2026-03-15",
			why: "Flint was refused yesterday",
		},
		{
			says: "a male in quarantine is not proposed, and there is no other",
			write: func(k *keeper) {
				k.check("2026-03-12", "saffron", follicular, large)
				k.add("2026-03-01", book.KindQuarantine, book.QuarantineData{Animal: "flint", Until: on("2026-05-01")})
			},
			on: "2026-03-13", kind: season.Pair, animal: "saffron",
		},
		{
			says: "white eggs send the keeper to the lay box every day",
			write: func(k *keeper) {
				k.check("2026-03-20", "saffron", incubation.Gravid, "")
			},
			on: "2026-03-22", kind: season.LayBox, animal: "saffron", urgency: season.Today, from: "2026-03-22",
			why: "White eggs since 20 March: laying is near.",
		},
		{
			says: "a check of the same day counts as that look",
			write: func(k *keeper) {
				k.check("2026-03-20", "saffron", incubation.Gravid, "")
			},
			on: "2026-03-20 20:00", kind: season.LayBox, animal: "saffron", urgency: season.ThisWeek,
			from: "2026-03-21",
		},
		{
			says: "white eggs that no longer show, and no laying in the book: look for them",
			write: func(k *keeper) {
				k.check("2026-03-20", "saffron", incubation.Gravid, "")
				k.check("2026-03-24", "saffron", incubation.Quiet, "")
			},
			on: "2026-03-24 20:00", kind: season.LayBox, animal: "saffron", urgency: season.Today,
			why: "no laying is in the book: look through Saffron's enclosure",
		},
		{
			says: "a check that says laid, and no clutch: find the eggs",
			write: func(k *keeper) {
				k.check("2026-03-24", "saffron", incubation.Laid, "")
			},
			on: "2026-03-25", kind: season.LayBox, animal: "saffron", urgency: season.Today,
			why: "no clutch is in the book: find the eggs",
		},
		{
			says: "fifteen days after a clutch the next is told ahead: 21 days give or take 5.5 (1.28 of 4.26)",
			write: func(k *keeper) {
				k.lays("2026-03-01", "saffron", "c-1")
			},
			on: "2026-03-12", kind: season.Clutch, animal: "saffron", urgency: season.ThisWeek, from: "2026-03-17",
			why: "A clutch is expected 17 to 27 March: she laid on 1 March, 15 to 27 days from then",
		},
		{
			says: "in its window the lay box is looked into",
			write: func(k *keeper) {
				k.lays("2026-03-01", "saffron", "c-1")
			},
			on: "2026-03-20", kind: season.LayBox, animal: "saffron", urgency: season.Today, from: "2026-03-20",
		},
		{
			says: "past the window an interval alone neither reassures nor alarms: a check, no vet",
			write: func(k *keeper) {
				k.lays("2026-03-01", "saffron", "c-1")
				k.check("2026-03-10", "saffron", incubation.Quiet, "")
			},
			on: "2026-04-02", kind: season.Check, animal: "saffron", urgency: season.Today, from: "2026-04-02",
			why: "That alone neither reassures nor alarms.",
		},
	} {
		t.Run(c.says, func(t *testing.T) {
			k := keeps(t)
			c.write(k)
			items := due(k.look(c.on), c.kind, c.animal)
			if c.urgency == "" {
				if len(items) > 0 {
					t.Fatalf("due: %+v", items)
				}
				return
			}
			if len(items) != 1 {
				t.Fatalf("%d items, want one: %+v", len(items), items)
			}
			i := items[0]
			if i.Urgency != c.urgency {
				t.Errorf("urgency %s, want %s: %s", i.Urgency, c.urgency, i.Why)
			}
			if c.from != "" && i.From.Format(time.DateOnly) != c.from {
				t.Errorf("from %s, want %s", i.From.Format(time.DateOnly), c.from)
			}
			if !strings.Contains(i.Why, c.why) {
				t.Errorf("reason %q does not say %q", i.Why, c.why)
			}
		})
	}
}

// What is a vet's matter, and what is not.
func TestVet(t *testing.T) {
	for _, c := range []struct {
		says  string
		write func(k *keeper)
		on    string
		why   string // "": none
	}{
		{
			says:  "white eggs and straining: at once",
			write: func(k *keeper) { k.check("2026-03-20", "saffron", incubation.Gravid, "", incubation.Straining) },
			on:    "2026-03-20 13:00", why: "White eggs were seen today, and she was straining today: do not wait.",
		},
		{
			says: "white eggs seen before and weak now, though this check was not sure",
			write: func(k *keeper) {
				k.check("2026-03-20", "saffron", incubation.Gravid, "")
				k.check("2026-03-24", "saffron", incubation.Unsure, "", incubation.Weak)
			},
			on: "2026-03-25", why: "White eggs were seen on 20 March, 5 days ago, and she was weak yesterday",
		},
		{
			says: "white eggs for 22 days: the stated limit is 21",
			write: func(k *keeper) {
				k.check("2026-03-01", "saffron", incubation.Gravid, "")
				k.check("2026-03-15", "saffron", incubation.Gravid, "")
			},
			on: "2026-03-23", why: "White eggs were first seen on 1 March, 22 days ago",
		},
		{
			says: "for 21 days they are not yet",
			write: func(k *keeper) {
				k.check("2026-03-01", "saffron", incubation.Gravid, "")
			},
			on: "2026-03-22",
		},
		{
			says: "once she laid they are not",
			write: func(k *keeper) {
				k.check("2026-03-01", "saffron", incubation.Gravid, "", incubation.Straining)
				k.lays("2026-03-02", "saffron", "c-1")
			},
			on: "2026-03-23",
		},
		{
			says:  "straining without white eggs is looked at again first",
			write: func(k *keeper) { k.check("2026-03-20", "saffron", incubation.Quiet, "", incubation.Straining) },
			on:    "2026-03-21",
		},
		{
			says:  "a red belly may be a burn",
			write: func(k *keeper) { k.check("2026-03-20", "saffron", incubation.Quiet, "", incubation.RedBelly) },
			on:    "2026-03-20 14:00", why: "A red belly today: it may be a burn.",
		},
		{
			says:  "weakness is a vet's matter whatever the season",
			write: func(k *keeper) { k.check("2026-08-20", "saffron", incubation.Quiet, "", incubation.Weak) },
			on:    "2026-08-21", why: "Weak yesterday",
		},
		{
			says: "the next check without signs ends it",
			write: func(k *keeper) {
				k.check("2026-03-20", "saffron", incubation.Quiet, "", incubation.RedBelly)
				k.check("2026-03-22", "saffron", incubation.Quiet, "")
			},
			on: "2026-03-22 14:00",
		},
		{
			says: "a clutch twice as late as her interval is none",
			write: func(k *keeper) {
				k.lays("2026-03-01", "saffron", "c-1")
				k.check("2026-04-10", "saffron", incubation.Follicular, incubation.Large)
			},
			on: "2026-04-12",
		},
	} {
		t.Run(c.says, func(t *testing.T) {
			k := keeps(t)
			c.write(k)
			items := due(k.look(c.on), season.Vet, "saffron")
			switch {
			case c.why == "" && len(items) > 0:
				t.Fatalf("a vet is asked for: %s", items[0].Why)
			case c.why == "":
			case len(items) != 1:
				t.Fatalf("%d items", len(items))
			case !strings.Contains(items[0].Why, c.why):
				t.Errorf("reason %q does not say %q", items[0].Why, c.why)
			case items[0].Urgency != season.Now:
				t.Errorf("urgency %s", items[0].Urgency)
			}
		})
	}
}

func TestDueComesInTheOrderOfARound(t *testing.T) {
	k := keeps(t)
	k.animal("wren", incubation.Female, "2023", "rack-4")
	k.lays("2026-02-20", "saffron", "c-1") // candling from 2 March on, late after 6 March
	k.check("2026-03-03", "wren", incubation.Gravid, "", incubation.Weak)
	k.check("2026-03-01", "saffron", incubation.Follicular, incubation.Large)
	k.check("2026-02-27", "pumice", incubation.Follicular, incubation.Small)
	var got []string
	for _, i := range k.look("2026-03-05").Due() {
		got = append(got, string(i.Urgency)+" "+string(i.Kind)+" "+strings.Join(append(i.Animals[:min(1, len(i.Animals))], ""), ""))
	}
	want := []string{
		"now vet wren", // her own; then by rack and slot
		"today check saffron", "today pair saffron",
		"today check pumice",
		"today candle saffron", "today air ", "today weigh-box ",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

func TestTheSameThingDueKeepsItsKey(t *testing.T) {
	k := keeps(t)
	k.check("2026-02-20", "saffron", incubation.Follicular, incubation.Small)
	first := due(k.look("2026-02-24"), season.Check, "saffron")
	second := due(k.look("2026-02-28"), season.Check, "saffron")
	if len(first) != 1 || len(second) != 1 || first[0].Key != second[0].Key {
		t.Errorf("keys of one check: %+v, %+v", first, second)
	}
	k.check("2026-02-28 13:00", "saffron", incubation.Follicular, incubation.Small)
	third := due(k.look("2026-03-05"), season.Check, "saffron")
	if len(third) != 1 || third[0].Key == first[0].Key {
		t.Errorf("the next check has the key of the one before: %+v", third)
	}
}
