package incubation_test

import (
	"fmt"
	"testing"

	"clutchd/incubation"
)

func TestCite(t *testing.T) {
	plain := func(c incubation.Celsius) string { return fmt.Sprintf("%g", float64(c)) }
	fahrenheit := func(c incubation.Celsius) string { return fmt.Sprintf("%.0f", float64(c)*9/5+32) }
	for _, row := range []struct{ sentence, source, celsius, fahrenheit string }{
		{"a temperature gets its sign", "above 35 C (Viets)", "above 35 °C (Viets)", "above 95 °F (Viets)"},
		{"one that has it keeps it", "at 28.5 °C", "at 28.5 °C", "at 83 °F"},
		{"both ends of a range", "at 42 to 44 C, often", "at 42 to 44 °C, often", "at 108 to 111 °F, often"},
		{"numbers of other things stay", "30 d at 26 C, 0.2 K, Add. 4 Cook", "30 d at 26 °C, 0.2 K, Add. 4 Cook", "30 d at 79 °F, 0.2 K, Add. 4 Cook"},
		{"nothing to write", "judged", "judged", "judged"},
	} {
		n := incubation.Number{Source: row.source}
		if got := n.Cite(plain, "°C"); got != row.celsius {
			t.Errorf("%s: %q, want %q", row.sentence, got, row.celsius)
		}
		if got := n.Cite(fahrenheit, "°F"); got != row.fahrenheit {
			t.Errorf("%s: %q, want %q", row.sentence, got, row.fahrenheit)
		}
	}
}
