package dropoff

import "thumbed/models/table/keys"

// Keys says what the keys of a Changes mean.
func (Changes) Keys() keys.List {
	return keys.List{
		"n":         {About: "rows of the series"},
		"criterion": {About: "by what the number of changes was chosen"},
		"changes":   {About: "the changes that are claimed, in order"},
		"doubtful":  {About: "changes of the best segmentation that are not claimed, in order; left out where there are none"},
		"levels":    {About: "the levels between the changes of the best segmentation, in order, doubtful ones too"},
		"notes":     {About: "plain sentences on what should be known before the numbers are used"},
		"known":     {About: "the known breaks, in order, which are not among the changes; left out where there are none"},
		"whole":     {About: "the stretches in which no change was placed, as they were given; left out where there are none"},
	}
}

// Keys says what the keys of a WholeRows mean.
func (UnbrokenRows) Keys() keys.List {
	return keys.List{
		"from":   {About: "first row, counted from 1"},
		"to":     {About: "last row"},
		"reason": {About: "why it holds no change; empty where not told"},
	}
}

// Keys says what the keys of a KnownBreak mean.
func (KnownBreak) Keys() keys.List {
	return keys.List{
		"after":     {About: "last row before the break, counted from 1"},
		"at":        {About: "label of that row"},
		"before":    {About: "the page, or row, before which it lies"},
		"reason":    {About: "why it is known; empty where not told"},
		"size":      {About: "level after it less level before it", Unit: "of the values"},
		"size_low":  {About: "lower end of its 95 % interval, the places of changes taken as found", Unit: "of the values"},
		"size_high": {About: "upper end of its 95 % interval", Unit: "of the values"},
	}
}

// Keys says what the keys of a Change mean.
func (Change) Keys() keys.List {
	return keys.List{
		"after":       {About: "last row of the old level, counted from 1"},
		"at":          {About: "label of that row"},
		"low":         {About: "first row of the interval that holds 95 % of the probability of the place"},
		"high":        {About: "last row of that interval"},
		"probability": {About: "probability, over all numbers and places of changes, that one follows a row from low to high"},
		"size":        {About: "new level less old level", Unit: "of the values"},
		"size_low":    {About: "lower end of its 95 % interval, the places taken as found", Unit: "of the values"},
		"size_high":   {About: "upper end of its 95 % interval", Unit: "of the values"},
		"doubt":       {About: "why the change is not claimed; left out where it is"},
	}
}

// Keys says what the keys of a Level mean.
func (Level) Keys() keys.List {
	return keys.List{
		"from": {About: "first row, counted from 1"},
		"to":   {About: "last row"},
		"mean": {About: "mean of the rows", Unit: "of the values"},
		"se":   {About: "its standard error, the places of the changes taken as found", Unit: "of the values"},
	}
}

// Keys says what the keys of a Shaped mean.
func (Shaped) Keys() keys.List {
	return keys.List{
		"n":           {About: "rows of the series"},
		"shape":       {About: "what changes: see --of of thumbed changes", Words: []string{string(LevelAndSlope), string(JoinedLines), string(LevelAndScatter)}},
		"criterion":   {About: "by what the number of changes was chosen"},
		"changes":     {About: "the changes, in order"},
		"pieces":      {About: "the pieces between them, in order"},
		"false_alarm": {About: "how often a series in one piece, with noise like this one's, looks as much like several; 0 where not asked"},
		"notes":       {About: "plain sentences on what should be known before the numbers are used"},
	}
}

// Keys says what the keys of a Bend mean.
func (Bend) Keys() keys.List {
	return keys.List{
		"after":       {About: "last row before it, counted from 1; of joined lines the row at which they meet"},
		"at":          {About: "label of that row"},
		"low":         {About: "first row of the 95 % interval of the place"},
		"high":        {About: "last row of that interval"},
		"probability": {About: "probability of a change inside the interval, given the other changes"},
		"sizes":       {About: "in what the pieces on either side differ, and by how much"},
	}
}

// Keys says what the keys of a Size mean.
func (Size) Keys() keys.List {
	return keys.List{
		"of":    {About: "jump: the new line at its first row less the old line carried on to that row; change of slope: by position; difference of means: new level less old level; ratio of scatters: new standard deviation over old", Words: []string{Jump, SlopeChange, MeanDifference, ScatterRatio}},
		"value": {About: "the size at the place found", Unit: "of the values; of the values by position for a slope; none for a ratio"},
		"low":   {About: "lower end of its 95 % interval, averaged over the place and the correlation of neighbouring rows"},
		"high":  {About: "upper end of that interval"},
	}
}

// Keys says what the keys of a Piece mean.
func (Piece) Keys() keys.List {
	return keys.List{
		"from":    {About: "first row, counted from 1"},
		"to":      {About: "last row"},
		"start":   {About: "value expected at its first row", Unit: "of the values"},
		"end":     {About: "value expected at its last row", Unit: "of the values"},
		"scatter": {About: "standard deviation of rows about it, their own measuring errors in it", Unit: "of the values"},

		"slope":      {About: "what is expected more from one position to the next, of rows without positions from one row to the next; 0 where pieces are levels", Unit: "of the values by position"},
		"slope_low":  {About: "lower end of its 95 % interval, the places taken as found"},
		"slope_high": {About: "upper end of that interval"},
	}
}
