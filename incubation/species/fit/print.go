package fit

import (
	"bytes"
	"encoding/json"
	"fmt"

	"clutchd/incubation/species"
)

// Print gives the text of a fit's file: one quantile and one member a line.
func Print(f species.Fit) ([]byte, error) {
	var out bytes.Buffer
	made, err := json.MarshalIndent(f.Made, "  ", "  ")
	if err != nil {
		return nil, fmt.Errorf("print fit: %w", err)
	}
	fmt.Fprintf(&out, "{\n  \"made\": %s,\n  \"anchor_celsius\": %g,\n  \"quantiles\": [\n", made, f.Anchor)
	for i, q := range f.Quantiles {
		if err := line(&out, q, i == len(f.Quantiles)-1); err != nil {
			return nil, err
		}
	}
	out.WriteString("  ],\n  \"members\": [\n")
	for i, m := range f.Members {
		if err := line(&out, m, i == len(f.Members)-1); err != nil {
			return nil, err
		}
	}
	out.WriteString("  ]\n}\n")
	return out.Bytes(), nil
}

func line(out *bytes.Buffer, v any, last bool) error {
	text, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("print fit: %w", err)
	}
	comma := ","
	if last {
		comma = ""
	}
	fmt.Fprintf(out, "    %s%s\n", text, comma)
	return nil
}
