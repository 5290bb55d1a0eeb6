package metrics_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

const (
	rulesFile = "../../deploy/clutchd.rules.yml"
	rulesTest = "../../testdata/prometheus/clutchd.test.yml"
)

// promtool finds the program, or skips the test.
func promtool(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("promtool")
	if err == nil {
		return path
	}
	const hint = "promtool is not here: install prometheus to run this test"
	if os.Getenv("CLUTCHD_PEERS") == "required" {
		t.Fatal(hint)
	}
	t.Skip(hint)
	return ""
}

// judged has promtool live the rules' tests through.
func judged(t *testing.T, rules string) (string, error) {
	t.Helper()
	dir := t.TempDir()
	test, err := os.ReadFile(rulesTest)
	if err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"clutchd.rules.yml": rules, "clutchd.test.yml": string(test)} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command(promtool(t), "test", "rules", "clutchd.test.yml")
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	return string(out), err
}

var (
	alertName = regexp.MustCompile(`(?m)^ +- alert: (\w+)$`)
	ourMetric = regexp.MustCompile(`clutchd_[a-z_]+`)
)

func rulesText(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile(rulesFile)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// The rules name only what /metrics has, so that none waits for ever for a
// metric that is spelt otherwise.
func TestRulesOfPrometheusNameOurMetrics(t *testing.T) {
	told := ours(scrape(t, room()))
	for _, name := range ourMetric.FindAllString(rulesText(t), -1) {
		if !strings.Contains(told, "# TYPE "+name+" ") {
			t.Errorf("the rules ask for %s, which /metrics does not tell", name)
		}
	}
}

func TestRulesOfPrometheus(t *testing.T) {
	out, err := exec.Command(promtool(t), "check", "rules", rulesFile).CombinedOutput()
	if err != nil || !strings.Contains(string(out), "SUCCESS: 8 rules found") {
		t.Errorf("promtool check rules: %v\n%s", err, out)
	}
	if out, err := judged(t, rulesText(t)); err != nil {
		t.Errorf("promtool test rules: %v\n%s", err, out)
	}
}

// Each rule's test can fail: it does when that rule never fires, and when it
// always does.
func TestEachRuleOfPrometheusIsTested(t *testing.T) {
	text := rulesText(t)
	for _, at := range alertName.FindAllStringSubmatchIndex(text, -1) {
		name := text[at[2]:at[3]]
		rest := text[at[1]:]
		begin := at[1] + strings.Index(rest, "expr:")
		end := at[1] + strings.Index(rest, "        for:")
		for what, expr := range map[string]string{"never": "vector(1) > 2", "always": "vector(1)"} {
			changed := text[:begin] + "expr: " + expr + "\n" + text[end:]
			if out, err := judged(t, changed); err == nil {
				t.Errorf("%s %s fires, and its test passes:\n%s", name, what, out)
			}
		}
	}
}
