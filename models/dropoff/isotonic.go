package dropoff

// falling is the curve that never rises and lies nearest to the values in
// weighted least squares, by pooling adjacent violators (Ayer, Brunk, Ewing,
// Reid and Silverman 1955, Annals of Mathematical Statistics 26, 641–647;
// Barlow, Bartholomew, Bremner and Brunk 1972, section 1.2). Weights are above
// zero, one a value.
func falling(values, weights []float64) []float64 {
	type pool struct {
		mean, weight float64
		size         int
	}
	var pools []pool
	for i, v := range values {
		last := pool{v, weights[i], 1}
		for len(pools) > 0 && pools[len(pools)-1].mean < last.mean {
			before := pools[len(pools)-1]
			weight := before.weight + last.weight
			last = pool{(before.mean*before.weight + last.mean*last.weight) / weight, weight, before.size + last.size}
			pools = pools[:len(pools)-1]
		}
		pools = append(pools, last)
	}
	out := make([]float64, 0, len(values))
	for _, p := range pools {
		for range p.size {
			out = append(out, p.mean)
		}
	}
	return out
}
