package daemon_test

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"clutchd/daemon/monitor"
	"clutchd/daemon/store"
	"clutchd/daemon/web"
	"clutchd/incubation"
	"clutchd/incubation/book"
	"clutchd/incubation/species"
)

// The pages of a clutch of two with sixty days of two probes at 10 s behind
// it, in the box and in the cabinet's air. "first" is asked after
// something was written down; the others as they are opened again.
func BenchmarkClutchPages(b *testing.B) {
	kept, err := store.Open(b.Context(), b.TempDir(), store.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer kept.Close()
	room, from, length := newNoisy(2), time.Date(2026, 2, 1, 0, 0, 0, 0, time.UTC), 60*24*time.Hour
	room.fill(b, kept, from, length)
	for name, ends := range map[string]bool{"live": false, "over": true} {
		state := pagesBook(b, from, ends)
		track := incubation.NewTrack(species.Ensemble(1000), state.Clutches["c-1"].Laid)
		for at := from.Add(time.Hour); at.Before(from.Add(58 * 24 * time.Hour)); at = at.Add(incubation.BlockLength) {
			if err := track.Add(incubation.Block{
				Start: at, Celsius: 28, Covered: 1, Probe: "p00", Position: incubation.Substrate, Accuracy: 0.2,
			}); err != nil {
				b.Fatal(err)
			}
		}
		now := from.Add(58 * 24 * time.Hour)
		snap := &monitor.Snapshot{Time: now, Trusted: true, Tick: 1, Book: state}
		for _, p := range room.probes {
			snap.Probes = append(snap.Probes, monitor.ProbeNow{Probe: p})
		}
		c := monitor.ClutchNow{ID: "c-1", Laid: monitor.LaidJSON{From: from, To: from.Add(time.Hour)}}
		estimate := track.Estimate(incubation.Question{Now: now})
		for _, e := range state.Clutches["c-1"].Eggs {
			c.Eggs = append(c.Eggs, monitor.EggNow{ID: e.ID, Mark: e.Mark, State: e.State, Box: "box", Estimate: &estimate})
		}
		snap.Clutches = []monitor.ClutchNow{c}
		serve := func(b *testing.B) http.Handler {
			pages, err := web.New(web.Options{
				Listen: "127.0.0.1:8080", History: kept, Profile: species.Leopard(),
				Snapshot: func() *monitor.Snapshot { return snap },
				Track:    func(string) *incubation.Track { return track.Freeze() },
			})
			if err != nil {
				b.Fatal(err)
			}
			return pages.Handler()
		}
		for _, path := range []string{"/clutches/c-1", "/clutches/c-1/review", "/api/clutches/c-1/history?points=800"} {
			get := func(b *testing.B, h http.Handler) {
				w := httptest.NewRecorder()
				h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, "http://127.0.0.1:8080"+path, nil))
				if w.Code != http.StatusOK {
					b.Fatalf("%s: status %d", path, w.Code)
				}
			}
			b.Run(name+path+" first", func(b *testing.B) {
				h := serve(b)
				n, began := 0, cpu(b)
				for b.Loop() {
					state.LastSeq++ // as after an entry: nothing that was made counts any more
					get(b, h)
					n++
				}
				b.ReportMetric(float64((cpu(b)-began).Microseconds())/1000/float64(n), "cpu-ms/op")
			})
			b.Run(name+path, func(b *testing.B) {
				h := serve(b)
				for b.Loop() {
					get(b, h)
				}
			})
		}
	}
}

// pagesBook is the book of that clutch, and of a season of others beside it.
func pagesBook(b *testing.B, from time.Time, ends bool) *book.State {
	b.Helper()
	var entries []book.Entry
	write := func(at time.Time, kind book.Kind, data any) {
		raw, err := json.Marshal(data)
		if err != nil {
			b.Fatal(err)
		}
		entries = append(entries, book.Entry{Seq: uint64(len(entries) + 1), At: at, Made: at, Zone: "UTC", Kind: kind, Data: raw})
	}
	before := from.Add(-time.Hour)
	write(before, book.KindPlace, book.PlaceData{Place: "warm", Kind: incubation.Incubator, Name: "Warm"})
	write(before, book.KindPlace, book.PlaceData{Place: "box", Kind: incubation.Box, Name: "Box"})
	write(before, book.KindStand, book.StandData{Place: "box", In: "warm"})
	write(before, book.KindSetpoint, book.SetpointData{Place: "warm", Celsius: 28})
	write(before, book.KindProbe, book.ProbeData{Probe: "p00", Place: "box", Position: incubation.Substrate})
	write(before, book.KindProbe, book.ProbeData{Probe: "p01", Place: "warm", Position: incubation.IncubatorAir})
	write(before, book.KindFemale, book.FemaleData{Female: "f", Name: "F"})
	for i := range 60 {
		id := "c-" + string(rune('1'+i%9)) + "-" + string(rune('a'+i/9))
		at := from.Add(time.Duration(i) * 20 * time.Hour)
		if i == 0 {
			id, at = "c-1", from.Add(time.Hour)
		}
		write(at, book.KindLaying, book.LayingData{
			Clutch: id, Female: "f", From: at.Add(-time.Hour), To: at,
			Eggs: []book.EggName{{Egg: id + "-x", Mark: "A"}, {Egg: id + "-y", Mark: "B"}},
		})
		for _, egg := range []string{"-x", "-y"} {
			write(at, book.KindEgg, book.EggData{Egg: id + egg, Box: "box"})
			for week := range 6 {
				write(at.AddDate(0, 0, 7*week+1), book.KindCandle, book.CandleData{Egg: id + egg, Seen: "alive"})
			}
		}
	}
	if ends {
		for _, egg := range []string{"c-1-x", "c-1-y"} {
			write(from.Add(57*24*time.Hour), book.KindHatch, book.HatchData{Egg: egg})
		}
	}
	s := book.Fold(entries)
	if len(s.Problems) > 0 {
		b.Fatal(s.Problems[0])
	}
	return s
}
