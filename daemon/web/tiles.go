package web

import (
	"strings"

	"clutchd/incubation"
)

// A stageTile is one answer to what shows through the belly: a button that
// writes it down at one tap. Value is the stage, and behind a slash the size
// of follicles.
type stageTile struct{ Value, Text, Hint string }

// stageTiles are all of them, in the order of a cycle.
func stageTiles() []stageTile {
	return []stageTile{
		{"quiet", "Quiet", "fat pads, level, nothing else"},
		{"follicular/small", "Follicles, small", "round and pink, not level"},
		{"follicular/large", "Follicles, large", "round and pink, they fill the belly"},
		{"shelling", "Shelling", "paler, longer, no more pink"},
		{"gravid", "Gravid", "white and opaque, two as a rule"},
		{"laid", "Laid", "slack where the eggs were"},
		{"resorbed", "Resorbed", "follicles gone, no eggs"},
		{"unsure", "Not sure", "look again in a few days"},
	}
}

// readStage takes a tile's value apart.
func readStage(value string) (incubation.Stage, string) {
	stage, size, _ := strings.Cut(value, "/")
	return incubation.Stage(stage), size
}

// signTexts are what else may be seen at a check.
func signTexts() []option {
	return []option{
		{string(incubation.Straining), "Strains", false},
		{string(incubation.Weak), "Weak", false},
		{string(incubation.RedBelly), "Red belly", false},
		{string(incubation.Thin), "Thin", false},
		{string(incubation.NotEating), "Not eating", false},
		{string(incubation.Digging), "Digs", false},
	}
}

// checkWords tells what was seen at a check, signs included.
func checkWords(c incubation.Check) string {
	parts := []string{stageWord(c.Stage)}
	if c.Size != "" {
		parts = append(parts, c.Size)
	}
	if c.Sides != "" {
		parts = append(parts, sidesWord(c.Sides))
	}
	for _, s := range c.Signs {
		parts = append(parts, signWord(s))
	}
	return strings.Join(parts, ", ")
}

// repeatable reports whether a check may simply be seen again: eggs are laid
// and follicles go back once.
func repeatable(c *incubation.Check) bool {
	return c != nil && c.Stage != incubation.Laid && c.Stage != incubation.Resorbed
}

// vets are the signs that belong to a vet, told where they were seen last.
func vets(c *incubation.Check) []string {
	if c == nil {
		return nil
	}
	var out []string
	for _, s := range c.Signs {
		if s == incubation.Straining || s == incubation.Weak || s == incubation.RedBelly {
			out = append(out, signWord(s))
		}
	}
	return out
}
