package digits

import "thumbed/models/table/keys"

// Keys says what the keys of a Comparison mean.
func (Comparison) Keys() keys.List {
	return keys.List{
		"compared":  {About: "numbers that both have"},
		"last_bits": {About: "of them, those that differ by less than 1e-7 of the larger of their size and their standard error"},
		"moved":     {About: "of them, those that differ"},
		"gone":      {About: "places of numbers that only the record has"},
		"new":       {About: "places of numbers that only the run has"},
		"verdicts":  {About: "answers that change"},
		"words":     {About: "other texts that change"},
	}
}

// Keys says what the keys of a Moved mean.
func (Moved) Keys() keys.List {
	return keys.List{
		"place": {About: "where the number stands in results.json"},
		"from":  {About: "the number recorded, at full precision"},
		"to":    {About: "the number now"},
		"by":    {About: "to less from; null where one of them is no number"},
	}
}

// Keys says what the keys of a Reworded mean.
func (Reworded) Keys() keys.List {
	return keys.List{
		"place": {About: "where the text stands in results.json"},
		"from":  {About: "the text recorded"},
		"to":    {About: "the text now"},
	}
}
