package codex_test

import (
	"strings"
	"testing"

	"thumbed/models/codex"
)

func TestOfFormulaBroken(t *testing.T) {
	for text, want := range map[string]string{"": "expected a collation formula", "1⁸ 1⁸": "quire 1 stands twice", "quaternions": "expected a collation formula"} {
		if _, err := codex.OfFormula("x", text, ""); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", text, err)
		}
	}
	if b, err := codex.OfFormula("x", "1⁸", "skin"); err == nil {
		t.Errorf("%v", b)
	}
}
