package dropoff

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/codex"
	"thumbed/models/student"
)

// A Difference compares the decline of two readers.
type Difference struct {
	Offices []OfficeDifference // offices that both have, without the first
	// F tests that all shares are the same, with DF1 and DF2 degrees of
	// freedom; P is its probability where they are.
	F, DF1, DF2, P float64
	Sentence       string
}

// An OfficeDifference is the wear of an office, as a share of the first office, of the first reader
// less that by the second.
type OfficeDifference struct {
	Office     codex.Office `json:"-"`
	Difference float64      `json:"difference"` // share of the one less share of the other
	Low        float64      `json:"low"`        // lower end of its 95 % interval
	High       float64      `json:"high"`       // upper end of its 95 % interval
}

// Differ compares two readers, in two books or in two sets of hours, by the
// shares of wear of each office that both have measured; the first
// such office is what shares are of. Single differences have the interval of
// Zou and Donner (2008, Statistics in Medicine 27, 1693–1702), made of the two
// shares' own by Fieller; the test of all together is Wald's on the shares, with
// their covariance to first order and the fewer degrees of freedom of the two.
//
// It fails where fewer than two offices are common or a first office is hardly
// worn.
func Differ(one, other *Decline) (*Difference, error) {
	var common []codex.Office
	for _, o := range one.Offices {
		if other.index(o.Office) >= 0 {
			common = append(common, o.Office)
		}
	}
	if len(common) < 2 || one.covariance == nil || other.covariance == nil {
		return nil, errors.New("two readers can be compared only where two offices or more were measured in both: measure more of the same offices")
	}
	d := &Difference{}
	n := len(common) - 1
	differences, covariance := mat.NewVecDense(n, nil), mat.NewSymDense(n, nil)
	for k, c := range []*Decline{one, other} {
		shares, spread, ok := c.shares(common)
		if !ok {
			return nil, fmt.Errorf("%s of the %s reader is hardly worn, so that shares of it mean nothing: measure more pages of it", common[0], []string{"first", "second"}[k])
		}
		sign := float64(1 - 2*k)
		for i := range n {
			differences.SetVec(i, differences.AtVec(i)+sign*shares[i].value)
			for j := range i + 1 {
				covariance.SetSym(i, j, covariance.At(i, j)+spread.At(i, j))
			}
			if k == 0 {
				d.Offices = append(d.Offices, OfficeDifference{Office: common[i+1]})
			}
			d.Offices[i].combine(shares[i], sign)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(covariance) {
		return nil, errors.New("the shares are not known well enough to be compared: measure more pages")
	}
	var solved mat.VecDense
	if err := chol.SolveVecTo(&solved, differences); err != nil {
		return nil, fmt.Errorf("the shares cannot be compared: %w", err)
	}
	d.DF1, d.DF2 = float64(n), min(one.df, other.df)
	d.F = mat.Dot(differences, &solved) / d.DF1
	d.P = student.FSurvival(d.F, d.DF1, d.DF2)
	d.Sentence = d.sentence()
	return d, nil
}

// combine adds one reader's share to the difference: until both are in, Low and
// High hold squares of the distances to the ends.
func (o *OfficeDifference) combine(r ratio, sign float64) {
	if sign > 0 {
		o.Difference = r.value
		o.Low, o.High = (r.value-r.low)*(r.value-r.low), (r.high-r.value)*(r.high-r.value)
		return
	}
	o.Difference -= r.value
	o.Low = o.Difference - math.Sqrt(o.Low+(r.high-r.value)*(r.high-r.value))
	o.High = o.Difference + math.Sqrt(o.High+(r.value-r.low)*(r.value-r.low))
}

func (c *Decline) index(office codex.Office) int {
	return slices.IndexFunc(c.Offices, func(o OfficeShare) bool { return o.Office == office })
}

// shares are those of the offices given, of the first of them, each with its
// 95 % interval, and their covariance to first order.
func (c *Decline) shares(offices []codex.Office) (shares []ratio, covariance *mat.SymDense, ok bool) {
	n := len(offices) - 1
	first := c.index(offices[0])
	base := c.Offices[first].Wear
	t := student.Half(shareLevel, c.df)
	slopes := mat.NewDense(n, len(c.Offices), nil)
	for i, office := range offices[1:] {
		at := c.index(office)
		r, ok := fieller(c.Offices[at].Wear, base, c.covariance.At(at, at), c.covariance.At(first, first), c.covariance.At(at, first), t)
		if !ok {
			return nil, nil, false
		}
		shares = append(shares, r)
		slopes.Set(i, at, 1/base)
		slopes.Set(i, first, -r.value/base)
	}
	var half, full mat.Dense
	half.Mul(slopes, c.covariance)
	full.Mul(&half, slopes.T())
	covariance = mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			covariance.SetSym(i, j, (full.At(i, j)+full.At(j, i))/2)
		}
	}
	return shares, covariance, true
}

func (d *Difference) sentence() string {
	last := d.Offices[len(d.Offices)-1]
	text := fmt.Sprintf("at %s the share of wear of the first is %+.0f %% points above that of the second (95 %% interval %+.0f to %+.0f)", last.Office, 100*last.Difference, 100*last.Low, 100*last.High)
	if d.P < 0.05 {
		return fmt.Sprintf("The two readers differ in their decline (p = %.2g): %s.", d.P, text)
	}
	return fmt.Sprintf("The two readers are not shown to differ in their decline (p = %.2f): %s.", d.P, text)
}
