package plan

import (
	"testing"

	"thumbed/models/table"
)

// FuzzPlanFile wants that no text makes the reader fall over, and that each
// problem can be shown.
func FuzzPlanFile(f *testing.F) {
	f.Add([]byte("title = \"T\"\n[pilot]\nstudy = \"study.toml\"\n[model]\noutcome = \"wear\"\nfixed = [\"picture\"]\n[question]\nlevel = 0.05\n[designs]\npages = [4, 8]\nplacings = [2]\nbooks = [3]\n"))
	f.Add([]byte("[[section]]\nname = 1\n[designs]\npages = []\nreplicates = -1\n"))
	f.Add([]byte("[designs]\npages = [1e9]\nbooks = [9223372036854775807]\nseed = 0\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		var ps table.Problems
		parse("plan.toml", text, &ps)
		for _, p := range ps.List() {
			if p.Line < 0 || p.Expected == "" {
				t.Errorf("a problem without its parts: %#v", p)
			}
		}
	})
}
