package web_test

import (
	"strings"
	"testing"

	"clutchd/incubation"
	"clutchd/incubation/book"
)

func TestFormsSayWhatTheyGoBy(t *testing.T) {
	atNoon(t, func(t *testing.T) {
		s := openHerd(t)
		s.tell(t, -60, book.KindWeighed, book.WeighedData{Box: "box-1", Grams: 412})
		has := func(sentence, path, want string) {
			t.Helper()
			if page := s.ask("GET", path, "").Body.String(); !strings.Contains(page, want) {
				t.Errorf("%s: %s does not say %q", sentence, path, want)
			}
		}
		has("a weight from before these eggs came", "/entries/new?kind=weighed&box=box-1", "with other eggs than now")
		s.tell(t, 0, book.KindWeighed, book.WeighedData{Box: "box-1", Grams: 415})
		if page := s.ask("GET", "/entries/new?kind=weighed&box=box-1", "").Body.String(); !strings.Contains(page, "Last: 415") ||
			strings.Contains(page, "other eggs") {
			t.Error("a weight with the same eggs is not told as such")
		}
		s.tell(t, 0, book.KindChecked, book.CheckedData{Animal: "f-pepper", Stage: incubation.Follicular, Size: incubation.Large})
		has("her stage and the paper's", "/entries/new?kind=paired&female=f-pepper",
			"At her stage, follicular, large (the paper’s “late vitellogenic”), 80\u00a0% of females were receptive (Rhen,")
		has("the heading counts hatchlings too", "/females?show=young", `not sexed <span class="of">2</span>`)
		has("one of two found", "/females?show=young&find=17", `not sexed <span class="of">1 of 2</span>`)
	})
}
