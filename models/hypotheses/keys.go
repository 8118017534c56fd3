package hypotheses

import "thumbed/models/table/keys"

// Keys says what the keys of a Question mean.
func (Question) Keys() keys.List {
	return keys.List{
		"words":     {About: "the question, in the scholar's words", Required: true},
		"model":     {About: "name of the model that answers it", Required: true},
		"contrast":  {About: "weights by the names of fixed effects: what is asked about", Required: true},
		"direction": {About: "which way an effect is asked about; either where not given", Words: []string{"more", "less", "either"}},
		"smallest":  {About: "smallest effect that would matter, without a sign; 0: not stated", Unit: "of the outcome"},
		"asked":     {About: "whether it was asked before or after the data were seen", Words: []string{"before", "after"}},
		"family":    {About: "answers of one family are adjusted together; those that name none are one family too"},
		"shift":     {About: "arrangements to draw for an answer by pushing the feature round inside each book; 0: none"},
		"bootstrap": {About: "outcomes to draw for an answer by bootstrap; 0: none"},
		"seed":      {About: "begins the random numbers of either"},
	}
}

// Keys says what the keys of a Family mean.
func (Family) Keys() keys.List {
	return keys.List{
		"name":   {About: "as the questions have it; empty for those that name none"},
		"adjust": {About: "what is held at 5 %: the chance of any false claim (where not given; “holm” means the same), or the rate of false claims among all that are made", Words: []string{anyFalse, anyFalseBefore, falseDiscovery}},
	}
}

// Keys says what the keys of an Answer mean.
func (Answer) Keys() keys.List {
	return keys.List{
		"question":         {About: "the question as the study file has it"},
		"book":             {About: "the book, where the model is fitted book by book"},
		"rests":            {About: "what the answer rests on"},
		"effect":           {About: "the contrast's estimate, with the interval from which the verdict is read; p in it is two-sided and alone"},
		"level":            {About: "chance that the interval of this answer alone misses the truth, so that those of all answers adjusted together hold at once"},
		"outcome":          {About: "what is modelled"},
		"of":               {About: "what the effect is of, in words"},
		"unit":             {About: "unit of the effect, in words"},
		"p":                {About: "p-value in the asked direction, alone"},
		"adjusted":         {About: "error rate, over all answers adjusted together, at which the interval would just leave out zero in the asked direction"},
		"against":          {About: "p-value the other way: that the effect is at least as large as the smallest that would matter; a small one speaks for no"},
		"against_adjusted": {About: "error rate, over all answers adjusted together, at which the interval would just lie short of what would matter"},
		"together":         {About: "answers adjusted together"},
		"verdict":          {About: "what the model says", Words: []string{Yes, No, Open}},
		"sentence":         {About: "the answer in words, with what it rests on and its interval"},
		"test":             {About: "the statistic and its p-values in words"},
		"caution":          {About: "why no more is claimed than the verdict says, a sentence"},
		"sealed":           {About: "whether the question was sealed before the readings"},
		"shifted":          {About: "the answer by pushing the feature round"},
		"bootstrapped":     {About: "the answer by bootstrap"},
		"rate":             {About: "whether the rate of false discoveries of the family is held, not the chance of any false claim"},
		"correlation":      {About: "of the estimate with those of the other answers of the same fit, by their questions' words"},
		"by_design":        {About: "whether the degrees of freedom are those that the design leaves the contrast (groups of its stratum less fixed effects there), since a variance of the fit came out as zero"},
		"at_zero":          {About: "random terms whose variance came out as zero though the question compares their groups"},
	}
}

// Keys says what the keys of Rests mean.
func (Rests) Keys() keys.List {
	return keys.List{
		"pages":      {About: "pages in the model"},
		"bounds":     {About: "of them, those known only to a bound"},
		"with":       {About: "pages of the levels that the question sets against others"},
		"groups":     {About: "books, days, sections and quires in which they stand"},
		"out":        {About: "pages that are not in the model, by the reason"},
		"added":      {About: "groups that the model does not name and that were added for this question"},
		"sources":    {About: "days, observers or instruments of unknown spread that were added to the model for this question"},
		"decided_by": {About: "single pages, quires, sections, books and days without which the verdict would be another"},
		"sentence":   {About: "in words, what the answer rests on"},
		"decided":    {About: "in words, on which single group the verdict hangs; missing where on none, or where none was tried"},
	}
}

// Keys says what the keys of a With mean.
func (With) Keys() keys.List {
	return keys.List{
		"column": {About: "a column of labels"},
		"level":  {About: "one of them"},
		"pages":  {About: "pages with it in the model"},
		"out":    {About: "pages with it that were measured and are not in the model"},
	}
}

// Keys says what the keys of a GroupsOf mean.
func (GroupsOf) Keys() keys.List {
	return keys.List{
		"by":     {About: "book, day, section or quire"},
		"groups": {About: "those with a page in the model"},
		"with":   {About: "those with a page of a level asked about in the model"},
	}
}

// Keys says what the keys of a FallenOut mean.
func (FallenOut) Keys() keys.List {
	return keys.List{
		"why":    {About: "why these pages are not in the model"},
		"column": {About: "the column that is empty"},
		"pages":  {About: "pages, each counted once"},
		"with":   {About: "of them, those of a level asked about"},
	}
}

// Keys says what the keys of a DecidedBy mean.
func (DecidedBy) Keys() keys.List {
	return keys.List{
		"by":       {About: "page, quire, section, book or day"},
		"group":    {About: "its label"},
		"pages":    {About: "its pages in the model"},
		"estimate": {About: "the effect without it", Unit: "of the outcome"},
		"low":      {About: "lower end of the interval without it", Unit: "of the outcome"},
		"high":     {About: "upper end of the interval without it", Unit: "of the outcome"},
		"verdict":  {About: "without it", Words: []string{Yes, No, Open}},
	}
}

// Keys says what the keys of a Foresight mean.
func (Preregistration) Keys() keys.List {
	return keys.List{
		"foreseen": {About: "whether the question counts as foreseen"},
		"day":      {About: "day of the seal, as a date of the log"},
		"why":      {About: "in words, why it does not"},
	}
}

// Keys says what the keys of a Shifted mean.
func (CircularShiftTest) Keys() keys.List {
	return keys.List{
		"question":     {About: "the question as the study file has it"},
		"columns":      {About: "the columns that are pushed round"},
		"t":            {About: "estimate divided by its standard error, as seen"},
		"p":            {About: "p-value in the asked direction"},
		"arrangements": {About: "arrangements fitted, the one seen among them"},
		"exact":        {About: "whether these are all that there are"},
		"failed":       {About: "those that could not be fitted, which count as no less extreme"},
		"sentence":     {About: "the answer in words"},
	}
}

// Keys says what the keys of a Bootstrapped mean.
func (Bootstrapped) Keys() keys.List {
	return keys.List{
		"outcomes": {About: "outcomes drawn from the model and fitted again"},
		"failed":   {About: "those without a fit that converged, which count against any finding"},
		"low":      {About: "lower end of the interval", Unit: "of the outcome"},
		"high":     {About: "upper end of the interval", Unit: "of the outcome"},
		"joint":    {About: "whether the interval is at the answer's level; else it is at 95 %, alone, since too few outcomes were drawn"},
		"p":        {About: "p-value in the asked direction"},
		"sentence": {About: "the answer in words"},
	}
}
