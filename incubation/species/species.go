// Package species holds the profiles of the species that clutchd knows, one
// data file each, every number with its source and what it is worth.
//
// It computes nothing: package incubation does. Another species needs a file
// of the same form, no code. The leopard gecko has, besides, the members that
// package fit made of the published values, as data.
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

//go:embed leopard-gecko.members.json
var leopardMembers []byte

// LeopardFit gives the leopard gecko's fit: its members and how they were made.
func LeopardFit() (Fit, []incubation.Member) {
	f, members, err := ParseFit(leopardMembers)
	if err != nil {
		// The file is part of the program, and a test parses it.
		panic(err)
	}
	return f, members
}

// Ensemble gives the leopard gecko's ensemble of n members, the first of the
// fit's; all of them for 0, less, or more than there are. Estimates that are
// to share it should: each call reads the file anew.
func Ensemble(n int) *incubation.Ensemble {
	_, members := LeopardFit()
	if n <= 0 || n > len(members) {
		n = len(members)
	}
	return incubation.Assemble(Leopard(), members[:n])
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
