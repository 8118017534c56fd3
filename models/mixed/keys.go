package mixed

import "thumbed/models/table/keys"

// Keys says what the keys of a Model mean.
func (Model) Keys() keys.List {
	return keys.List{
		"outcome":        {About: "column of the outcome: numbers; for grades and yes or no labels", Required: true},
		"kind":           {About: "what kind of outcome it is; measure where not given", Words: kindWords},
		"link":           {About: "what is linear in the effects: for grades and yes or no the logit where not given, for counts the log", Words: []string{"logit", "probit", "complementary log-log", "log"}},
		"thresholds":     {About: "how the thresholds between grades lie; grades only, free where not given", Words: []string{"free", "symmetric", "equal"}},
		"by_threshold":   {About: "terms whose effect may differ by threshold; grades only", Kind: "list of texts, or of lists of texts"},
		"trials":         {About: "column of the number of trials of which the outcome is the number of successes; yes or no only. Without it each row is one trial"},
		"spread":         {About: "the distribution of counts; Poisson where not given", Words: []string{"Poisson", "negative binomial"}},
		"exposure":       {About: "column of numbers above zero to which the expected count is proportional: an area, a number of pages; counts only"},
		"zero_inflation": {About: "zeros beside those that the spread gives: false (where not given), true for one probability, or the terms that it depends on; counts only", Kind: "true, false, or list of texts, or of lists of texts"},
		"points":         {About: "points of adaptive Gauss–Hermite quadrature, where there is one random term with one column; 1, Laplace's approximation, where not given"},
		"scale":          {About: "whether the outcome is modelled as it is, or its natural logarithm; identity where not given", Words: []string{"identity", "log"}},
		"estimate":       {About: "which likelihood the variances are estimated by; restricted where not given", Words: []string{"restricted", "full"}},
		"fixed":          {About: "the fixed effects besides the intercept, which is always there: columns, and for products lists of columns", Kind: "list of texts, or of lists of texts"},
		"levels":         {About: "the levels of columns of labels, the baseline first; else in order of first appearance"},
		"random":         {About: "what varies between groups; without any the fit is by ordinary least squares"},
		"smooth":         {About: "curves along a column"},
		"df":             {About: "how degrees of freedom come about; after Kenward and Roger where not given, wherever that can be computed", Words: []string{kenwardRoger, satterthwaite}},
		"residual":       {About: "the errors of single rows"},
	}
}

// Keys says what the keys of an Offset mean.
func (Offset) Keys() keys.List {
	return keys.List{
		"by": {About: "column of the labels that share the error: one label in a cell, or several with weights such as A × 0.62 + B × 0.38; none in an empty cell", Required: true},
		"sd": {About: "standard deviation of the errors, known beforehand", Unit: "of the outcome", Required: true},
		"df": {About: "degrees of freedom that sd was estimated with; 0 or nothing takes it as exactly known"},
	}
}

// Keys says what the keys of a Random mean.
func (Random) Keys() keys.List {
	return keys.List{
		"by":         {About: "the column that names the groups, or several where each combination of their labels is a group (book and quire: the quire within the book)", Required: true, Kind: "text, or list of texts"},
		"terms":      {About: "what varies between the groups: intercept, and columns", Required: true},
		"correlated": {About: "whether the terms of one group may be correlated"},
	}
}

// Keys says what the keys of a Smooth mean.
func (Smooth) Keys() keys.List {
	return keys.List{
		"column": {About: "column of numbers along which the curve runs", Required: true},
		"by":     {About: "columns that name groups, each with bends of its own; without them there is one curve for all rows"},
		"bends":  {About: "number of random coefficients of a curve; 0: 18, or fewer where the column has few values"},
	}
}

// Keys says what the keys of a Residual mean.
func (Residual) Keys() keys.List {
	return keys.List{
		"known_sd": {About: "column of known standard deviations of measurement; their squares add to the residual variance"},
		"along":    {About: "column of positions along which errors of neighbours are correlated (first-order autoregression)"},
		"within":   {About: "column of the groups inside which they are"},
		"limit":    {About: "outcomes at or below this are known only to be at or below it", Unit: "of the outcome"},
		"limits":   {About: "column that says whether the row's outcome is a value (empty) or only a bound: below or above"},
		"levels":   {About: "column by whose labels the residual spread differs"},
		"offsets":  {About: "errors shared by all rows of a label, such as a day's or an observer's, with spreads known beforehand"},
	}
}

// Keys says what the keys of a Fit mean.
func (Fit) Keys() keys.List {
	return keys.List{
		"n":         {About: "rows that the fit rests on"},
		"estimate":  {About: "which likelihood the variances were estimated by", Words: []string{"restricted", "full"}},
		"loglik":    {About: "logarithm of the likelihood, restricted where restricted"},
		"criterion": {About: "−2 times loglik"},
		"converged": {About: "whether the search for the greatest likelihood came to its end"},
		"boundary":  {About: "the random terms whose variance is estimated as zero or whose correlation as ±1; empty where none"},
		"seconds":   {About: "how long the fit took; 0 in results, which hold nothing that depends on the clock", Unit: "s"},
		"fixed":     {About: "the fixed effects, the intercept first"},
		"random":    {About: "the random terms, in the order of the model"},
		"smooth":    {About: "the curves, in the order of the model"},
		"residual":  {About: "the errors of single rows"},
		"method":    {About: "how standard errors and degrees of freedom of the fixed effects came about: Kenward–Roger, or Satterthwaite with the reason, or least squares where that is exact"},
		"notes":     {About: "plain sentences on what should be known before the numbers are used"},
	}
}

// Keys says what the keys of a Coefficient mean.
func (Coefficient) Keys() keys.List {
	return keys.List{
		"term":     {About: "intercept, a column, column=level, products joined by × ; of an answer its contrast"},
		"estimate": {About: "the estimate", Unit: "of the outcome"},
		"se":       {About: "its standard error", Unit: "of the outcome"},
		"df":       {About: "degrees of freedom of t"},
		"t":        {About: "estimate divided by its standard error"},
		"p":        {About: "two-sided p-value"},
		"low":      {About: "lower end of the 95 % interval", Unit: "of the outcome"},
		"high":     {About: "upper end of the 95 % interval", Unit: "of the outcome"},
	}
}

// Keys says what the keys of a RandomFit mean.
func (RandomFit) Keys() keys.List {
	return keys.List{
		"by":          {About: "column or columns that name the groups", Kind: "text, or list of texts"},
		"terms":       {About: "what varies between the groups"},
		"sd":          {About: "standard deviations between groups, in the order of terms", Unit: "of the outcome"},
		"correlation": {About: "correlations of the terms, a full matrix in their order"},
		"groups":      {About: "number of groups"},
	}
}

// Keys says what the keys of a SmoothFit mean.
func (SmoothFit) Keys() keys.List {
	return keys.List{
		"column":    {About: "column along which the curve runs"},
		"by":        {About: "columns that name groups with bends of their own"},
		"bends":     {About: "number of random coefficients of a curve"},
		"sd":        {About: "standard deviation of the bends' coefficients; zero makes the curve a straight line", Unit: "of the outcome"},
		"effective": {About: "degrees of freedom of the curve beyond the straight line, all groups together"},
	}
}

// Keys says what the keys of a ResidualFit mean.
func (ResidualFit) Keys() keys.List {
	return keys.List{
		"sd":     {About: "standard deviation of single rows; where it differs by level, that of the first", Unit: "of the outcome"},
		"rho":    {About: "correlation of rows at distance 1; 0 where none is modelled"},
		"levels": {About: "standard deviations by level, where the model lets them differ"},
	}
}

// Keys says what the keys of a LevelSpread mean.
func (LevelSpread) Keys() keys.List {
	return keys.List{
		"level": {About: "label of the column"},
		"sd":    {About: "standard deviation of its rows", Unit: "of the outcome"},
	}
}

// Keys says what the keys of Parameters mean.
func (Parameters) Keys() keys.List {
	return keys.List{
		"fixed":    {About: "fixed effects by their terms; those not named are zero", Unit: "of the outcome"},
		"random":   {About: "the random terms, in the order of the model"},
		"smooth":   {About: "the curves, in the order of the model"},
		"residual": {About: "the spread of single rows"},
	}
}
