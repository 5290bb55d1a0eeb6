package proof_test

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the catalogue's table into DEVELOPERS.md; needs -faults")

// faultsHeading begins the section that the catalogue writes.
const faultsHeading = "## What faults are told, and when"

// document replaces the catalogue's section of DEVELOPERS.md by what was
// measured.
func document(t *testing.T, all []verdict) {
	t.Helper()
	const file = "../../DEVELOPERS.md"
	text, err := os.ReadFile(file)
	must(t, err)
	before, rest, found := strings.Cut(string(text), faultsHeading)
	if !found {
		t.Fatalf("%s has no section %q", file, faultsHeading)
	}
	after := ""
	if i := strings.Index(rest, "\n## "); i >= 0 {
		after = rest[i:]
	}
	must(t, os.WriteFile(file, []byte(before+section(all)+after), 0o644))
}

// section is the text of the catalogue.
func section(all []verdict) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n", faultsHeading)
	fmt.Fprintf(&b, "`go test ./daemon/proof -run Catalogue -faults -update` lives each of %d faults in an invented room of\n"+
		"its own, well for %.0f hours before, and writes this section. Every fault comes as bytes: another\n"+
		"temperature in the room's model, other kernel files, I2C words, payloads or GPIO levels; the disk alone is\n"+
		"the store's own error. The daemon ticks every thirty seconds, every sixty where a fault lasts for days. Beside\n"+
		"it a plain threshold: one raw value %.1f K or more from the dial, or %.0f min of silence. \"Messages\" counts\n"+
		"what began, came back or grew worse in the whole watch, from an hour to two weeks; nobody acknowledged.\n"+
		"`TestCourse` lives some of them in every run.\n\n",
		len(all), warmUp.Hours(), plainLimit, plainSilence.Minutes())
	b.WriteString(table(all))
	var missed []string
	for _, v := range all {
		if v.took < 0 && !strings.HasPrefix(v.why, rightly) {
			missed = append(missed, fmt.Sprintf("- %s (watched for %s): %s.", v.name, after(v.watch), v.why))
		}
	}
	if len(missed) > 0 {
		fmt.Fprintf(&b, "\nNot told, and it should be:\n\n%s\n", strings.Join(missed, "\n"))
	}
	return b.String()
}

// rightly begins the reason why silence is right.
const rightly = "rightly"
