package dropoff

import "math"

// A Stretch is a range of penalties for which one number of changes is best:
// where a change must lower the misfit by more than Low and less than High.
type Stretch struct {
	Changes   int
	Low, High float64 // in the unit of the misfit; High is infinite for no change
}

// penalties gives, for every penalty for each change, the number of changes
// with the least misfit plus penalties, from the largest penalty down, as far as
// the numbers of changes in the path go (Haynes, Eckley and Fearnhead 2017,
// Journal of Computational and Graphical Statistics 26, 134–143, theorem 3.1).
// Numbers that are best for no penalty are left out.
func penalties(path []Step) []Stretch {
	var out []Stretch
	high := math.Inf(1)
	for k := 0; k < len(path); {
		// The next number is the one that the falling penalty reaches first.
		next, low := len(path), math.Inf(-1)
		for j := k + 1; j < len(path); j++ {
			if worth := (path[k].RSS - path[j].RSS) / float64(path[j].Changes-path[k].Changes); worth >= low {
				next, low = j, worth
			}
		}
		if next == len(path) {
			low = 0
		}
		out = append(out, Stretch{Changes: path[k].Changes, Low: max(low, 0), High: high})
		k, high = next, max(low, 0)
	}
	return out
}
