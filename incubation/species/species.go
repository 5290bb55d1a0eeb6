// Package species holds the profiles of the species that clutchd knows, one
// data file each, every number with its source and what it is worth.
//
// It computes nothing: package incubation does. Another species needs a file
// of the same form, no code.
package species

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"clutchd/incubation"
)

//go:embed leopard-gecko.json
var leopard string

// Leopard gives the profile of the leopard gecko, Eublepharis macularius.
func Leopard() incubation.Profile {
	p, err := Parse([]byte(leopard))
	if err != nil {
		// The file is part of the program, and a test parses it.
		panic(err)
	}
	return p
}

// Parse reads a profile and gives every problem of its numbers at once. A
// profile with a problem comes back empty.
func Parse(data []byte) (incubation.Profile, error) {
	var p incubation.Profile
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&p); err != nil {
		return incubation.Profile{}, fmt.Errorf("read species profile: %w", err)
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return incubation.Profile{}, errors.New("read species profile: something follows the object")
	}
	if err := p.Check(); err != nil {
		return incubation.Profile{}, fmt.Errorf("check species profile: %w", err)
	}
	return p, nil
}
