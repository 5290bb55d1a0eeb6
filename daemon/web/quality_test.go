package web

import (
	"testing"

	"clutchd/incubation"
)

// Every quality but a good one is told in a word and a sentence.
func TestQualityWords(t *testing.T) {
	told := map[string]bool{}
	for _, q := range incubation.Qualities() {
		s, says := qualityState(q), qualitySays(q)
		if q == incubation.Good {
			if s != normal || says != "" {
				t.Errorf("a good reading is %q: %q", s.Word, says)
			}
			continue
		}
		if s.Word != q.String() || s.Class == "" || says == "" || told[says] {
			t.Errorf("%s is %q: %q", q, s.Word, says)
		}
		told[says] = true
	}
}
