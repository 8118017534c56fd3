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
		"adjust": {About: "how p-values are adjusted; holm where not given", Words: []string{holm, falseDiscovery}},
	}
}

// Keys says what the keys of an Answer mean.
func (Answer) Keys() keys.List {
	return keys.List{
		"question":         {About: "the question as the study file has it"},
		"book":             {About: "the book, where the model is fitted book by book"},
		"effect":           {About: "the contrast's estimate; p in it is two-sided"},
		"outcome":          {About: "what is modelled"},
		"unit":             {About: "unit of the effect, in words"},
		"p":                {About: "p-value in the asked direction"},
		"adjusted":         {About: "p after adjustment over the family"},
		"against":          {About: "p-value the other way: that the effect is at least as large as the smallest that would matter; a small one speaks for no"},
		"against_adjusted": {About: "against after adjustment over the family"},
		"together":         {About: "answers in the family"},
		"verdict":          {About: "what the model says", Words: []string{Yes, No, Open}},
		"sentence":         {About: "the answer in words, with its interval"},
		"sealed":           {About: "whether the question was sealed before the readings"},
		"shifted":          {About: "the answer by pushing the feature round"},
		"bootstrapped":     {About: "the answer by bootstrap"},
		"rate":             {About: "whether adjusted is the false-discovery rate of the family, not the chance of any false claim"},
	}
}

// Keys says what the keys of a Foresight mean.
func (Foresight) Keys() keys.List {
	return keys.List{
		"foreseen": {About: "whether the question counts as foreseen"},
		"day":      {About: "day of the seal, as a date of the log"},
		"why":      {About: "in words, why it does not"},
	}
}

// Keys says what the keys of a Shifted mean.
func (Shifted) Keys() keys.List {
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
		"low":      {About: "lower end of the 95 % interval", Unit: "of the outcome"},
		"high":     {About: "upper end of the 95 % interval", Unit: "of the outcome"},
		"p":        {About: "p-value in the asked direction"},
		"sentence": {About: "the answer in words"},
	}
}
