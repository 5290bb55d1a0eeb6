package command

import (
	"fmt"
	"os"

	"clutchd/incubation"
	"clutchd/incubation/species"
)

// loadProfile reads a species' profile; of no file, the leopard gecko's.
func loadProfile(file string) (incubation.Profile, error) {
	if file == "" {
		return species.Leopard(), nil
	}
	const mend = "give -profile a file like those in incubation/species"
	text, err := os.ReadFile(file)
	if err != nil {
		return incubation.Profile{}, hint(fmt.Errorf("read the profile: %w", err), mend)
	}
	p, err := species.Parse(text)
	if err != nil {
		return incubation.Profile{}, hint(fmt.Errorf("profile %s: %w", file, err), mend)
	}
	return p, nil
}
