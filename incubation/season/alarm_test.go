package season_test

import (
	"slices"
	"strings"
	"testing"

	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/season"
)

func TestWhoMayHaveLaidUnseen(t *testing.T) {
	for _, c := range []struct {
		says  string
		write func(k *keeper)
		on    string
		why   string // "": not told
	}{
		{
			says:  "white eggs seen two days ago and nobody looked since",
			write: func(k *keeper) { k.check("2026-03-20", "saffron", incubation.Gravid, "") },
			on:    "2026-03-22", why: "White eggs were last seen on 20 March, 2 days ago.",
		},
		{
			says:  "an hour less",
			write: func(k *keeper) { k.check("2026-03-20", "saffron", incubation.Gravid, "") },
			on:    "2026-03-22 11:00",
		},
		{
			says: "a look that was not sure counts as one",
			write: func(k *keeper) {
				k.check("2026-03-20", "saffron", incubation.Gravid, "")
				k.check("2026-03-21", "saffron", incubation.Unsure, "")
			},
			on: "2026-03-22",
		},
		{
			says: "the clutch in the book ends it",
			write: func(k *keeper) {
				k.check("2026-03-20", "saffron", incubation.Gravid, "")
				k.lays("2026-03-21", "saffron", "c-1")
			},
			on: "2026-03-25",
		},
		{
			// Laid on 1 March, quiet on the 10th: not before the 27th. Of N(22, 4.2557)
			// from there on 10, 50 and 90 % are 27, 28 and 31 March.
			says: "past the likeliest day, and no look for a week",
			write: func(k *keeper) {
				k.lays("2026-03-01", "saffron", "c-1")
				k.check("2026-03-10", "saffron", incubation.Quiet, "")
			},
			on: "2026-03-29", why: "A clutch is expected 27 to 31 March, and she was last looked at on 10 March, 19 days ago.",
		},
		{
			says: "before the likeliest day it is only on the list",
			write: func(k *keeper) {
				k.lays("2026-03-01", "saffron", "c-1")
				k.check("2026-03-10", "saffron", incubation.Quiet, "")
			},
			on: "2026-03-28",
		},
		{
			says:  "a keeper who writes no check hears nothing of an interval",
			write: func(k *keeper) { k.lays("2026-03-01", "saffron", "c-1") },
			on:    "2026-03-24",
		},
	} {
		t.Run(c.says, func(t *testing.T) {
			k := keeps(t)
			c.write(k)
			if got := k.look(c.on).Unseen()["saffron"]; got != c.why {
				t.Errorf("%q, want %q", got, c.why)
			}
		})
	}
}

func TestWhenTheSeasonsBookIsKept(t *testing.T) {
	k := keeps(t)
	k.lays("2026-03-01", "saffron", "c-1")
	if k.look("2026-03-10").Kept() {
		t.Error("a laying alone is no season's book: checks are")
	}
	k.check("2026-03-10", "saffron", incubation.Quiet, "")
	if !k.look("2026-05-08").Kept() || k.look("2026-05-09 13:00").Kept() {
		t.Error("a check keeps it for sixty days")
	}
}

func TestLateChecks(t *testing.T) {
	k := keeps(t)
	k.check("2026-03-10", "saffron", incubation.Follicular, incubation.Large) // late from 18 March on
	h := k.look("2026-03-23 23:00")
	if late := season.Late(h.Due(), on("2026-03-23 23:00")); len(late) != 0 {
		t.Errorf("six days late: %v", late)
	}
	h = k.look("2026-03-24")
	if late := season.Late(h.Due(), on("2026-03-24")); !slices.Contains(late, "saffron") {
		t.Errorf("a week late: %v", late)
	}
}

func TestBrief(t *testing.T) {
	k := keeps(t)
	k.lays("2026-02-20", "saffron", "c-1")
	k.check("2026-03-01", "saffron", incubation.Follicular, incubation.Small)
	k.check("2026-03-01", "pumice", incubation.Quiet, "", incubation.Weak)
	k.add("2026-02-25", book.KindLooked, book.LookedData{Box: "box-1", Aired: true})
	h := k.look("2026-03-06")
	items := h.Due()
	want := "Due today: to a vet: Pumice; bellies: Saffron; candle: Saffron; air: Box 1."
	if got := h.Brief(items, 300); got != want {
		t.Errorf("%q, want %q", got, want)
	}
	short := h.Brief(items, 60)
	if len([]rune(short)) > 60 || !strings.Contains(short, "to a vet: 1") {
		t.Errorf("in 60 characters it only counts: %q", short)
	}
	if got := h.Brief(nil, 300); got != "" {
		t.Errorf("of nothing: %q", got)
	}
}
