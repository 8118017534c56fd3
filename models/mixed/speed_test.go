package mixed_test

import (
	"testing"

	"thumbed/models/mixed"
)

func parse(t testing.TB, text string) mixed.Model {
	t.Helper()
	m, err := mixed.ParseModel("model.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func benchmarkReference(b *testing.B, name string) {
	for _, r := range loadReferences(b) {
		if r.Name != name {
			continue
		}
		data := loadTable(b, r.Data)
		m := parse(b, r.Model)
		b.ReportAllocs()
		for b.Loop() {
			if _, err := m.Fit(data); err != nil {
				b.Fatal(err)
			}
		}
		return
	}
	b.Fatalf("no reference named %q", name)
}

func BenchmarkSleepstudy(b *testing.B) {
	benchmarkReference(b, "sleepstudy, intercept and slope correlated")
}
func BenchmarkPenicillin(b *testing.B) { benchmarkReference(b, "Penicillin, crossed") }
func BenchmarkInstEval(b *testing.B)   { benchmarkReference(b, "InstEval, three crossed terms") }
