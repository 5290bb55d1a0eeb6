package fit_test

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"clutchd/incubation/species/fit"
)

// Every row says which paper it is from, and each of those is on the list.
func TestPapers(t *testing.T) {
	d := fit.Leopard()
	cited := regexp.MustCompile(`^(\p{L}+)\D*(\d{4})`)
	rows := map[string]bool{}
	for _, h := range d.Hatchlings {
		rows[h.Source.Source] = true
	}
	for _, s := range append(d.Shares, d.MostlyFemale...) {
		rows[s.Source.Source] = true
	}
	for _, s := range d.Series {
		rows[s.Source.Source] = true
	}
	for _, s := range d.Stages {
		rows[s.Source.Source] = true
	}
	for _, s := range d.Switches {
		rows[s.Source.Source] = true
	}
	for row := range rows {
		name := cited.FindStringSubmatch(row)
		if name == nil {
			t.Errorf("no paper in %q", row)
			continue
		}
		found := false
		for _, p := range d.Papers {
			found = found || strings.HasPrefix(p, name[1]) && strings.Contains(p, name[2])
		}
		if !found {
			t.Errorf("%s %s is not among the papers", name[1], name[2])
		}
	}
}

// What is left out is said to be, with the reason.
func TestRowsLeftOut(t *testing.T) {
	out := 0
	for _, h := range fit.Leopard().Hatchlings {
		if h.LeftOut != "" {
			out++
			if h.Laboratory != "Florida" {
				t.Errorf("%s at %g °C is left out: %s", h.Laboratory, h.Celsius, h.LeftOut)
			}
		}
	}
	if out != 3 {
		t.Errorf("%d rows are left out, want the three of Janes et al. 2007", out)
	}
}

func TestParseRefuses(t *testing.T) {
	data, err := os.ReadFile(fit.LeopardFile)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct{ why, from, to, want string }{
		{"no JSON", "{", "<", "read published values"},
		{"an unknown key", `"hatchlings"`, `"hatched"`, "hatched"},
		{"more males than hatchlings", `"sexed": 120, "males": 0`, `"sexed": 120, "males": 121`, "121 males of 120"},
		{"a prior that is missing", `"zero_mean": {`, `"zero_men": {`, `prior "zero_mean" is missing`},
		{"a prior without width", `"least": 27, "most": 33`, `"least": 33, "most": 27`, `prior "rising"`},
		{"a row without a source", `"source": "Xu 2007, table 3, -12 kPa"`, `"source": ""`, `mark "published"`},
	} {
		if !strings.Contains(string(data), row.from) {
			t.Fatalf("%s: the file has no %q", row.why, row.from)
		}
		d, err := fit.Parse([]byte(strings.Replace(string(data), row.from, row.to, 1)))
		if err == nil || !strings.Contains(err.Error(), row.want) || d.Species != "" {
			t.Errorf("%s: error %v, data of %q", row.why, err, d.Species)
		}
	}
}
