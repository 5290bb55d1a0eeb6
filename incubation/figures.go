package incubation

// A Figure is a number of a profile, by its name in the file, such as
// "development.zero_celsius".
type Figure struct {
	Name string
	Number
}

// Figures gives every number of the profile, in the order of its file.
func (p Profile) Figures() []Figure {
	var out []Figure
	for _, f := range p.figures() {
		out = append(out, Figure{f.name, f.number})
	}
	return out
}
