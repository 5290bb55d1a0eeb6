package web

import (
	"encoding/json"
	"net/url"
	"strings"
	"testing"
	"time"

	"clutchd/incubation/book"

	"github.com/google/go-cmp/cmp"
)

func TestIdFromName(t *testing.T) {
	for name, want := range map[string]string{
		"Box 3, top": "box-3-top", "  Nutmeg ": "nutmeg", "Ö": "", "": "", "---": "",
		strings.Repeat("ab ", 30): "ab-ab-ab-ab-ab-ab-ab-ab-ab-ab-ab-ab-ab-a",
	} {
		if got := idFrom(name); got != want {
			t.Errorf("%q gives %q, want %q", name, got, want)
		}
	}
}

// What a form gives is an entry that is written and read back the same, with
// data that a JSON reader takes; what it refuses is the zero entry.
func FuzzForm(f *testing.F) {
	for _, seed := range []string{
		"kind=note&text=fed", "kind=setpoint&place=tin&celsius=28,5&unit=°F", "kind=setpoint&place=tin&celsius=NaN",
		"kind=plan&about=egg:k3-a&day-1=20&celsius-1=28", "kind=laying&female=f&from=2026-06-13T21:00&eggs=2&clutch=k5",
		"kind=limits&place=tin&over_setpoint_kelvin=1e300", "kind=void&entry=-1", "kind=probe&probe=a&offset_kelvin=-0.1",
		"kind=place&name=Box+1&place_kind=box&gone=yes", "kind=hatch&egg=a&at=0000-00-00T00:00",
		"kind=sexed&egg=a&sex=male&how=anatomy", "kind=sexed&clutch=c&males=1&females=0,5&how=temperature",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		values, err := url.ParseQuery(text)
		if err != nil {
			return
		}
		e, wrong := readForm(values, words{}, dawn)
		if wrong != nil {
			if diff := cmp.Diff(book.Entry{}, e); diff != "" || wrong.Text == "" {
				t.Fatalf("refused with %+v, but not zero: %s", wrong, diff)
			}
			return
		}
		written, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		var back book.Entry
		if err := json.Unmarshal(written, &back); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(e, back); diff != "" {
			t.Fatal(diff)
		}
		if _, err := book.Decode(e); err != nil && strings.Contains(err.Error(), "unknown field") {
			t.Fatalf("the book does not know what the form %s writes: %v", e.Kind, err)
		}
	})
}

// What the API takes as an entry it writes back the same; what it refuses is
// the zero entry.
func FuzzEntry(f *testing.F) {
	f.Add(`{"kind":"note","data":{"text":"x"}}`)
	f.Add(`{"request":"r","at":"2026-06-14T10:00:00+02:00","zone":"Europe/Berlin","by":"s","kind":"pip","data":{"egg":"a"}}`)
	f.Add(`{"kind":"note","data":{"text":"x"}} {}`)
	f.Add(`null`)
	f.Fuzz(func(t *testing.T, text string) {
		e, err := readEntry(strings.NewReader(text))
		if err != nil {
			if diff := cmp.Diff(book.Entry{}, e); diff != "" {
				t.Fatalf("refused, but not zero: %s", diff)
			}
			return
		}
		e.Seq, e.Made = 0, time.Time{}
		written, err := json.Marshal(struct {
			Request string          `json:"request"`
			At      time.Time       `json:"at"`
			Zone    string          `json:"zone"`
			By      string          `json:"by"`
			Kind    book.Kind       `json:"kind"`
			Data    json.RawMessage `json:"data"`
		}{e.Request, e.At, e.Zone, e.By, e.Kind, e.Data})
		if err != nil {
			t.Fatalf("taken, but cannot be written: %v", err)
		}
		back, err := readEntry(strings.NewReader(string(written)))
		if err != nil {
			t.Fatal(err)
		}
		var a, b any
		if json.Unmarshal(e.Data, &a) != nil || json.Unmarshal(back.Data, &b) != nil {
			t.Fatal("data is no JSON")
		}
		e.Data, back.Data = nil, nil
		if diff := cmp.Diff(e, back); diff != "" || !cmp.Equal(a, b) {
			t.Fatalf("%s\n%v\n%v", diff, a, b)
		}
	})
}
