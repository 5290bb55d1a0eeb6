package logger

import (
	"fmt"
	"math"
	"slices"
)

// tooWarm is the median above which a file that names no unit is in °F: no
// room, box or nest that a gecko or its eggs live in is half its time above
// 45 °C, and none of them is half its time below 45 °F. Judgement.
const tooWarm = 45

func checkUnit(unit string) error {
	if unit != "" && unit != "C" && unit != "F" {
		return fmt.Errorf("read the log in unit %q: it can be C or F", unit)
	}
	return nil
}

// unit decides whether the file is in °C or °F.
func (f *file) unit() string {
	mid := f.median(func(r *row) float64 { return r.temperature })
	named := f.head.unit
	if named == "" {
		named = f.options.Unit
	}
	switch {
	case named == "C" && mid > tooWarm:
		f.notes.add("half of the temperatures are above %.1f, which is warm for °C: is it °F?", mid)
	case named == "" && mid > tooWarm:
		f.notes.add("nothing names the unit: with half of the temperatures above %.1f "+
			"they are taken as °F", mid)
		return "F"
	case named == "":
		f.notes.add("nothing names the unit: with half of the temperatures below %.1f "+
			"they are taken as °C", mid)
		return "C"
	}
	return named
}

// percent decides whether humidity is in percent or a ratio.
func (f *file) percent() bool {
	if f.head.humidity < 0 || f.head.ratio != "" {
		return f.head.ratio == "percent"
	}
	mid := f.median(func(r *row) float64 { return r.humidity })
	if mid == 0 || mid > 1.06 { // 0 also where no row has any
		return true
	}
	f.notes.add("nothing names humidity's unit: with half of its values below %.2f "+
		"it is taken as a ratio", mid)
	return false
}

// median gives the middle of what the rows hold, NaN left out; 0 of nothing.
func (f *file) median(of func(*row) float64) float64 {
	values := make([]float64, 0, f.rows.count)
	for r := range f.rows.all() {
		if v := of(r); !math.IsNaN(v) {
			values = append(values, v)
		}
	}
	if len(values) == 0 {
		return 0
	}
	slices.Sort(values)
	return values[len(values)/2]
}

func celsius(v float64, unit string) float64 {
	if unit == "F" {
		return (v - 32) * 5 / 9
	}
	return v
}
