//go:build unix

package relay

import (
	"fmt"
	"slices"
	"testing"
	"time"
)

// What a cell of the common kind does: it calls our packages, and shows what
// they give.
const commonCell = `%%%%
kernel.Say("%d: %%v, %%d, %%v", codex.Matins, table.Labels("a", []string{"b"}).Len(), stat.Mean([]float64{1, 2}, nil))`

// BenchmarkFirstCell is from the kernel's start to the end of its first cell,
// with all packages compiled.
func BenchmarkFirstCell(b *testing.B) {
	for i := range b.N {
		began := time.Now()
		n := open(b, settings)
		if r := n.run(fmt.Sprintf(commonCell, i)); r.reply.Status != "ok" {
			b.Fatalf("%+v", r)
		}
		b.ReportMetric(time.Since(began).Seconds(), "s/first-cell")
	}
}

// BenchmarkNextCell reports the median of the cells after the first.
func BenchmarkNextCell(b *testing.B) {
	n := open(b, settings)
	n.run(fmt.Sprintf(commonCell, -1))
	var took []float64
	b.ResetTimer()
	for i := range b.N {
		began := time.Now()
		if r := n.run(fmt.Sprintf(commonCell, i)); r.reply.Status != "ok" {
			b.Fatalf("%+v", r)
		}
		took = append(took, time.Since(began).Seconds())
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2], "s/median-cell")
}
