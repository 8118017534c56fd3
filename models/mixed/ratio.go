package mixed

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/wording"
)

// A RatioTest is a likelihood-ratio test of a smaller model against a larger
// one that holds it.
type RatioTest struct {
	Statistic float64 `json:"statistic"` // twice the difference of the log likelihoods
	// Mixture is the statistic's distribution where the smaller model holds: a
	// mixture of χ² distributions. It is one distribution of weight 1 unless
	// variances are tested, whose zero is the edge of their range.
	Mixture []ChiSquaredShare `json:"mixture"` // its distribution where the smaller model holds: parts of χ² distributions; null where p is from drawn outcomes
	P       float64           `json:"p"`       // p-value
	// Cautious tells that the mixture is not known in closed form and p is the
	// largest that it may be.
	Cautious bool   `json:"cautious"` // whether p is the largest that it may be, since the distribution is not known
	Note     string `json:"note"`     // how p was found
}

// A ChiSquaredShare is one part of a mixture of χ² distributions; none degrees
// of freedom is a point at zero.
type ChiSquaredShare struct {
	DF     int     `json:"df"`     // degrees of freedom; 0 is a point at zero
	Weight float64 `json:"weight"` // share of this part
}

// RatioTest tests a smaller model against a larger one on the same rows. Fixed
// effects that the larger has beyond the smaller, residual levels and
// correlations count as usual (Wilks 1938). Variances do not, since zero is the
// edge of their range: for one further column of a random term, with its
// correlations to the q there, the mixture is half χ² of q and half of q + 1
// degrees of freedom (Stram and Lee 1994, Biometrics 50, 1171–1177, cases 1 to
// 3); for r uncorrelated variances it is binomial over 0 to r (Self and Liang
// 1987, JASA 82, 605–610, cases 5 and 9, where the variances' estimates are not
// correlated). Other steps have no mixture in closed form: there the test is
// cautious. It fails, in words, where the fits cannot be compared: other rows or
// outcomes, restricted likelihoods with different fixed parts, full with
// restricted, or a smaller model that the larger does not hold.
func (small *Fit) RatioTest(large *Fit) (RatioTest, error) {
	if err := checkComparable(small, large); err != nil {
		return RatioTest{}, err
	}
	step, err := small.d.stepTo(large.d)
	if err != nil {
		return RatioTest{}, err
	}
	out := RatioTest{Statistic: small.MinusTwiceLogLik - large.MinusTwiceLogLik}
	if out.Statistic < -1e-4 {
		return out, fmt.Errorf("the larger model's likelihood is the lower one, by %.3g: one of the fits ended away from its best; look at their notes", -out.Statistic/2)
	}
	out.Statistic = math.Max(out.Statistic, 0)
	out.describe(step)
	return out, nil
}

// Mix adds a part to the statistic's distribution, and to p its share of what is at
// least as large.
func (t *RatioTest) Mix(df int, weight float64) {
	t.Mixture = append(t.Mixture, ChiSquaredShare{df, weight})
	t.P += weight * chiSquaredTail(t.Statistic, df)
}

func chiSquaredTail(x float64, df int) float64 {
	switch {
	case df > 0:
		return distuv.ChiSquared{K: float64(df)}.Survival(x)
	case x > 0:
		return 0
	}
	return 1
}

// checkComparable tells why two fits' likelihoods cannot be compared.
func checkComparable(small, large *Fit) error {
	switch {
	case !small.Converged || !large.Converged:
		return errors.New("one of the fits did not converge, so that their likelihoods do not compare: see its notes")
	case small.Estimate != large.Estimate:
		return fmt.Errorf(`one fit is by %s likelihood, the other by %s: fit both with the same estimate`, small.Estimate, large.Estimate)
	case !slices.Equal(small.d.rows, large.d.rows):
		return fmt.Errorf("the fits use different rows (%d and %d), perhaps because a column of the larger model has missing values: fit both to the rows that are complete in both", small.N, large.N)
	case !slices.Equal(small.d.outcome, large.d.outcome):
		return errors.New("the fits are of different outcomes, or of one on different scales: their likelihoods do not compare")
	case small.d.errors.bounded() != large.d.errors.bounded() || !slices.Equal(small.d.errors.side(), large.d.errors.side()):
		return errors.New("the fits treat different rows as bounds: their likelihoods do not compare")
	case small.Estimate == "restricted" && !(small.d.spans(&large.d.fixed) && large.d.spans(&small.d.fixed)):
		return errors.New(`restricted likelihoods compare only between models with the same fixed part; these differ in it: fit both with estimate = "full"`)
	}
	return nil
}

// spans tells whether every column of the other fixed part is a sum of columns
// of the design's.
func (d *design) spans(other *fixedPart) bool {
	p := d.fixed.p
	for j := range other.p {
		along := make([]float64, p)
		for i := range d.n {
			for k, q := range d.fixed.q[i*p : (i+1)*p] {
				along[k] += q * other.q[i*other.p+j]
			}
		}
		// columns of Q have length one
		if 1-inner(along, along) > 1e-8 {
			return false
		}
	}
	return true
}

// A ratioStep is how a larger model goes beyond a smaller one.
type ratioStep struct {
	regular   int // parameters inside their range
	variances int // variances by themselves
	// one column more in a correlated term that had q
	joined int // −1 where there is none
	open   int // parameters of steps whose mixture is not known
	words  []string
}

// stepTo finds how the larger design goes beyond d, or tells why it does not.
func (d *design) stepTo(large *design) (ratioStep, error) {
	s := ratioStep{joined: -1}
	if !large.spans(&d.fixed) {
		return s, errors.New("the smaller model has fixed effects that the larger cannot make: they are not nested, so that no likelihood-ratio test compares them")
	}
	if more := large.fixed.p - d.fixed.p; more > 0 {
		s.regular += more
		s.words = append(s.words, wording.Plain(more, "fixed effect", "fixed effects"))
	}
	if err := d.residualStep(large, &s); err != nil {
		return s, err
	}
	return s, d.randomStep(large, &s)
}

// residualStep counts what the larger model's residual adds.
func (d *design) residualStep(large *design, s *ratioStep) error {
	for k, own := range d.errors.structures {
		if err := own.step(large.errors.structures[k], s); err != nil {
			return err
		}
	}
	return nil
}

// A termKey names a column of a random term.
type termKey struct{ by, term string }

// randomBlocks gives, for each column of each random term, its term's index,
// and which columns each term has.
func (d *design) randomBlocks() (at map[termKey]int, columns [][]termKey, correlated []bool) {
	at = map[termKey]int{}
	for k := range d.factors {
		fac := &d.factors[k]
		by := slices.Clone(fac.by)
		slices.Sort(by)
		for _, v := range fac.blocks {
			var keys []termKey
			for c := v.first; c < v.first+v.size; c++ {
				name := fac.z[c].name
				if v.random < 0 {
					name = "bends of " + d.model.Smooth[fac.smooth].Column
				}
				key := termKey{strings.Join(by, "\x00"), name}
				if v.random < 0 && len(keys) > 0 {
					continue // one variance for all bends
				}
				at[key] = len(columns)
				keys = append(keys, key)
			}
			columns = append(columns, keys)
			correlated = append(correlated, v.correlated && v.size > 1)
		}
	}
	return at, columns, correlated
}

// randomStep counts what the larger model's random terms add.
func (d *design) randomStep(large *design, s *ratioStep) error {
	small, smallColumns, smallCorrelated := d.randomBlocks()
	big, bigColumns, bigCorrelated := large.randomBlocks()
	for k, keys := range smallColumns {
		for _, key := range keys {
			in, ok := big[key]
			if !ok {
				return fmt.Errorf("the smaller model's random term %s by %s is not in the larger: neither holds the other", key.term, strings.ReplaceAll(key.by, "\x00", " and "))
			}
			if smallCorrelated[k] && (!bigCorrelated[in] || in != big[keys[0]]) {
				return fmt.Errorf("the smaller model lets terms by %s be correlated that the larger does not: neither holds the other", strings.ReplaceAll(key.by, "\x00", " and "))
			}
		}
	}
	for k, keys := range bigColumns {
		s.addTerm(keys, bigCorrelated[k], small, smallCorrelated)
	}
	return nil
}

// addTerm counts what one random term of the larger model adds.
func (s *ratioStep) addTerm(keys []termKey, correlated bool, small map[termKey]int, smallCorrelated []bool) {
	var fresh []string
	blocks := map[int]int{}
	for _, key := range keys {
		if in, ok := small[key]; ok {
			blocks[in]++
		} else {
			fresh = append(fresh, key.term)
		}
	}
	old := len(keys) - len(fresh)
	by := strings.ReplaceAll(keys[0].by, "\x00", " and ")
	pairs := 0 // correlations that the smaller model has among the old
	for in, n := range blocks {
		if smallCorrelated[in] {
			pairs += n * (n - 1) / 2
		}
	}
	if len(fresh) == 0 && !correlated {
		return
	}
	more := 0
	if correlated {
		more = len(keys)*(len(keys)-1)/2 - pairs
	}
	if len(fresh) > 0 {
		s.words = append(s.words, "the variance of "+strings.Join(fresh, " and ")+" by "+by)
	}
	if more > 0 {
		s.words = append(s.words, wording.Plain(more, "correlation", "correlations")+" by "+by)
	}
	switch {
	case len(fresh) == 0:
		s.regular += more
	case !correlated:
		s.variances += len(fresh)
	case len(fresh) == 1 && pairs == old*(old-1)/2 && s.joined < 0 && old > 0:
		s.joined = old
	default:
		s.open += len(fresh) + more
	}
}

// describe finds the mixture for a step, and says how p comes about.
func (t *RatioTest) describe(s ratioStep) {
	what := strings.Join(s.words, ", ")
	if what == "" {
		what = "nothing: the models are the same"
	}
	switch {
	case s.open > 0 || (s.joined >= 0 && s.variances > 0):
		df := s.regular + s.variances + s.open
		if s.joined >= 0 {
			df += s.joined + 1
		}
		t.Mix(df, 1)
		t.Cautious = true
		t.Note = fmt.Sprintf("Tested: %s. For this step no mixture of χ² distributions is known; p is taken from χ² with %d degrees of freedom and is too large. A parametric bootstrap gives it without that.", what, df)
	case s.joined >= 0:
		low := s.regular + s.joined
		t.Mix(low, 0.5)
		t.Mix(low+1, 0.5)
		t.Note = fmt.Sprintf("Tested: %s. A variance cannot be less than zero: p is from a mixture, half χ² with %d and half with %d degrees of freedom (Stram and Lee 1994).", what, low, low+1)
	case s.variances > 0:
		for k := range s.variances + 1 {
			t.Mix(s.regular+k, binomial(s.variances, k))
		}
		t.Note = fmt.Sprintf("Tested: %s. Parameters that cannot be less than zero: p is from a mixture of χ² with %d to %d degrees of freedom (Self and Liang 1987).", what, s.regular, s.regular+s.variances)
	default:
		t.Mix(s.regular, 1)
		t.Note = fmt.Sprintf("Tested: %s; χ² with %s of freedom.", what, wording.Plain(s.regular, "degree", "degrees"))
	}
}

// binomial is the chance of k heads in n throws.
func binomial(n, k int) float64 {
	return distuv.Binomial{N: float64(n), P: 0.5}.Prob(float64(k))
}

// Text writes the test for reading.
func (t RatioTest) Text(w io.Writer) error {
	_, err := fmt.Fprintln(w, wording.Wrapped(fmt.Sprintf("Likelihood ratio %s, %s. %s", decimals(t.Statistic, 3), pIs(t.P), t.Note)))
	return err
}
