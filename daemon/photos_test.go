package daemon

import (
	"context"
	"errors"
	"strings"
	"testing"

	"clutchd/daemon/monitor"
)

func TestPictureThatIsNoneIsRefusedForTheKeeper(t *testing.T) {
	_, err := photosIn(t.TempDir()).Keep(context.Background(), strings.NewReader("no picture"))
	if r, ok := errors.AsType[*monitor.Refusal](err); !ok || r.Field != "photo" || !strings.Contains(r.Text, "no JPEG") {
		t.Errorf("the pages are told %v", err)
	}
}
