package readings

import "math"

// roundingShare is the variance of the part of a rounding error that
// replicates share and that averaging them does not remove. sd is the standard
// deviation of the replicates as shown (rounded), step the instrument's last
// digit.
//
// A normal value of true standard deviation s, rounded to steps r, is off on
// average by a periodic function of where it stands between two steps; over
// all places that offset has variance Σ (r/πk)² exp(−4π²k²s²/r²) / 2, k from 1
// (Sheppard 1898; Widrow and Kollár 2008, Quantization Noise, chapter 4).
// The replicates as shown have variance s² + r²/12 less that offset's, which
// is solved for s. So the share is r²/12, the whole variance of rounding,
// where all replicates are identical, and vanishes where they differ by a
// step or more.
func roundingShare(sd, step float64) float64 {
	offset := func(s float64) float64 {
		sum := 0.0
		for k := 1.0; k <= 200; k++ {
			amplitude := step / (math.Pi * k)
			term := amplitude * amplitude / 2 * math.Exp(-4*math.Pi*math.Pi*k*k*s*s/(step*step))
			sum += term
			if term < 1e-15*step*step {
				break
			}
		}
		return sum
	}
	whole := step * step / 12
	if sd <= 0 {
		return whole
	}
	if sd > step {
		return offset(math.Sqrt(sd*sd - whole))
	}
	low, high := 0.0, sd
	for range 60 {
		mid := (low + high) / 2
		if mid*mid+whole-offset(mid) < sd*sd {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Min(whole, offset((low+high)/2))
}
