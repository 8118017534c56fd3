package study

import (
	"strings"
	"sync/atomic"
	"testing"
)

func TestAllPartsRun(t *testing.T) {
	const n = 100
	var places [n]int
	parts := make([]Part, n)
	for i := range parts {
		parts[i] = Part{"a part", func() { places[i]++ }}
	}
	told := 0
	RunAll(parts, func(done, total int, _ string) {
		told++
		if done != told || total != n {
			t.Errorf("told %d of %d as number %d", done, total, told)
		}
	})
	for i, p := range places {
		if p != 1 {
			t.Errorf("part %d ran %d times", i, p)
		}
	}
	RunAll(nil, nil)
}

// TestAPanicWaitsForTheOthers wants a panic of one part to come out at the end,
// with the part's name, and no part lost.
func TestAPanicWaitsForTheOthers(t *testing.T) {
	var ran atomic.Int32
	parts := []Part{{"the broken part", func() { panic("boom") }}}
	for range 20 {
		parts = append(parts, Part{"a part", func() { ran.Add(1) }})
	}
	defer func() {
		words, _ := recover().(string)
		if !strings.HasPrefix(words, "the broken part: boom") {
			t.Errorf("the panic says %q", words)
		}
		if ran.Load() != 20 {
			t.Errorf("%d of 20 other parts ran", ran.Load())
		}
	}()
	RunAll(parts, nil)
}
