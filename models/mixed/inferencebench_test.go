package mixed_test

import (
	"context"
	"testing"

	"thumbed/models/mixed"
)

// BenchmarkInference times what is asked of a fit of sleepstudy, for comparison
// with the reference libraries' functions of the same purpose.
func BenchmarkInference(b *testing.B) {
	fit, err := parse(b, sleepText).Fit(loadTable(b, "sleepstudy.csv"))
	if err != nil {
		b.Fatal(err)
	}
	run := func(name string, work func() error) {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if err := work(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	run("KenwardRoger", func() error { k, err := fit.KenwardRoger(); _ = k.Fixed(); return err })
	run("Profile", func() error { _, err := fit.Profile(0.95); return err })
	run("Bootstrap1000", func() error {
		_, err := fit.Bootstrap(context.Background(), mixed.Bootstrapping{Replicates: 1000})
		return err
	})
	run("Influence", func() error { _, err := fit.Influence(context.Background(), "Subject"); return err })
	run("Envelopes", func() error { _, err := fit.Envelopes(context.Background(), 0, 1); return err })
}
