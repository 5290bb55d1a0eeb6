package fit

import (
	"bytes"
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"clutchd/incubation"
)

// LeopardFile is the name of the leopard gecko's published values, beside
// this source.
const LeopardFile = "leopard-gecko.json"

//go:embed leopard-gecko.json
var leopard []byte

// Data is what has been published of one species and its relatives, with what
// had to be judged to use it. It is a data file.
type Data struct {
	Species      string           `json:"species"`
	Papers       []string         `json:"papers"` // what the rows cite in short
	Hatchlings   []Hatchlings     `json:"hatchlings"`
	Shares       []Share          `json:"shares"`
	MostlyFemale []Share          `json:"mostly_female"`
	Series       []Series         `json:"series"`
	Anchor       float64          `json:"anchor_celsius"` // of priors "days"
	Durations    []Duration       `json:"durations"`
	Stages       []Stage          `json:"stages"`
	Switches     []Switch         `json:"switches"`
	SwitchEggs   Eggs             `json:"switch_eggs"`
	Priors       map[string]Prior `json:"priors"`
	Siblings     Siblings         `json:"siblings"`

	hash string
}

// Source says where a row is from and what it is worth.
type Source struct {
	Source string          `json:"source"`
	Mark   incubation.Mark `json:"mark"`
}

// Hatchlings are the sexed hatchlings of one laboratory and temperature.
type Hatchlings struct {
	Celsius    float64 `json:"celsius"`
	Laboratory string  `json:"laboratory"`
	Sexed      int     `json:"sexed"`
	Males      int     `json:"males"`
	LeftOut    string  `json:"left_out,omitempty"` // why; "": it is used
	Source
}

// A Share is a percentage, or just "mostly females", of an unknown number of
// eggs.
type Share struct {
	Celsius    float64 `json:"celsius"`
	Laboratory string  `json:"laboratory"`
	Percent    float64 `json:"percent_male"`
	Eggs       Eggs    `json:"eggs"`
	Source
}

// Eggs is a number of eggs that was not given: any from Least to Most, the
// chance of n as 1/n.
type Eggs struct {
	Least int `json:"least"`
	Most  int `json:"most"`
	Source
}

// Series are the mean durations of one study of a relative, at constant
// temperatures.
type Series struct {
	Species string  `json:"species"`
	Points  []Point `json:"points"`
	Source
}

// A Point is a mean duration at a temperature.
type Point struct {
	Celsius float64 `json:"celsius"`
	Days    float64 `json:"days"`
}

// A Duration is one of the species itself, at a temperature that is not well
// known.
type Duration struct {
	Celsius   float64 `json:"celsius"`
	CelsiusSD float64 `json:"celsius_sd"`
	Days      float64 `json:"days"`
	RatioSD   float64 `json:"ratio_sd"` // of the logarithm, beside the temperature's
	Source
}

// A Stage is where the TSP was seen to start or end: after so many days at a
// constant temperature, give or take SD of development.
type Stage struct {
	Of      string  `json:"of"` // start or end
	Celsius float64 `json:"celsius"`
	Days    float64 `json:"days"`
	SD      float64 `json:"sd"`
	Source
}

// A Switch is what became of eggs moved once from one temperature to another.
type Switch struct {
	From    float64 `json:"from"`
	Days    float64 `json:"days"`
	To      float64 `json:"to"`
	Finding Finding `json:"finding"`
	Source
}

// Finding is what was seen of eggs that were moved.
type Finding string

// The findings.
const (
	AsWarm Finding = "as at 32"    // no difference from eggs that were never moved
	NoMale Finding = "no male"     // not one
	Fewer  Finding = "fewer males" // at least one female that 32 °C alone would not have made
)

// warm is the constant temperature that moved eggs were held against, °C.
const warm = 32

// Siblings is how many eggs of one female lie in a cell of a table.
type Siblings struct {
	Eggs float64 `json:"eggs"`
	Source
}

// Leopard gives the leopard gecko's published values.
func Leopard() Data {
	d, err := Parse(leopard)
	if err != nil {
		// The file is part of the program, and a test parses it.
		panic(err)
	}
	return d
}

// Parse reads published values.
func Parse(text []byte) (Data, error) {
	var d Data
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&d); err != nil {
		return Data{}, fmt.Errorf("read published values: %w", err)
	}
	if err := d.check(); err != nil {
		return Data{}, fmt.Errorf("check published values: %w", err)
	}
	sum := sha256.Sum256(text)
	d.hash = hex.EncodeToString(sum[:])
	return d, nil
}

func (d Data) check() error {
	var problems []error
	complain := func(format string, args ...any) {
		problems = append(problems, fmt.Errorf(format, args...))
	}
	for _, h := range d.Hatchlings {
		if h.Sexed < 1 || h.Males < 0 || h.Males > h.Sexed || h.Laboratory == "" {
			complain("%d males of %d sexed in %q", h.Males, h.Sexed, h.Laboratory)
		}
	}
	for _, name := range priorNames {
		if p, ok := d.Priors[name]; !ok || p.SD < 0 || p.Least >= p.Most {
			complain("prior %q is missing or has no width: %+v", name, p)
		}
	}
	if len(d.Priors) != len(priorNames) {
		complain("%d priors, want %d", len(d.Priors), len(priorNames))
	}
	for _, s := range d.sources() {
		if s.Mark == "" || s.Source == "" && s.Mark != incubation.Judgement {
			complain("source %q has mark %q", s.Source, s.Mark)
		}
	}
	return errors.Join(problems...)
}

// sources are those of every row.
func (d Data) sources() []Source {
	var out []Source
	for _, h := range d.Hatchlings {
		out = append(out, h.Source)
	}
	for _, s := range slices.Concat(d.Shares, d.MostlyFemale) {
		out = append(out, s.Source)
	}
	for _, s := range d.Series {
		out = append(out, s.Source)
	}
	for _, r := range d.Durations {
		out = append(out, r.Source)
	}
	for _, r := range d.Stages {
		out = append(out, r.Source)
	}
	for _, r := range d.Switches {
		out = append(out, r.Source)
	}
	for _, name := range priorNames {
		out = append(out, d.Priors[name].Source)
	}
	return append(out, d.SwitchEggs.Source, d.Siblings.Source)
}

// laboratories are the names of those whose rows are used, in their order.
func (d Data) laboratories() []string {
	var out []string
	for _, h := range d.Hatchlings {
		if h.LeftOut == "" && !slices.Contains(out, h.Laboratory) {
			out = append(out, h.Laboratory)
		}
	}
	return out
}
