// Package generalised answers: what does each feature of a page do to what no
// instrument measures — what is graded, is there or not, or is counted — once the
// book, the quire and the other features are allowed for?
//
// It fits generalised linear mixed models and cumulative ones: with η = xβ + z'b of a
// row and b ~ N(0, ΛΛ') of each group,
//
//	yes or no   successes among trials, P(yes) = F(η); F by the link: logit, probit,
//	            complementary log-log, 1 − exp(−exp η)
//	counts      Poisson or negative binomial (variance μ + μ²/size), log μ = η +
//	            log exposure; with zero inflation a zero besides with probability π,
//	            logit π = a constant or a function of terms
//	grades      P(grade ≤ j) = F(θⱼ − η): a positive effect goes with higher grades.
//	            Thresholds are free, symmetric or equally spaced; chosen terms may
//	            have an effect at each threshold of its own
//
// with any number of random terms, nested and crossed, intercepts and slopes,
// correlated or not. A model is a [mixed.Model] whose kind is not a measure; [New]
// fits it, [FitModel] a model of any kind. Values that are missing leave their rows
// out, and say so: not measured is never nothing there.
//
// Two grades and yes or no are one model under the logit and the probit, with
// intercept −θ. Under the complementary log-log they are not: for grades it is the
// lower grade that has probability 1 − exp(−exp(θ − η)), for yes or no the yes has
// 1 − exp(−exp η). The one is the other with the levels in the other order and the
// effects' signs changed.
//
// # Method
//
// The random effects are integrated out by Laplace's approximation with the exact
// Hessian at the mode ([trial]); with links that are not canonical the expected
// weights that some use give another number. With one grouping of one term, points
// above 1 ask for adaptive Gauss–Hermite quadrature ([quadrature]). The fit says
// which: likelihoods of different approximations must not be compared. Grades under
// the probit, three or more, are by expectation propagation ([propagation]) unless
// points = 1 asks for Laplace's approximation: the simulation in COVERAGE.md has it an
// order of magnitude nearer to quadrature, and it allows any random terms. All
// parameters are found together by quasi-Newton steps on the approximation itself
// with its exact gradient, and Newton's steps at the end; standard errors are from
// its observed information there.
//
// Effects that the data bound on one side only are found before fitting, by the
// cone of directions in which every row becomes more probable, and answered by a
// penalised likelihood that the notes name ([penalised]).
//
// Laplace's approximation errs most with few rows a group: for yes or no with a
// deviation of 0.8 between groups of 2, 5 and 20 rows the deviation comes out 0.22,
// 0.06 and 0.01 too small, an effect inside groups 0.03, 0.005 and 0.000 (COVERAGE.md).
//
// # Map
//
//	build.go       model and table → design: what is wrong, which parameters a
//	               predictor is made of
//	rows.go        equal rows as one, covariate patterns, predictors
//	random.go      the random terms over the distinct rows
//	kind.go        what a kind of outcome is: yesno.go, counts.go, grades.go;
//	               links.go their links
//	gradeslogit.go grades under the logit, by their odds
//	lattice.go     the equations of the random effects, by models/sparse
//	laplace.go     the mode, Laplace's approximation, its gradient
//	quadrature.go  the same by adaptive Gauss–Hermite quadrature
//	propagation.go the same by expectation propagation
//	separation.go  effects without end; penalty.go: what answers them
//	optimum.go     starting values, the maximum, its Hessian; descent.go: the steps
//	fit.go         the fit: names, standard errors, spreads; text.go: for reading
//	fewgroups.go   what an effect between few groups rests on
//	ordered.go     thresholds that would cross: refused, with the rows
//	result.go      a fitted model of whichever kind; two models compared
//
// What is asked of a fit beyond its coefficients:
//
//	means.go       probabilities and rates, averaged over rows and groups
//	infer.go       what a model asks for by its keys, and what is looked at unasked
//	parameters.go  all parameters by name
//	predict.go     rows without an outcome; which group an effect rests on
//	profile.go     profile-likelihood intervals; ratio.go: likelihood ratios
//	simulate.go    outcomes drawn from the fit, and the bootstrap; redraw.go: for other rows
//	diagnosis.go   randomised quantile residuals, spread and zeros, in sentences
//
// How often the intervals hold the truth is in COVERAGE.md, written by TestCoverage.
package generalised
