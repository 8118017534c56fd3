package profile

import (
	"math"

	"thumbed/models/readings"
)

// A load is a page's part in one of the independent errors that pages share, of
// standard deviation 1: what placings of one day, observer or instrument have in
// common ([readings.Result.SharedLoadings]).
type load struct {
	weight float64 // density
	df     float64 // of the error's spread
}

// loadsOf gives the loads of each wear, all of one length; nil where nothing is shared.
func loadsOf(wear []readings.Wear, shared []readings.Source) func(i int) []load {
	l, df := (&readings.Result{Shared: shared}).SharedLoadings(wear, 0)
	return func(i int) []load {
		if l == nil {
			return nil
		}
		out := make([]load, len(df))
		for j := range out {
			out[j] = load{l.At(i, j), df[j]}
		}
		return out
	}
}

// meanLoad is the load of a mean of pages.
func meanLoad(pages []measured) []load {
	if len(pages) == 0 || pages[0].shared == nil {
		return nil
	}
	out := make([]load, len(pages[0].shared))
	for _, p := range pages {
		for j, l := range p.shared {
			out[j].weight += l.weight / float64(len(pages))
			out[j].df = l.df
		}
	}
	return out
}

// less is the load of a difference.
func less(a, b []load) []load {
	if a == nil || b == nil {
		return a
	}
	out := make([]load, len(a))
	for j := range out {
		out[j] = load{a[j].weight - b[j].weight, a[j].df}
	}
	return out
}

// variances are the parts of the variance that shared errors add.
func variances(loads []load) []scatter {
	out := make([]scatter, len(loads))
	for j, l := range loads {
		out[j] = scatter{l.weight * l.weight, l.df}
	}
	return out
}

// total is the sum of variances.
func total(parts []scatter) float64 {
	sum := 0.0
	for _, p := range parts {
		sum += p.variance
	}
	return sum
}

// widened gives a variance known with df degrees of freedom with what shared errors
// add to it.
func widened(variance, df float64, loads []load) (float64, float64) {
	if len(loads) == 0 {
		return variance, df
	}
	parts := append(variances(loads), scatter{variance, df})
	return total(parts), math.Max(satterthwaite(parts), leastSharedDF)
}

// leastSharedDF bounds degrees of freedom from below: two days tell their spread
// with one, and an interval by Student's t with less than that means nothing.
const leastSharedDF = 1
