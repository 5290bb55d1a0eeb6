package web

import (
	"strconv"
	"strings"

	"clutchd/incubation/book"
	"clutchd/incubation/season"
)

// gateLines are the gates as the form asks for them and the settings tell
// them: what the data calls each, and how it is written.
func gateFields(g book.GatesData) []field {
	num := func(p *float64, times float64) string {
		if p == nil {
			return ""
		}
		return plainly(*p*times, 1)
	}
	clutches := ""
	if g.MaxClutches != nil {
		clutches = strconv.Itoa(*g.MaxClutches)
	}
	all := []field{
		{Name: "min_months", Label: "At least this old", Value: num(g.MinMonths, 1), Suffix: "months", Mode: "decimal"},
		{Name: "min_grams", Label: "At least this heavy", Value: num(g.MinGrams, 1), Suffix: "g", Mode: "decimal"},
		{
			Name: "max_loss_ratio", Label: "Lost at most, of her heaviest this season",
			Value: num(g.MaxLossRatio, 100), Suffix: "%", Mode: "decimal",
		},
		{Name: "max_clutches", Label: "Clutches in one season at most", Value: clutches, Mode: "numeric"},
		{
			Name: "rest_days", Label: "Rest after a pairing she accepted",
			Value: num(g.RestDays, 1), Suffix: "days", Mode: "decimal",
		},
	}
	for i := range all {
		all[i].Optional = true
	}
	return all
}

func gatesForm() form {
	return form{
		Kind: book.KindGates, Title: "Gates before a pairing", Verb: "Write them down",
		Hint: "What you want of a female before a pairing is proposed. An empty field leaves the starting " +
			"value, which is common practice, no source.",
		fields: func(v *visit) []field {
			var g book.GatesData
			if v.snap.Book.Gates != nil {
				g = *v.snap.Book.Gates
			}
			fields := gateFields(g)
			for i, start := range gateFields(startingGates()) {
				fields[i].Hint = strings.TrimSpace("Empty: "+start.Value+nbsp+start.Suffix) + "."
			}
			return fields
		},
		read: func(a *answers) any {
			d := book.GatesData{
				MinMonths: a.maybe("min_months", 120), MinGrams: a.maybe("min_grams", 250),
				MaxLossRatio: a.maybe("max_loss_ratio", 100), RestDays: a.maybe("rest_days", 365),
			}
			if d.MaxLossRatio != nil {
				*d.MaxLossRatio /= 100
			}
			if a.text("max_clutches") != "" {
				n := a.count("max_clutches", 0, 30)
				d.MaxClutches = &n
			}
			return d
		},
	}
}

// maybe is a number from 0 to high; nil: the field was left empty.
func (a *answers) maybe(name string, high float64) *float64 {
	if a.text(name) == "" {
		return nil
	}
	n := a.number(name, 0, high)
	return &n
}

// gateFacts tells the gates that hold: the keeper's, else the starting values.
func (v *visit) gateFacts() []fact {
	var g book.GatesData
	if v.snap.Book.Gates != nil {
		g = *v.snap.Book.Gates
	}
	starts := gateFields(startingGates())
	var out []fact
	for i, f := range gateFields(g) {
		text, starting := f.Value, ""
		if text == "" {
			text, starting = starts[i].Value, ", starting value"
		}
		if f.Suffix != "" {
			text += nbsp + f.Suffix
		}
		out = append(out, fact{f.Label, text + starting})
	}
	return out
}

// startingGates are the gates that hold where the keeper set none.
func startingGates() book.GatesData {
	var g book.GatesData
	for _, a := range season.Assumptions() {
		switch value, whole := a.Value, int(a.Value); a.Key {
		case season.MinMonths:
			g.MinMonths = &value
		case season.MinGrams:
			g.MinGrams = &value
		case season.MaxLoss:
			g.MaxLossRatio = &value
		case season.MaxClutches:
			g.MaxClutches = &whole
		case season.RestDays:
			g.RestDays = &value
		}
	}
	return g
}
