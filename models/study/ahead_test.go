package study_test

import (
	"bytes"
	"strings"
	"testing"

	"thumbed/models/study"
)

// What a run would fail on is told by a look at the study, with the line
// that names it.
func TestACheckLooksAhead(t *testing.T) {
	const file = study.FileName
	replace := func(old, new string) func([]byte) []byte {
		return func(text []byte) []byte {
			if !bytes.Contains(text, []byte(old)) {
				t.Errorf("the demonstration no longer says %q", old)
			}
			return bytes.ReplaceAll(text, []byte(old), []byte(new))
		}
	}
	keep := func(which func(line string) bool) func([]byte) []byte {
		return func(text []byte) []byte {
			var out []string
			for i, line := range strings.SplitAfter(string(text), "\n") {
				if i == 0 || which(line) {
					out = append(out, line)
				}
			}
			return []byte(strings.Join(out, ""))
		}
	}
	noTiles := keep(func(line string) bool { return !strings.Contains(line, ",tile,") })
	seen := map[string]bool{}
	once := keep(func(line string) bool {
		cells := strings.Split(line, ",")
		if len(cells) < 7 {
			return true
		}
		spot := strings.Join([]string{cells[0], cells[1], cells[2], cells[6]}, ",")
		first := !seen[spot]
		seen[spot] = true
		return first
	})
	const log1, log2 = "readings-2026-03.csv", "readings-2026-05.csv"
	for name, test := range map[string]struct {
		change map[string]func([]byte) []byte
		want   []string
	}{
		"as it is":       {nil, nil},
		"no tile":        {map[string]func([]byte) []byte{log1: noTiles, log2: noTiles}, []string{"tile", "measuring"}},
		"no replicates":  {map[string]func([]byte) []byte{log1: once, log2: once}, []string{"twice", "measuring"}},
		"baseline asked": {map[string]func([]byte) []byte{file: replace(`{ "half=second" = 1 }`, `{ "half=first" = 1 }`)}, []string{"half=first", "half=second", "question.contrast", "study.toml, line "}},
		"another model's term": {map[string]func([]byte) []byte{file: replace(`contrast  = { "office_order" = 1 }`, `contrast  = { "incipit=yes" = 1 }`)},
			[]string{"incipit=yes", "office_order", "question.contrast"}},
		"no page measured has it": {map[string]func([]byte) []byte{file: replace(`only    = { set = ["of the Virgin"] }`, `only    = { kind = ["calendar"] }`)},
			[]string{"in Corvaes", "only", "office_order"}},
	} {
		_, err := study.Check(copied(t, test.change))
		if (err != nil) != (test.want != nil) {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, words := range test.want {
			if !strings.Contains(err.Error(), words) {
				t.Errorf("%s: the error does not say %q:\n%v", name, words, err)
			}
		}
	}
}
