package demo_test

import (
	"slices"
	"testing"
	"time"

	"clutchd/daemon/demo"
	"clutchd/incubation/season"
)

// The pages of the season must have something true to show, whenever the demo
// is started.
func TestTheSeasonsPagesHaveSomethingToShow(t *testing.T) {
	for _, now := range []time.Time{
		told, time.Date(2026, 11, 27, 8, 0, 0, 0, time.UTC), time.Date(2027, 2, 3, 19, 0, 0, 0, time.UTC),
	} {
		entries, _ := demo.Story(now, zone)
		h := season.Look(written(t, entries), now, season.Options{})
		items := h.Due()
		has := func(kind season.Kind, animal string) bool {
			return slices.ContainsFunc(items, func(i season.Item) bool {
				return i.Kind == kind && (animal == "" || slices.Contains(i.Animals, animal))
			})
		}
		for _, row := range []struct {
			says   string
			kind   season.Kind
			animal string
		}{
			{"Sorrel's white eggs send to the lay box", season.LayBox, "sorrel"},
			{"Marzipan's large follicles propose a pairing with who is not her sire", season.Pair, "marzipan"},
			{"Fennel's small follicles were not looked at for eleven days", season.Check, "fennel"},
			{"Juniper lost too much", season.Weigh, "juniper"},
			{"and is treated", season.Treat, "juniper"},
			{"Flint's quarantine ends", season.Quarantine, "flint"},
			{"boxes are to be aired", season.Air, ""},
			{"new eggs are to be candled", season.Candle, ""},
			{"young are to be sexed", season.Sex, ""},
		} {
			if !has(row.kind, row.animal) {
				t.Errorf("%v: %s: no %s item", now, row.says, row.kind)
			}
		}
		for _, i := range items {
			if i.Kind == season.Vet {
				t.Errorf("%v: a calm room sends %s to a vet: %s", now, i.Animals, i.Why)
			}
			if i.Kind == season.Pair && slices.Contains(i.Animals, "marzipan") && slices.Contains(i.Animals, "obsidian") {
				t.Errorf("%v: Obsidian is Marzipan's sire", now)
			}
		}
		if late, unseen := season.Late(items, now), h.Unseen(); len(late)+len(unseen) > 0 {
			t.Errorf("%v: going live would tell of %v late and %v unseen", now, late, unseen)
		}
		if f := h.Ahead(season.Span{}); f.Layings.Middle < 10 || f.Capacity != 8 {
			t.Errorf("%v: layings ahead %+v, %d boxes", now, f.Layings, f.Capacity)
		}
		if f := h.Fertility(); len(f.Males) != 2 || f.Sireless > 7 {
			t.Errorf("%v: %d males with clutches, %d clutches without a sire", now, len(f.Males), f.Sireless)
		}
	}
}
