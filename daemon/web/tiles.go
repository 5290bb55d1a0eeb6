package web

import (
	"slices"

	"clutchd/incubation"
)

// stageTiles are the answers that a round offers at one tap: those of the
// check's form but the one whose size of follicles is left open.
func stageTiles() []tap {
	return slices.DeleteFunc(stageTaps(), func(t tap) bool { return t.Value == string(incubation.Follicular) })
}

// repeatable reports whether a check may simply be seen again: eggs are laid
// and follicles go back once, and a doubt is no finding.
func repeatable(c *incubation.Check) bool {
	return c != nil && c.Stage != incubation.Laid && c.Stage != incubation.Resorbed && c.Stage != incubation.Unsure
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
