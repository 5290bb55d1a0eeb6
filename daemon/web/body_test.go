package web

import (
	"strings"
	"testing"
)

// What is wrong with a request is told in its words, not in the program's.
func TestRefusedJSONSaysWhy(t *testing.T) {
	for _, c := range []struct{ sentence, text, says string }{
		{"nothing", "", "it is empty"},
		{"cut off", "{", "it ends in the middle"},
		{"a list", "[]", "it is of the kind array"},
		{"a number for a list", `{"plans":5}`, "plans is of the kind number"},
		{"a name nobody knows", `{"plant":[]}`, `unknown field "plant"`},
		{"two objects", `{"plans":[]}{}`, "something follows the object"},
	} {
		t.Run(c.sentence, func(t *testing.T) {
			var v struct {
				Plans [][]int `json:"plans"`
			}
			err := readJSON(strings.NewReader(c.text), &v)
			if err == nil || !strings.HasSuffix(err.Error(), "wanted: "+c.says) {
				t.Errorf("says %v, want %q", err, c.says)
			}
		})
	}
}
