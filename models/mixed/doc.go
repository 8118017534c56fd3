// Package mixed answers: what is the effect of each feature of a page on its
// wear, once the book, the quire and the other features are allowed for?
//
// It fits linear mixed models
//
//	y = Xβ + Zb + e,   b ~ N(0, σ²ΛΛ'),   e ~ N(0, σ²R)
//
// by restricted or full maximum likelihood: any number of random terms, nested
// or crossed, with intercepts and slopes; residuals that are independent, carry
// a known measuring error of their own, are autocorrelated along positions, or
// differ in spread by a column's levels; rows that are only bounds; curves along
// a column. A [Model] is a typed structure, read
// from TOML by [ParseModel]; [Model.Fit] lays it over a table and gives a
// [Fit]. What cannot be fitted comes back as a list of problems with their
// remedies; what was fitted at the edge of its range says so in its notes.
//
// # Method
//
// The likelihood is the profiled one of Bates, Mächler, Bolker and Walker
// (2015, Journal of Statistical Software 67(1), section 3): for given variance
// parameters the Cholesky factor of the penalised normal equations
//
//	⎡ Λ'Z'R⁻¹ZΛ + I   Λ'Z'R⁻¹X   Λ'Z'R⁻¹y ⎤
//	⎢ X'R⁻¹ZΛ         X'R⁻¹X     X'R⁻¹y   ⎥
//	⎣ y'R⁻¹ZΛ         y'R⁻¹X     y'R⁻¹y   ⎦
//
// yields the fixed effects, σ² and both determinants. Its gradient comes from
// the same factor: the derivative of log det by a variance parameter needs only
// those blocks of the inverse that the factor's own shape covers, found by one
// pass backwards (Takahashi, Fagan and Chin 1973). The descent takes its first
// steps with the average of observed and expected information (Gilmour, Thompson
// and Cullis 1995) and its last with secants.
//
// Rows censored at a limit enter the likelihood through
// expectation propagation (Minka 2001), an approximation: see limits.go. It is
// exact without random terms; with a random intercept and 24 pages a book its
// log likelihood is within 0.005 of the exact integral with up to 40 % of the
// pages at the floor and within 0.05 with 60 %, and in simulated studies with
// 40 % at the floor effects and variances come back without bias
// (limits_test.go).
//
// On the log scale everything is fitted and told on that scale;
// [Fit.OutcomeMean] carries means back without bias. Known standard deviations
// are those of the outcome as the table has it; on the log scale they are
// divided by it, to first order.
//
// # Speed
//
// What made it fast, in the order in which a profile asked for it. The groups
// are ordered so that nested ones give no fill, and what is left of crossed ones
// becomes one dense block: cost is linear in the rows of a nested design
// (BenchmarkCorpus: from 10⁴ to 10⁶ rows and to 3·10⁶ computing time grows with
// the power 1.0 of the rows, 0.98 to 1.01 in single runs; about a microsecond a
// row), and the crossed InstEval has a factor of 0.9 million numbers. Its first fit took 12
// seconds: half went into handing updates to later panels column by column, each
// a jump in memory; along rows it took a quarter of that. Next stood the dense
// block's factor and inverse in general routines: long inner products over
// contiguous rows, bands of them shared over the cores, tripled their rate. Then
// the number of evaluations: from 32 by quasi-Newton steps alone to 9 by average
// information, corrected by what the curvature of ΛΛ' itself adds, to 5 from
// starting values by moments. Then what comes after the descent: the information
// for degrees of freedom takes one difference for each parameter of a large design,
// on all cores, from the blocks of the inverse that the gradient needs too, in place
// of dense traces: 30,000 rows of 200 books and 3,750 quires with 60 days crossed
// over all take 1.1 s with Kenward and Roger's inference. Then fronts of a few columns, turned over so that their products run along
// contiguous numbers, and levels of fronts whose blocks of the inverse are found
// side by side. A bootstrap's refit takes its last small step without a gradient
// at its end, which leaves 1e-8 of the criterion and saves one evaluation in
// five. No evaluation of a small design allocates: factor, inverse and
// scratch are refilled in place. For small designs the inference is
// more than half of the time: of a fit to sleepstudy, 0.6 ms, some 0.4. What is left of InstEval is in halves: the dense block of
// 822 columns, whose inner products run as fast as two numbers at a time allow,
// and the sums over pairs of lecturers who share a student, which jump in memory.
//
// # Map
//
// Each file is one step of the method, in this order:
//
//	model.go       the model as the scholar writes it
//	parse.go       … read from TOML, all problems at once
//	check.go       a model laid over a table, without fitting it
//	design.go      model and table → rows, outcome; columns.go: levels, products;
//	               groups.go: what varies between groups
//	fixed.go       X = QR: collinear columns by name; the likelihood works with Q
//	               and the least-squares remainder, in units of its own spread
//	smooth.go      curves along a column as random bends
//	residual.go    the residual's structures, and how they compose: the Kalman filter
//	               that whitens one group of correlated rows; residual_plain.go,
//	               residual_levels.go, residual_known.go, residual_autoregression.go:
//	               one kind each, and limits.go
//	system.go      the design with the shape of its normal equations, which
//	               [thumbed/models/sparse] solves
//	curvature.go   the average information
//	weighing.go    cross-product under a residual structure, and its derivatives
//	offsets.go     errors shared by rows, with spreads known beforehand
//	limits.go      rows that are only bounds, as pseudo-measurements
//	separation.go  effects of which only bounds speak, found and refused
//	likelihood.go  the criterion and its gradient as functions of φ
//	minimise.go    quasi-Newton descent
//	fit.go         the optimum, zeros told from near-zeros; variances.go: in words
//	inference.go   standard errors, Satterthwaite degrees of freedom, contrasts
//	scale.go       means carried back from the log scale
//	text.go        the fit as text
//
// What is asked of a fit beyond its coefficients:
//
//	variancepoint.go the parameters in which V is linear, and their expected
//	               information by differences of tr(P·Vᵢ), which the blocks of the
//	               inverse give; residualslopes.go: derivatives of R;
//	varianceslopes.go what the derivatives of V do to the fixed effects,
//	               variancecurves.go the second ones where rows are autocorrelated, for
//	kenwardroger.go the adjusted covariance and degrees of freedom, which a fit
//	               reports wherever they can be computed; strata.go: those that the
//	               design has, where a variance is zero
//	jointtest.go   F tests of several contrasts, after both methods
//	ratio.go       likelihood-ratio tests and their mixtures
//	parameters.go  all parameters by name
//	profile.go     profile-likelihood intervals; held.go: the criterion with one
//	               parameter held
//	refit.go       the design fitted to other outcomes; simulate.go: outcomes
//	               drawn from the fit; bootstrap.go: both together; draw.go:
//	               outcomes drawn from parameters that are given
//	effects.go     conditional modes
//	encode.go      rows of X and Z for places not seen; predict.go: predictions,
//	               means.go: marginal means
//	rsquared.go    shares of variance
//	residuals.go   conditional residuals
//	influence.go   what leaving out a group does, by update
//	neighbours.go  whether neighbouring rows are too much alike
//	envelope.go    whether residuals and modes are as a normal distribution's
//	diagnosis.go   all of that in sentences
//
// How often the intervals hold the truth is in COVERAGE.md, written by
// TestCoverage.
//
// # For those who build on the inside
//
// The variance parameters φ are one vector: entries of the relative factors Λ
// first (likelihood.parameters says which), the residual's own after them
// (weighing.parameters). Λ is relative to σ and to columns scaled to a root mean
// square of one ([factor].units). Where known variances fix the scale
// (likelihood.absolute), σ is not profiled out: it is a parameter itself, and
// likelihood.sigma() is 1. Everything is in the basis Q and in the outcome's
// unit fixedPart.scale: β = beta + R⁻¹·(coefficients of Q)·scale.
//
//   - criterion(φ) sets the trial to φ; gradient(κ, g) may follow it, with κ the
//     weight of the sum of squares: like.kappa where σ² is profiled, 1/σ² where
//     it is held, 0 for the determinants alone.
//   - After criterion(φ): trial.RootL holds the triangle of X'V⁻¹X (first p
//     rows), of X'V⁻¹y (row p) and the root of the sum of squares; V relative to
//     σ², X meaning Q.
//   - trial.Sensitivity() gives C = M⁻¹Λ'Z'R⁻¹[X y]: fixed effects' share in the
//     modes, derivatives of X'V⁻¹X (fixedSlopes, and weighing.fixedSlopes for
//     the residual's parameters).
//   - trial.StartInverse and trial.Invert fill blocks of the inverse; Adjoint
//     carries them to the cross-product.
//   - A system is shared and read only; a likelihood (its trial and weighing) is
//     one worker's own: make one for each goroutine with newLikelihood.
package mixed
