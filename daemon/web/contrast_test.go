package web_test

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// luminance is the relative luminance of a colour #rrggbb.
// Source: WCAG 2.2, "relative luminance".
func luminance(hex string) float64 {
	var parts [3]float64
	for i := range parts {
		n, _ := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		c := float64(n) / 255
		if parts[i] = c / 12.92; c > 0.04045 {
			parts[i] = math.Pow((c+0.055)/1.055, 2.4)
		}
	}
	return 0.2126*parts[0] + 0.7152*parts[1] + 0.0722*parts[2]
}

// contrast of two colours, 1 to 21. Source: WCAG 2.2, "contrast ratio".
func contrast(a, b string) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

func TestContrastAgreesWithPublishedValues(t *testing.T) {
	for _, c := range []struct {
		sentence, a, b string
		want           float64
	}{
		{"black on white is the most there is (WCAG 2.2)", "#000000", "#ffffff", 21},
		{"a colour on itself is the least", "#777777", "#777777", 1},
		{"#767676 is the lightest grey that passes on white (from memory: the common example)", "#767676", "#ffffff", 4.54},
	} {
		if got := contrast(c.a, c.b); math.Abs(got-c.want) > 0.005 {
			t.Errorf("%s: %.3f, want %.2f", c.sentence, got, c.want)
		}
	}
}

// palettes are the variables of the light and the dark scheme.
func palettes(t *testing.T) map[string]map[string]string {
	t.Helper()
	css, err := os.ReadFile("static/style.css")
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile(`(?s):root \{(.*?)\}`).FindAllStringSubmatch(string(css), -1)
	if len(blocks) != 2 {
		t.Fatalf("%d blocks of variables, want a light and a dark one", len(blocks))
	}
	out := map[string]map[string]string{"light": {}, "dark": {}}
	for i, name := range []string{"light", "dark"} {
		for _, m := range regexp.MustCompile(`--([a-z-]+): (#[0-9a-f]{6});`).FindAllStringSubmatch(blocks[i][1], -1) {
			out[name][m[1]] = m[2]
		}
	}
	if len(out["light"]) < 15 || len(out["dark"]) != len(out["light"]) {
		t.Fatalf("%d light and %d dark colours", len(out["light"]), len(out["dark"]))
	}
	return out
}

// Text has 4.5 to 1 against what it stands on, shapes and lines that say
// something 3 to 1. Source: WCAG 2.2, 1.4.3 and 1.4.11, level AA.
func TestColoursCanBeRead(t *testing.T) {
	grounds := "paper sheet press"
	pairs := []struct {
		ink, on string
		least   float64
	}{
		{"ink", grounds + " danger-bg warning-bg must-bg tsp", 4.5},
		{"soft", grounds, 4.5},
		{"danger", grounds + " danger-bg", 4.5},
		{"warning", grounds + " warning-bg", 4.5},
		{"normal", "paper sheet", 4.5},
		{"must", "paper sheet must-bg", 4.5},
		{"paper", "ink", 4.5},                        // the button to press first
		{"sheet", "danger warning must ink", 4.5},    // the count beside Alerts
		{"soft", "paper sheet", 3},                   // borders of fields and buttons
		{"warning-mark", grounds + " warning-bg", 3}, // the line of a limit, the sign of a warning
	}
	for scheme, colours := range palettes(t) {
		for _, p := range pairs {
			for on := range strings.FieldsSeq(p.on) {
				a, b := colours[p.ink], colours[on]
				if a == "" || b == "" {
					t.Fatalf("there is no colour %s or %s", p.ink, on)
				}
				if got := contrast(a, b); got < p.least {
					t.Errorf("%s: %s on %s has %s, want %g", scheme, p.ink, on, fmt.Sprintf("%.2f", got), p.least)
				}
			}
		}
	}
}
