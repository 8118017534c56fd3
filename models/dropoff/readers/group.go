package readers

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Options are the choices of a grouping; zero values stand for the usual.
type Options struct {
	Most       int    // largest number of groups tried, at most 26; 6
	References int    // clouds without groups, and readers of one kind, to compare with; 99
	Draws      int    // to see whether groups come out again; 100
	Seed       uint64 // of all draws
}

// What is drawn, each in a stream of its own.
const (
	references = iota
	partings
	kinds
	resampled
	remeasured
	weighed
)

// draws are the random numbers of one draw.
func (o Options) draws(stream, number int) *rand.Rand {
	return rand.New(rand.NewPCG(o.Seed, uint64(stream)<<32|uint64(number)))
}

// Check says in words what is wrong with the choices.
func (o Options) Check() error {
	o.complete()
	if o.Most < 2 || o.Most > 26 || o.References < 19 || o.Draws < 20 {
		return errors.New("a grouping tries 2 to 26 groups, with 19 references or more and 20 draws or more: write other numbers, or leave them out")
	}
	return nil
}

func (o *Options) complete() {
	o.Most = cmp.Or(o.Most, 6)
	o.References = cmp.Or(o.References, 99)
	o.Draws = cmp.Or(o.Draws, 100)
}

// A Verdict says whether a grouping is more than chance.
type Verdict string

// The verdicts: all groups hold, some do, or none.
const (
	All  Verdict = "all"
	Some Verdict = "some"
	None Verdict = "none"
)

// A Cluster is one group of readers.
type Cluster struct {
	Letter    string    `json:"group"`                  // letter of the group, in the order in which reading falls away
	Medoid    string    `json:"middle"`                 // the reader who stands for it
	Readers   int       `json:"readers"`                // readers in it
	Mean      []float64 `json:"mean"`                   // their mean shape
	Sampling  float64   `json:"similar_other_readers"`  // mean Jaccard similarity of the group to its like where other readers are drawn, 0 to 1
	Measuring float64   `json:"similar_measured_again"` // the same where the curves are drawn again with their errors
	Holds     bool      `json:"comes_out_again"`        // whether both are great enough
}

// A Member is one reader's place in the grouping.
type Member struct {
	Name   string
	Letter string  // of the group; empty where no grouping is borne out
	Kept   float64 // share of the draws with errors of measuring in which it stayed in its group; NaN where there are no groups
	// Place is where the reader stands on the axis of the continuum, from the mean of
	// all; PlaceLow and PlaceHigh are its 95 % interval.
	Place, PlaceLow, PlaceHigh float64
}

// A Grouping is readers parted by the shape of their curves, and whether that is
// more than chance.
type Grouping struct {
	Options    Options
	Gaps       []Gap
	Chosen     int     // groups, by the gap statistic
	OneCluster float64 // chance that readers of one kind part as clearly into that many; NaN where Chosen is 1
	// Gapped is, for 2, 3 … kinds, the chance that readers without so many gaps between
	// them show as many; it ends with the first that is not seldom. Empty where Chosen
	// is 1.
	Gapped    []float64
	Continuum *Continuum // how they differ by degrees; nil where all have one shape
	// Clusters are the groups: as many as Chosen, or the most below that of which all
	// hold; empty where Chosen is 1.
	Clusters []Cluster
	Members  []Member
	Verdict  Verdict
	Words    string // what is borne out, in plain sentences
}

// Stable is the mean Jaccard similarity from which a group counts as one that
// comes out again (Hennig 2008, Journal of Multivariate Analysis 99, 1154–1176,
// section 4: 0.75 or more; from memory).
const Stable = 0.75

// chance is how seldom readers of one kind may part as clearly.
const chance = 0.05

// fewest is the smallest number of readers that are grouped: fewer tell nothing
// about groups of more than one or two (common practice, no source).
const fewest = 12

// Group parts readers by the shape of their curves. All shapes have the same
// number of values; no two have the same name.
//
// Distances are Euclidean. The error is a sentence: too few readers, or shapes
// that cannot be compared.
func Group(shapes []Shape, o Options) (*Grouping, error) {
	o.complete()
	shapes = slices.Clone(shapes)
	slices.SortFunc(shapes, func(a, b Shape) int { return strings.Compare(a.Name, b.Name) })
	if err := errors.Join(o.Check(), check(shapes)); err != nil {
		return nil, err
	}
	c, roots := newCloud(len(shapes), len(shapes[0].Values)), make([]*mat.Dense, len(shapes))
	for i, s := range shapes {
		copy(c.point(i), s.Values)
		if s.Covariance != nil {
			roots[i] = root(s.Covariance)
		}
	}
	g := &Grouping{Options: o, OneCluster: math.NaN(), Verdict: None}
	for _, s := range shapes {
		g.Members = append(g.Members, Member{Name: s.Name, Kept: math.NaN()})
	}
	if c.scatter(c.part(1, o.draws(partings, 1))) == 0 {
		g.Chosen = 1
		g.Words = "All curves have one shape, so that there is nothing to group."
		return g, nil
	}
	g.Gaps = c.gaps(min(o.Most, c.n/4), o)
	g.Chosen = chosen(g.Gaps)
	kind := c.oneClusterOf(roots)
	g.continuum(c, shapes, kind.between)
	if g.Chosen > 1 {
		g.OneCluster = c.likeOneCluster(g.Chosen, kind, o)
		g.settle(c, kind)
	}
	g.Words = g.words()
	return g, nil
}

func check(shapes []Shape) error {
	if len(shapes) < fewest {
		return fmt.Errorf("%d readers have curves that can be compared, and groups are looked for among %d or more: add books", len(shapes), fewest)
	}
	for i, s := range shapes {
		switch {
		case len(s.Values) != len(shapes[0].Values):
			return fmt.Errorf("%s has a curve of %d offices and %s one of %d: compare readers on the same offices", shapes[0].Name, len(shapes[0].Values), s.Name, len(s.Values))
		case i > 0 && s.Name == shapes[i-1].Name:
			return fmt.Errorf("two readers are called %s: give each a name of its own", s.Name)
		case slices.ContainsFunc(s.Values, func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }):
			return fmt.Errorf("the curve of %s has an office without a number: leave this reader or that office out", s.Name)
		}
	}
	return nil
}

// settle parts the cloud into the chosen number of groups. In large clouds the gap
// statistic, which knows its expectation ever more closely, may part one group of
// a long shape into several; so where not all groups come out again, or there are no
// gaps between them, fewer are tried, as long as readers of one kind would seldom part
// as clearly.
func (g *Grouping) settle(c *cloud, kind *oneCluster) {
	if g.OneCluster > chance {
		g.Clusters = c.clustersOf(g.Chosen, g, kind.errors).kinds
		return
	}
	var most int
	g.Gapped, most = c.gapped(g.Chosen, kind.between, g.Options)
	best := c.clustersOf(g.Chosen, g, kind.errors)
	if most < g.Chosen {
		best.doubt()
	}
	for k := min(most, g.Chosen-1); k > 1 && best.verdict() != All; k-- {
		if c.likeOneCluster(k, kind, g.Options) > chance {
			continue
		}
		if fewer := c.clustersOf(k, g, kind.errors); fewer.verdict() == All {
			best = fewer
		}
	}
	g.Clusters, g.Verdict = best.kinds, best.verdict()
	if g.Verdict == None {
		return
	}
	for i, of := range best.of {
		g.Members[i].Letter, g.Members[i].Kept = letter(of), best.kept[i]
	}
}

// A settlement is a cloud parted into so many groups.
type settlement struct {
	kinds []Cluster
	of    []int
	kept  []float64
}

// doubt takes back that any group holds.
func (s settlement) doubt() {
	for i := range s.kinds {
		s.kinds[i].Holds = false
	}
}

func (s settlement) verdict() Verdict {
	holding := 0
	for _, k := range s.kinds {
		if k.Holds {
			holding++
		}
	}
	switch holding {
	case 0:
		return None
	case len(s.kinds):
		return All
	}
	return Some
}

// clustersOf parts the cloud into k groups and looks which hold.
func (c *cloud) clustersOf(k int, g *Grouping, roots []*mat.Dense) settlement {
	p := c.part(k, g.Options.draws(partings, k))
	p.order(c)
	bySampling := p.stable(g.Options, resampled, c.otherReaders(g.Options))
	byMeasuring := p.stable(g.Options, remeasured, c.otherReadings(roots, g.Options))
	out := settlement{of: p.of, kept: byMeasuring.kept}
	for k, m := range p.medoids {
		kind := Cluster{Letter: letter(k), Medoid: g.Members[m].Name, Mean: make([]float64, c.d), Sampling: bySampling.jaccard[k], Measuring: byMeasuring.jaccard[k]}
		for i, of := range p.of {
			if of == k {
				kind.Readers++
				floats.Add(kind.Mean, c.point(i))
			}
		}
		floats.Scale(1/float64(kind.Readers), kind.Mean)
		kind.Holds = g.OneCluster <= chance && kind.Sampling >= Stable && kind.Measuring >= Stable
		out.kinds = append(out.kinds, kind)
	}
	return out
}

// order numbers the groups by where along the offices the middle of their
// medoids' wear lies: those whose reading falls away first come first.
func (p *partition) order(c *cloud) {
	middle := func(m int) float64 {
		sum, total := 0.0, 0.0
		for j, v := range c.point(m) {
			sum += float64(j) * v
			total += v
		}
		return sum / total
	}
	by := make([]int, len(p.medoids))
	for k := range by {
		by[k] = k
	}
	slices.SortFunc(by, func(a, b int) int {
		return cmp.Or(cmp.Compare(middle(p.medoids[a]), middle(p.medoids[b])), cmp.Compare(p.medoids[a], p.medoids[b]))
	})
	now, medoids := make([]int, len(by)), make([]int, len(by))
	for k, old := range by {
		now[old], medoids[k] = k, p.medoids[old]
	}
	p.medoids = medoids
	for i, old := range p.of {
		p.of[i] = now[old]
	}
}

// letter names the group of a number from 0 to 25.
func letter(k int) string { return string(rune('A' + k)) }

// each does work 0 … n−1 on all processors; every number writes to its own place.
func each(n int, work func(int)) {
	var pieces errgroup.Group
	pieces.SetLimit(runtime.GOMAXPROCS(0))
	for i := range n {
		pieces.Go(func() error { work(i); return nil })
	}
	_ = pieces.Wait() // no piece fails
}
