package mixed

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/wording"
)

// An Influence tells what each group of a random term does to the estimates:
// how they would be without it.
type Influence struct {
	By     []string         `json:"by"`
	Groups []GroupInfluence `json:"groups"`
	Notes  []string         `json:"notes"` // which groups matter, in words
}

// A GroupInfluence is what leaving one group out does.
type GroupInfluence struct {
	Group string `json:"group"`
	Rows  int    `json:"rows"`
	// Without are the parameters without the group, in the order of
	// [Fit.Parameters]; empty where they cannot be told without it.
	Without []float64 `json:"without"`
	// Shift is by how much each fixed effect changes when the group is left
	// out, in its own standard errors.
	Shift []float64 `json:"shift"`
	// Distance is Cook's distance of the fixed effects (Cook 1977; for groups of
	// a mixed model Christensen, Pearson and Johnson 1992).
	Distance float64 `json:"distance"`
	Note     string  `json:"note"` // why there are no numbers

	lost string // the fixed effect that only this group tells of
}

// Influence computes what each group of the random term with these by columns
// does to the estimates, without refitting: the group's rows are taken out of
// the blocked equations, the variance parameters move by one Newton step
// (Pregibon 1981's one-step estimates, with the criterion's own gradient without
// the group), and the fixed effects and the residual variance follow from the
// equations at that point. Groups run in parallel, and each costs about what two
// evaluations of the criterion cost, so that thousands of groups in a large
// table take minutes. It fails where no random term has these groups, where rows
// are only bounds, and where ctx ends.
func (f *Fit) Influence(ctx context.Context, by ...string) (*Influence, error) {
	k := slices.IndexFunc(f.d.factors, func(fac factor) bool { return fac.spline == nil && slices.Equal(fac.by, by) })
	switch {
	case k < 0:
		return nil, fmt.Errorf("no random term has groups by %s: name the by columns of one of the model's random terms", strings.Join(by, " and "))
	case f.d.errors.bounded():
		return nil, errors.New("with bounds among the rows, what a group does to the fit is seen only by fitting anew: leave the group's rows out of the table and compare")
	}
	fac := &f.d.factors[k]
	members := make([][]int32, len(fac.groups))
	for i, g := range fac.code {
		members[g] = append(members[g], int32(i))
	}
	out := &Influence{By: fac.by, Groups: make([]GroupInfluence, len(fac.groups)), Notes: []string{}}
	step := f.newtonStep()
	err := shareOut(ctx, len(fac.groups), func() func(int) error {
		d := f.newDeletion(step)
		return func(g int) error {
			out.Groups[g] = d.without(fac.groups[g], members[g])
			return nil
		}
	})
	if err != nil {
		return nil, err
	}
	out.note(f)
	return out, nil
}

// ContrastWithout gives about what a weighted sum of fixed effects would be without
// each of some groups of rows of the table: the variances, and what stands for rows
// that are only bounds, are held as they are, so that a group costs one solution of
// the equations (Christensen, Pearson and Johnson 1992, section 3). It is for looking
// which groups are worth fitting anew without. NaN stands for groups without which the
// sum cannot be told. Weights are as in [Fit.Contrast].
func (f *Fit) ContrastWithout(weights map[string]float64, groups [][]int) ([]float64, error) {
	w, err := f.contrastWeights("the contrast", weights)
	if err != nil {
		return nil, err
	}
	d := f.newDeletion(nil)
	l, extra := d.l, d.l.weighing.state.extra
	held := slices.Clone(extra)
	out := make([]float64, len(groups))
	for g, rows := range groups {
		for _, row := range rows {
			if i, used := slices.BinarySearch(f.d.rows, row); used {
				extra[i] = farAway
			}
		}
		out[g] = math.NaN()
		l.weighing.fill(l.trial.Cross, f.phi[len(l.parameters):])
		if !math.IsInf(l.factored(), 1) && d.lost() == "" {
			out[g] = inner(w, d.moveOf(d.change()))
		}
		copy(extra, held)
	}
	return out, nil
}

// newtonStep is the inverse of the criterion's Hessian by φ, σ² profiled out.
func (f *Fit) newtonStep() *mat.Dense {
	k := len(f.phi)
	if k == 0 {
		return nil
	}
	h := f.like.heldHessian(f.phi)
	profiled := mat.NewSymDense(k, nil)
	for i := range k {
		for j := range i + 1 {
			v := h.At(i, j)
			if !f.like.absolute {
				v -= h.At(i, k) * h.At(k, j) / h.At(k, k)
			}
			profiled.SetSym(i, j, v)
		}
	}
	return pseudoInverse(profiled, 1)
}

// farAway is the variance, in units of the residual's, that takes a row out of
// the equations: a row measured with so large an error says nothing.
const farAway = 1e12

// A deletion is one worker's likelihood from which groups are taken out.
type deletion struct {
	f      *Fit
	l      *likelihood
	step   *mat.Dense
	places []parameterPlace
	schur  []float64 // diagonal of the fixed effects' factor with all rows
	slope  []float64
}

func (f *Fit) newDeletion(step *mat.Dense) *deletion {
	l := newLikelihood(f.like.s)
	if l.weighing == nil {
		l.weighing = newWeighing(l.s)
	}
	if l.weighing.pseudo == nil {
		l.weighing.state.extra = make([]float64, l.s.n)
	}
	d := &deletion{f: f, l: l, step: step, places: f.d.parameterPlaces(), slope: make([]float64, len(f.phi))}
	l.criterion(f.phi)
	r := l.s.root
	for j := range l.s.p {
		d.schur = append(d.schur, l.trial.RootL[j*r+j])
	}
	return d
}

// without takes a group's rows out and puts them back.
func (d *deletion) without(group string, rows []int32) GroupInfluence {
	out := GroupInfluence{Group: group, Rows: len(rows), Without: []float64{}, Shift: []float64{}}
	for _, i := range rows {
		d.l.weighing.state.extra[i] = farAway
	}
	defer func() {
		for _, i := range rows {
			d.l.weighing.state.extra[i] = 0
		}
	}()
	f, l := d.f, d.l
	df := l.degrees() - float64(len(rows))
	if df < 1 || math.IsInf(l.criterion(f.phi), 1) {
		out.Note = "without this group too few rows are left to fit the model"
		return out
	}
	if out.lost = d.lost(); out.lost != "" {
		out.Note = lostWords(out.lost)
		return out
	}
	phi := d.moved(df, float64(len(rows))/float64(f.N))
	sigma := 1.0
	if !l.absolute {
		sigma = math.Sqrt(l.trial.Squares / df)
	}
	d.describe(&out, d.change(), phi, sigma)
	return out
}

func lostWords(effect string) string {
	return fmt.Sprintf("without this group %s cannot be told: all that is known of it comes from here", effect)
}

// lost names a fixed effect that the rows left do not determine.
func (d *deletion) lost() string {
	t, r := d.l.trial, d.l.s.root
	for j, all := range d.schur {
		if t.RootL[j*r+j] < 1e-4*all {
			return d.f.d.fixed.names[j]
		}
	}
	return ""
}

// moved takes φ one Newton step towards the optimum without the group; share is
// the group's share of the rows, by which the curvature is less.
func (d *deletion) moved(df, share float64) []float64 {
	f, l := d.f, d.l
	phi := append([]float64(nil), f.phi...)
	if len(phi) == 0 {
		return phi
	}
	kappa := 1.0
	if !l.absolute {
		kappa = df / l.trial.Squares
	}
	l.gradient(kappa, d.slope)
	var step mat.VecDense
	step.MulVec(d.step, mat.NewVecDense(len(d.slope), d.slope))
	for length := 1 / (1 - share); ; length /= 2 {
		for i := range phi {
			phi[i] = f.phi[i] - length*step.AtVec(i)
		}
		if !math.IsInf(l.criterion(phi), 1) || length < 1e-3 {
			return phi
		}
	}
}

// change is by how much the coefficients of Q differ, where the likelihood stands, from
// those of the fit.
func (d *deletion) change() []float64 {
	out := make([]float64, d.l.s.p)
	d.l.trial.Coefficients(out)
	for j := range out {
		out[j] -= d.f.cov.beta[j]
	}
	return out
}

// moveOf gives the fixed effects, given the change of the coefficients of Q.
func (d *deletion) moveOf(change []float64) []float64 {
	f := d.f
	inverse := f.d.fixed.inverseTriangle()
	beta := f.fixedEstimates()
	for j := range beta {
		moved := 0.0
		for k := j; k < len(beta); k++ {
			moved += inverse.At(j, k) * change[k] * f.d.fixed.scale
		}
		beta[j] += moved
	}
	return beta
}

// describe fills in the estimates, given the change of the coefficients of Q.
func (d *deletion) describe(out *GroupInfluence, change, phi []float64, sigma float64) {
	f := d.f
	p := f.d.fixed.p
	beta := d.moveOf(change)
	for j, before := range f.fixedEstimates() {
		out.Shift = append(out.Shift, (beta[j]-before)/f.Fixed[j].SE)
	}
	out.Without = d.l.values(d.places, phi, sigma, beta)
	var solved mat.VecDense
	v := mat.NewVecDense(p, change)
	if err := solved.SolveVec(f.cov.inverse, v); err == nil || !math.IsInf(float64(asCondition(err)), 1) {
		out.Distance = mat.Dot(v, &solved) / (float64(p) * f.sigma * f.sigma)
	}
}

// How much is told in words.
const (
	mostNotes = 5 // groups
	mostTerms = 3 // fixed effects of a group
)

// note tells the groups that move a fixed effect by more than 2/√m standard
// errors, m the number of groups (Belsley, Kuh and Welsch 1980, section 2.1, for
// rows), those that move one most first.
func (n *Influence) note(f *Fit) {
	var moving []int
	limit := 2 / math.Sqrt(float64(len(n.Groups)))
	for g, group := range n.Groups {
		switch {
		case group.Note != "":
			n.Notes = append(n.Notes, fmt.Sprintf("%s: %s.", n.named(group.Group), group.Note))
		case largest(group.Shift) > limit:
			moving = append(moving, g)
		}
	}
	slices.SortStableFunc(moving, func(a, b int) int { return cmp.Compare(largest(n.Groups[b].Shift), largest(n.Groups[a].Shift)) })
	for k, g := range moving {
		if k == mostNotes {
			n.Notes = append(n.Notes, fmt.Sprintf("%s more, which move less.", wording.Plain(len(moving)-k, "group", "groups")))
			break
		}
		n.Notes = append(n.Notes, fmt.Sprintf("Without %s %s. Say so where you report them, and look at those pages again.",
			n.named(n.Groups[g].Group), n.Groups[g].moves(f, limit)))
	}
}

// named is a group with the columns that name it.
func (n *Influence) named(group string) string {
	return strings.Join(n.By, groupSign) + " " + group
}

// moves tells the fixed effects that move most without the group.
func (g *GroupInfluence) moves(f *Fit, limit float64) string {
	order := make([]int, len(g.Shift))
	for j := range order {
		order[j] = j
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(math.Abs(g.Shift[b]), math.Abs(g.Shift[a])) })
	var parts []string
	for _, j := range order {
		if math.Abs(g.Shift[j]) <= limit {
			break
		}
		if len(parts) == mostTerms {
			parts = append(parts, "and others move too")
			break
		}
		c := f.Fixed[j]
		places := placesFor(c.SE)
		parts = append(parts, fmt.Sprintf("%s would be about %s instead of %s (%s standard errors)", c.Term, decimals(g.Without[j], places), decimals(c.Estimate, places), decimals(math.Abs(g.Shift[j]), 1)))
	}
	return strings.Join(parts, ", ")
}

// Text writes the influence of each group for reading.
func (n *Influence) Text(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "What leaving out each group by %s does to the fixed effects\n", strings.Join(n.By, groupSign))
	rows := newRows(&b)
	rows.add("", "rows", "largest shift in standard errors", "Cook's distance")
	for _, g := range n.Groups {
		if g.Note != "" {
			rows.add(g.Group, fmt.Sprint(g.Rows), "–", "–")
			continue
		}
		rows.add(g.Group, fmt.Sprint(g.Rows), decimals(largest(g.Shift), 2), decimals(g.Distance, 3))
	}
	rows.end()
	for _, note := range n.Notes {
		fmt.Fprintf(&b, "\n%s\n", wording.Wrapped(note))
	}
	_, err := io.WriteString(w, b.String())
	return err
}
