package species_test

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"clutchd/incubation"
	"clutchd/incubation/species"
)

// leopardJSON is the shipped profile as JSON.
func leopardJSON(t testing.TB) string { return profileJSON(t, species.Leopard()) }

// plainJSON is a profile with round figures in the places that rows replace.
func plainJSON(t testing.TB) string {
	p := species.Leopard()
	figure := func(value, low, high float64, source string) incubation.Number {
		return incubation.Number{Value: value, Low: low, High: high, Source: source, Mark: incubation.Derived}
	}
	p.Development.Zero = figure(17.5, 15.5, 19.9, "series of geckos")
	p.Development.AnchorDays = figure(53.5, 50, 60, "days of eggs")
	p.Development.Anchor.Mark = incubation.FromMemory
	p.TSP.Start = figure(0.22, 0.2, 0.24, "moved eggs")
	p.Sex.Rising.Slope.Source = "counts of hatchlings"
	p.Sex.Falling.Pivotal = incubation.Number{Value: 32.92, SD: 0.077, Source: "the same", Mark: incubation.Derived}
	return profileJSON(t, p)
}

func profileJSON(t testing.TB, p incubation.Profile) string {
	t.Helper()
	data, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// Every number of the shipped profile says where it is from, those that nobody
// measured included.
func TestLeopard(t *testing.T) {
	p := species.Leopard()
	if p.Species != "Eublepharis macularius" || p.Sex.Rising == nil || p.Sex.Falling == nil {
		t.Errorf("the leopard gecko's profile is of %q, limbs %v and %v", p.Species, p.Sex.Rising,
			p.Sex.Falling)
	}
	var numbers int
	var walk func(path string, v any)
	walk = func(path string, v any) {
		m, ok := v.(map[string]any)
		if !ok {
			return
		}
		if _, ok := m["value"]; ok {
			numbers++
			if source, _ := m["source"].(string); len(source) < 10 {
				t.Errorf("%s has source %q", path, source)
			}
		}
		for k, inner := range m {
			walk(path+"."+k, inner)
		}
	}
	var whole any
	if err := json.Unmarshal([]byte(leopardJSON(t)), &whole); err != nil {
		t.Fatal(err)
	}
	walk("profile", whole)
	if numbers != 24 {
		t.Errorf("found %d numbers, want 24", numbers)
	}
}

func TestProblems(t *testing.T) {
	good := plainJSON(t)
	for _, row := range []struct {
		why  string
		edit []string // from, to, from, to, …
		want []string // parts of the error
	}{
		{"not an object", []string{"{", "["}, []string{"read species profile"}},
		{"something behind it", []string{good, good + " x"}, []string{"follows the object"}},
		{"an unknown key", []string{`"tsp"`, `"tps"`}, []string{"tps"}},
		{
			"a value beyond belief",
			[]string{`"value":53.5`, `"value":5350`},
			[]string{"development.anchor_days: value 5350"},
		},
		{
			"low above value",
			[]string{`"low":15.5`, `"low":18`},
			[]string{"development.zero_celsius: value 17.5 is not from low 18"},
		},
		{
			"low but no high",
			[]string{`"low":50,"high":60`, `"low":50`},
			[]string{"development.anchor_days"},
		},
		{"sd and interval", []string{`"low":50,`, `"low":50,"sd":2,`}, []string{"not both"}},
		{
			"sd under zero",
			[]string{`"sd":0.077`, `"sd":-1`},
			[]string{"sex.falling.pivotal_celsius: sd -1"},
		},
		{
			"an unknown mark",
			[]string{`"mark":"from memory"`, `"mark":"sure"`},
			[]string{`anchor_celsius: mark "sure"`},
		},
		{
			"a published number without source",
			[]string{`"source":"counts of hatchlings"`, `"source":" "`},
			[]string{"sex.rising.slope_kelvin", "source is empty"},
		},
		{
			"anchor below zero",
			[]string{`"value":28,`, `"value":19,`},
			[]string{"not well above zero_celsius"},
		},
		{
			"anchor above the bend",
			[]string{`"value":28,`, `"value":33,`},
			[]string{"not below bend_celsius"},
		},
		{
			"a TSP that ends before it starts",
			[]string{
				`"value":0.22,"low":0.2,"high":0.24`,
				`"value":0.6`,
			},
			[]string{"tsp.start_ratio"},
		},
		{"no name", []string{`"leopard gecko"`, `" "`}, []string{"species and name"}},
		{
			"half a flexit",
			[]string{
				`"rising":{`,
				`"rising":{"flex_below":{"value":1,"source":"","mark":"judgement"},`,
			},
			[]string{"sex.rising has one of"},
		},
		{
			"two problems, told together",
			[]string{
				`"value":53.5`, `"value":5350`, `"from memory"`,
				`"sure"`,
			},
			[]string{"anchor_days", "anchor_celsius"},
		},
	} {
		bad := good
		for i := 0; i < len(row.edit); i += 2 {
			if !strings.Contains(bad, row.edit[i]) {
				t.Fatalf("%s: the profile has no %q", row.why, row.edit[i])
			}
			bad = strings.Replace(bad, row.edit[i], row.edit[i+1], 1)
		}
		p, err := species.Parse([]byte(bad))
		if err == nil {
			t.Errorf("%s: no error", row.why)
			continue
		}
		for _, part := range row.want {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("%s: error %q does not say %q", row.why, err, part)
			}
		}
		if diff := cmp.Diff(incubation.Profile{}, p); diff != "" {
			t.Errorf("%s: a refused profile is not empty:\n%s", row.why, diff)
		}
	}
}

// What Parse accepts prints and parses the same, and an ensemble of it gives
// an estimate that is fit for JSON.
func FuzzParse(f *testing.F) {
	short := regexp.MustCompile(`"source":"[^"]*"`).ReplaceAllString(leopardJSON(f), `"source":"s"`)
	f.Add([]byte(short))
	f.Add([]byte(strings.Replace(short, `"rising":{`,
		`"rising":{"asymmetry":{"value":0.5,"source":"","mark":"judgement"},`, 1)))
	f.Add([]byte(`{}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := species.Parse(data)
		if err != nil {
			if diff := cmp.Diff(incubation.Profile{}, p); diff != "" {
				t.Fatalf("refused, and still not empty:\n%s", diff)
			}
			return
		}
		printed, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		again, err := species.Parse(printed)
		if err != nil {
			t.Fatalf("what it accepted and printed it refuses: %v", err)
		}
		if diff := cmp.Diff(p, again); diff != "" {
			t.Fatalf("printed and parsed it is another:\n%s", diff)
		}
		checkEstimate(t, p)
	})
}

func checkEstimate(t *testing.T, p incubation.Profile) {
	t.Helper()
	track := incubation.NewTrack(incubation.Draw(p, 9), incubation.Laying{})
	var b incubation.Block
	for _, celsius := range []incubation.Celsius{20, 28, 35, 45} {
		b.Start = b.Start.Add(3 * 24 * incubation.BlockLength * 6)
		b.Celsius = celsius
		if err := track.Add(b); err != nil {
			t.Fatal(err)
		}
	}
	e := track.Estimate(incubation.Question{Now: b.Start.Add(incubation.BlockLength), Holds: true})
	if _, err := json.Marshal(e); err != nil {
		t.Fatalf("estimate is not fit for JSON: %v", err)
	}
}
