package daemon_test

import (
	"strings"
	"testing"

	"clutchd/daemon"
	"clutchd/daemon/config"
)

// What a config says of a webhook is what arrives there.
func TestMessageToAWebhook(t *testing.T) {
	box := newMailbox(t)
	cfg, err := config.Parse([]byte("site = \"cellar\"\nzone = \"UTC\"\n[broker]\nlisten = \"\"\n" +
		"[[webhook]]\nname = \"phone\"\nurl = \"" + box.URL + "\"\nformat = \"text\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	reports, err := daemon.Message(t.Context(), cfg)
	if err != nil || len(reports) != 1 || !reports[0].Arrived() {
		t.Fatalf("reports %+v, %v, want one that arrived", reports, err)
	}
	got := box.heard()
	if len(got) != 1 || !strings.HasPrefix(got[0].payload, "Test message from clutchd at cellar, ") {
		t.Errorf("the webhook got %+v", got)
	}
}
