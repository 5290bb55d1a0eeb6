package book_test

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation/book"
)

func TestDecode(t *testing.T) {
	for _, row := range []struct {
		name, kind, data string
		want             any
		fails            string
	}{
		{"its own type, by value", "egg", `{"egg":"e","box":"b"}`, book.EggData{Egg: "e", Box: "b"}, ""},
		{"blanks around it", "pip", " {\"egg\":\"e\"}\n", book.EggEvent{Egg: "e"}, ""},
		{"values are not judged here", "fail", `{}`, book.FailData{}, ""},
		{"an unknown kind", "dream", `{}`, nil, `decode entry: kind "dream" is not known`},
		{"an unknown field", "egg", `{"egg":"e","bx":"b"}`, nil, `decode egg entry: unknown field "bx"`},
		{"a field of the wrong type", "egg", `{"egg":7}`, nil, "decode egg entry: cannot unmarshal number"},
		{"no object", "egg", `null`, nil, "decode egg entry: its data is not a JSON object"},
		{"nothing", "egg", ``, nil, "decode egg entry: its data is not a JSON object"},
		{"a second object", "egg", `{"egg":"e"}{}`, nil, "decode egg entry: something follows its data"},
		{"cut short", "egg", `{"egg":"e"`, nil, "decode egg entry: unexpected EOF"},
	} {
		got, err := book.Decode(book.Entry{Kind: book.Kind(row.kind), Data: json.RawMessage(row.data)})
		if d := cmp.Diff(row.want, got); d != "" {
			t.Errorf("%s (-want +got):\n%s", row.name, d)
		}
		if row.fails == "" && err != nil || row.fails != "" &&
			(err == nil || !strings.HasPrefix(err.Error(), row.fails)) {
			t.Errorf("%s: %v, want %s", row.name, err, row.fails)
		}
	}
}

// FuzzDecode: what is accepted is printed and read back the same; what is
// refused gives nothing.
func FuzzDecode(f *testing.F) {
	for _, e := range ended() {
		f.Add(string(e.Kind), []byte(e.Data))
	}
	f.Add("plan", []byte(`{"egg":"e","steps":[{"at":"2026-03-01T00:00:00+02:00","celsius":28},{"day":20,"box":"b"}]}`))
	f.Add("sexed", []byte(`{"egg":"c-1-a","sex":"female","how":"anatomy"}`))
	f.Add("sexed", []byte(`{"clutch":"c-1","males":1,"females":0,"how":"temperature"}`))
	f.Add("contact", []byte(`{"contact":"door-1","kind":"door","place":"warm"}`))
	f.Add("limits", []byte(`{"place":"p","low_celsius":-0,"high_celsius":1e-300}`))
	f.Fuzz(func(t *testing.T, kind string, data []byte) {
		e := book.Entry{Kind: book.Kind(kind), Data: data}
		got, err := book.Decode(e)
		if err != nil {
			if got != nil {
				t.Fatalf("refused, yet gave %v", got)
			}
			return
		}
		if e.Data, err = json.Marshal(got); err != nil {
			t.Fatalf("accepted %q but cannot print it: %v", data, err)
		}
		again, err := book.Decode(e)
		if err != nil {
			t.Fatalf("accepted %q but not its print %q: %v", data, e.Data, err)
		}
		if d := cmp.Diff(got, again); d != "" {
			t.Fatalf("read back otherwise (-first +second):\n%s", d)
		}
	})
}

// FuzzFold: no entry, however strange, breaks the fold or makes Check and
// Fold disagree about it.
func FuzzFold(f *testing.F) {
	for _, e := range ended() {
		f.Add(string(e.Kind), []byte(e.Data), int64(60*24), uint64(0))
	}
	f.Add("void", []byte(`{"entry":10}`), int64(0), uint64(9))
	f.Add("sexed", []byte(`{"egg":"c-1-a","sex":"male","how":"anatomy"}`), int64(120*24), uint64(0))
	f.Add("sexed", []byte(`{"clutch":"c-1","males":1,"how":"anatomy"}`), int64(120*24), uint64(0))
	base := ended()
	f.Fuzz(func(t *testing.T, kind string, data []byte, hours int64, seq uint64) {
		at := day(0).Add(time.Duration(hours%1e6) * time.Hour)
		e := book.Entry{Seq: seq, At: at, Kind: book.Kind(kind), Data: data}
		before := book.Fold(base)
		err := book.Check(before, e)
		after := before.With(e)
		if err == nil && len(after.Problems) > 0 && e.Kind != book.KindVoid {
			t.Fatalf("passed, yet: %q", after.Problems)
		}
		if err == nil && len(after.Entries) != len(base)+1 {
			t.Fatalf("passed, yet the book has %d entries", len(after.Entries))
		}
	})
}

// FuzzFoldAny: any entries at all fold without a panic, to the same state
// from either end.
func FuzzFoldAny(f *testing.F) {
	whole := ended()
	for _, entries := range [][]book.Entry{nil, whole[2:3], whole[7:10], whole[9:12], whole[14:]} {
		raw, err := json.Marshal(entries)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(raw)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		var entries []book.Entry
		if json.Unmarshal(raw, &entries) != nil {
			return
		}
		s := book.Fold(entries)
		slices.Reverse(entries)
		if other := book.Fold(entries); !reflect.DeepEqual(s, other) { // cmp is slow
			t.Fatalf("from the other end it folds otherwise:\n%s", cmp.Diff(s, other))
		}
		for id := range s.Eggs {
			s.PlanSteps(id, day(10))
		}
		for id := range s.Places {
			if s.Path(id, day(10)) == "" {
				t.Fatalf("place %q has no path", id)
			}
		}
	})
}
