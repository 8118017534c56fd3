package generalised

import "testing"

// BenchmarkFit times fits of the published data.
func BenchmarkFit(b *testing.B) {
	for _, m := range readReferences(b) {
		model, data := parsed(b, m.Model), readTable(b, m.Data)
		b.Run(m.Name, func(b *testing.B) {
			for b.Loop() {
				if _, err := New(model, data); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
