package command

import (
	"fmt"
	"os"

	"clutchd/incubation"
	"clutchd/incubation/species"
)

// loadEnsemble makes an ensemble of a species' profile; of no file, it is the
// leopard gecko's, which was fitted to what is published.
func loadEnsemble(file string) (*incubation.Ensemble, error) {
	if file == "" {
		return species.Ensemble(members), nil
	}
	const mend = "give -profile a file like those in incubation/species"
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, hint(fmt.Errorf("read the profile: %w", err), mend)
	}
	p, err := species.Parse(text)
	if err != nil {
		return nil, hint(fmt.Errorf("profile %s: %w", file, err), mend)
	}
	return incubation.Draw(p, members), nil
}
