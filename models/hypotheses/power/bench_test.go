package power_test

import (
	"context"
	"testing"

	"thumbed/models/hypotheses/power"
)

// BenchmarkCampaign is the time of a campaign of eight books of 60 pages, drawn
// and fitted with the effect and without.
func BenchmarkCampaign(b *testing.B) {
	s := pictures(b)
	s.Books = s.Books[:1]
	s.Books[0] = book(b, 60)
	s.Designs, s.Replicates = []power.Design{{Books: 8, Pages: 60, Placings: 3}}, max(b.N, 1)
	b.ResetTimer()
	if _, err := s.Run(context.Background(), 0, b.N, nil); err != nil {
		b.Fatal(err)
	}
}
