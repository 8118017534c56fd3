package mixed_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"thumbed/models/table"

	"gonum.org/v1/gonum/mat"
)

// A denseModel is a marginal model y ~ N(Xβ, V(θ)) written out.
type denseModel struct {
	x     *mat.Dense
	v     func(theta []float64) *mat.Dense
	theta []float64
	// beforehand are the variances of parameters that were estimated beforehand,
	// which come last; the others' estimates move with theirs.
	beforehand []float64
}

// adjusted is Kenward and Roger's (1997) Φ + 2ΦΛΦ by dense matrices and central
// differences of V, with W the inverse of the expected restricted information.
func (d denseModel) adjusted() (phi, adjusted *mat.Dense, df func(at int) float64) {
	k := len(d.theta)
	step := func(i int) float64 { return 1e-4 * math.Abs(d.theta[i]) }
	at := func(moves map[int]float64) *mat.Dense {
		theta := slices.Clone(d.theta)
		for i, m := range moves {
			theta[i] += m
		}
		return d.v(theta)
	}
	first := make([]*mat.Dense, k)
	second := make([][]*mat.Dense, k)
	base := d.v(d.theta)
	for i := range k {
		h := step(i)
		first[i] = combined([]float64{1 / (2 * h), -1 / (2 * h)}, at(map[int]float64{i: h}), at(map[int]float64{i: -h}))
		for j := range i + 1 {
			g := step(j)
			if i == j {
				second[i] = append(second[i], combined([]float64{1 / (h * h), -2 / (h * h), 1 / (h * h)}, at(map[int]float64{i: h}), base, at(map[int]float64{i: -h})))
				continue
			}
			q := 1 / (4 * h * g)
			second[i] = append(second[i], combined([]float64{q, -q, -q, q}, at(map[int]float64{i: h, j: g}), at(map[int]float64{i: h, j: -g}), at(map[int]float64{i: -h, j: g}), at(map[int]float64{i: -h, j: -g})))
		}
	}
	inverse, vx, info := new(mat.Dense), new(mat.Dense), new(mat.Dense)
	must(inverse.Inverse(base))
	vx.Mul(inverse, d.x)
	info.Mul(d.x.T(), vx)
	phi = new(mat.Dense)
	must(phi.Inverse(info))
	// P = V⁻¹ − V⁻¹XΦX'V⁻¹
	project := new(mat.Dense)
	project.Product(vx, phi, vx.T())
	project.Sub(inverse, project)
	w := mat.NewDense(k, k, nil)
	for i := range k {
		for j := range k {
			var product mat.Dense
			product.Product(project, first[i], project, first[j])
			w.Set(i, j, mat.Trace(&product)/2)
		}
	}
	w = d.parameterCovariance(w)
	p, _ := phi.Dims()
	lambda := mat.NewDense(p, p, nil)
	for i := range k {
		for j := range k {
			var q, less, pi, pj, r mat.Dense
			q.Product(vx.T(), first[i], inverse, first[j], vx)
			pi.Product(vx.T(), first[i], vx)
			pj.Product(vx.T(), first[j], vx)
			less.Product(&pi, phi, &pj)
			r.Product(vx.T(), second[max(i, j)][min(i, j)], vx)
			r.Scale(0.25, &r)
			q.Sub(&q, &less)
			q.Sub(&q, &r)
			q.Scale(w.At(i, j), &q)
			lambda.Add(lambda, &q)
		}
	}
	adjusted = new(mat.Dense)
	adjusted.Product(phi, lambda, phi)
	adjusted.Scale(2, adjusted)
	adjusted.Add(adjusted, phi)
	return phi, adjusted, func(at int) float64 { // 2f²/(g'Wg), g the slopes of the variance f
		g := mat.NewVecDense(k, nil)
		for i := range k {
			var slope mat.Dense
			slope.Product(phi, vx.T(), first[i], vx, phi)
			g.SetVec(i, slope.At(at, at))
		}
		return 2 * math.Pow(phi.At(at, at), 2) / mat.Inner(g, w, g)
	}
}

// parameterCovariance is the inverse of the information of the parameters that are
// estimated; an estimate θ̂ₐ moves by −Iₐₐ⁻¹Iₐₒ with the others (implicit
// differentiation of the expected score).
func (d denseModel) parameterCovariance(information *mat.Dense) *mat.Dense {
	k := len(d.theta)
	free := k - len(d.beforehand)
	own := new(mat.Dense)
	must(own.Inverse(information.Slice(0, free, 0, free)))
	out := mat.NewDense(k, k, nil)
	out.Slice(0, free, 0, free).(*mat.Dense).Copy(own)
	for o, variance := range d.beforehand {
		move := mat.NewVecDense(k, nil)
		move.SliceVec(0, free).(*mat.VecDense).MulVec(own, information.Slice(0, free, free+o, free+o+1).(*mat.Dense).ColView(0))
		move.ScaleVec(-1, move)
		move.SetVec(free+o, 1)
		out.RankOne(out, variance, move, move)
	}
	return out
}

func must(err error) {
	if err != nil {
		panic(err)
	}
}

func combined(weights []float64, parts ...*mat.Dense) *mat.Dense {
	out := new(mat.Dense)
	out.Scale(weights[0], parts[0])
	for k, part := range parts[1:] {
		var scaled mat.Dense
		scaled.Scale(weights[k+1], part)
		out.Add(out, &scaled)
	}
	return out
}

// TestKenwardRogerStructures holds the adjusted covariance under every residual
// structure, for which no reference library has it, to dense matrices with V
// differentiated numerically. Tolerance 1e-4: second differences.
func TestKenwardRogerStructures(t *testing.T) {
	check := func(t *testing.T, d denseModel, got mat.Symmetric) {
		t.Helper()
		_, want, _ := d.adjusted()
		p := got.SymmetricDim()
		for i := range p {
			for j := range p {
				near(t, "adjusted covariance", got.At(i, j), want.At(i, j), 0, 1e-4*math.Sqrt(want.At(i, i)*want.At(j, j)))
			}
		}
	}
	t.Run("autoregression", func(t *testing.T) {
		data := loadTable(t, "Ovary.csv")
		var rows []int
		for i := range 90 { // the first three mares and a few rows
			rows = append(rows, i)
		}
		data = data.Select(rows)
		fit := fitted(t, parse(t, "outcome = \"follicles\"\nfixed = [\"sine\", \"cosine\"]\n[[random]]\nby = \"Mare\"\nterms = [\"intercept\"]\n[residual]\nalong = \"Time\"\nwithin = \"Mare\"\n"), data)
		kr, err := fit.KenwardRoger()
		if err != nil {
			t.Fatal(err)
		}
		n := len(rows)
		mare, time := data.Column("Mare"), data.Column("Time").Numbers
		x := mat.NewDense(n, 3, nil)
		var gaps []float64
		for i := range n {
			x.SetRow(i, []float64{1, data.Column("sine").Numbers[i], data.Column("cosine").Numbers[i]})
			if i > 0 && mare.Label(i) == mare.Label(i-1) {
				gaps = append(gaps, time[i]-time[i-1])
			}
		}
		slices.Sort(gaps)
		unit := gaps[len(gaps)/2]
		p := fit.Parameters()
		theta := []float64{math.Pow(p[3].Value, 2), math.Pow(p[4].Value, 2), math.Pow(p[5].Value, unit)}
		check(t, denseModel{x: x, theta: theta, v: func(theta []float64) *mat.Dense {
			v := mat.NewDense(n, n, nil)
			for i := range n {
				for j := range n {
					if mare.Label(i) == mare.Label(j) {
						v.Set(i, j, theta[0]+theta[1]*math.Pow(theta[2], math.Abs(time[i]-time[j])/unit))
					}
				}
			}
			return v
		}}, kr.Covariance())
	})
	t.Run("levels and slopes", func(t *testing.T) {
		data := loadTable(t, "Orthodont.csv")
		fit := fitted(t, parse(t, orthodontText+"[residual]\nlevels = \"Sex\"\n"), data)
		kr, err := fit.KenwardRoger()
		if err != nil {
			t.Fatal(err)
		}
		n := data.Rows()
		age, sex, subject := data.Column("age").Numbers, data.Column("Sex"), data.Column("Subject")
		x := mat.NewDense(n, 4, nil)
		for i := range n {
			female := 0.0
			if sex.Label(i) == "Female" {
				female = 1
			}
			x.SetRow(i, []float64{1, age[i], female, age[i] * female})
		}
		p := fit.Parameters()
		a, b, rho := p[4].Value, p[5].Value, p[6].Value
		theta := []float64{a * a, rho * a * b, b * b, math.Pow(p[7].Value, 2), math.Pow(p[8].Value, 2)}
		check(t, denseModel{x: x, theta: theta, v: func(theta []float64) *mat.Dense {
			v := mat.NewDense(n, n, nil)
			for i := range n {
				for j := range n {
					if subject.Label(i) == subject.Label(j) {
						v.Set(i, j, theta[0]+theta[1]*(age[i]+age[j])+theta[2]*age[i]*age[j])
					}
				}
				level := 3
				if sex.Label(i) == "Female" {
					level = 4
				}
				v.Set(i, i, v.At(i, i)+theta[level])
			}
			return v
		}}, kr.Covariance())
	})
	t.Run("shared errors", func(t *testing.T) {
		data := loadTable(t, "Orthodont-se.csv")
		n := data.Rows()
		r := rand.New(rand.NewPCG(8, 8))
		day, weights := make([]string, n), mat.NewDense(n, 4, nil)
		for i := range n {
			a, b := r.IntN(4), r.IntN(4)
			day[i] = fmt.Sprint("day ", a)
			weights.Set(i, a, 1)
			if b != a && i%3 == 0 {
				day[i] = fmt.Sprintf("day %d × 0.625 + day %d × 0.375", a, b)
				weights.Set(i, a, 0.625)
				weights.Set(i, b, 0.375)
			}
		}
		if err := data.Add(table.Labels("day", day)); err != nil {
			t.Fatal(err)
		}
		const sd, df = 6, 6
		for _, method := range []string{"Kenward–Roger", "Satterthwaite"} {
			m := parse(t, "outcome = \"distance\"\nfixed = [\"age\"]\n[[random]]\nby = \"Subject\"\nterms = [\"intercept\"]\n[residual]\nknown_sd = \"se\"\n[[residual.offsets]]\nby = \"day\"\nsd = 6\ndf = 6\n")
			m.DF = method
			fit := fitted(t, m, data)
			age, se, subject := data.Column("age").Numbers, data.Column("se").Numbers, data.Column("Subject")
			x := mat.NewDense(n, 2, nil)
			for i := range n {
				x.SetRow(i, []float64{1, age[i]})
			}
			var shared mat.Dense
			shared.Mul(weights, weights.T())
			p := fit.Parameters()
			d := denseModel{x: x, theta: []float64{math.Pow(p[2].Value, 2), math.Pow(p[3].Value, 2), sd * sd}, beforehand: []float64{2 * math.Pow(sd, 4) / df},
				v: func(theta []float64) *mat.Dense {
					v := mat.NewDense(n, n, nil)
					v.Scale(theta[2], &shared)
					for i := range n {
						for j := range n {
							if subject.Label(i) == subject.Label(j) {
								v.Set(i, j, v.At(i, j)+theta[0])
							}
						}
						v.Set(i, i, v.At(i, i)+theta[1]+se[i]*se[i])
					}
					return v
				}}
			phi, adjusted, degrees := d.adjusted()
			for k, c := range fit.Fixed {
				if method == "Satterthwaite" { // observed information: the same but for chance
					near(t, "se", c.SE, math.Sqrt(phi.At(k, k)), 1e-6, 0)
					near(t, "df", c.DF, degrees(k), []float64{0.1, 0.4}[k], 0)
					continue
				}
				near(t, "se", c.SE, math.Sqrt(adjusted.At(k, k)), 1e-5, 0)
				near(t, "df", c.DF, degrees(k), 1e-4, 0)
			}
			if got := fit.Fixed[0].DF; got > 12 {
				t.Errorf("%s: the mean has %g degrees of freedom, though a spread known with 6 rules it", method, got)
			}
		}
	})
	t.Run("known errors", func(t *testing.T) {
		data := loadTable(t, "Orthodont-se.csv")
		fit := fitted(t, parse(t, "outcome = \"distance\"\nfixed = [\"age\"]\n[[random]]\nby = \"Subject\"\nterms = [\"intercept\"]\n[residual]\nknown_sd = \"se\"\n"), data)
		kr, err := fit.KenwardRoger()
		if err != nil {
			t.Fatal(err)
		}
		n := data.Rows()
		age, se, subject := data.Column("age").Numbers, data.Column("se").Numbers, data.Column("Subject")
		x := mat.NewDense(n, 2, nil)
		for i := range n {
			x.SetRow(i, []float64{1, age[i]})
		}
		p := fit.Parameters()
		check(t, denseModel{x: x, theta: []float64{math.Pow(p[2].Value, 2), math.Pow(p[3].Value, 2)}, v: func(theta []float64) *mat.Dense {
			v := mat.NewDense(n, n, nil)
			for i := range n {
				for j := range n {
					if subject.Label(i) == subject.Label(j) {
						v.Set(i, j, theta[0])
					}
				}
				v.Set(i, i, v.At(i, i)+theta[1]+se[i]*se[i])
			}
			return v
		}}, kr.Covariance())
	})
}
