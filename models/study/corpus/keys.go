package corpus

import "thumbed/models/table/keys"

// Keys says what the keys of a File mean.
func (File) Keys() keys.List {
	return keys.List{
		"title":       {About: "what the page is headed by"},
		"author":      {About: "who asks"},
		"note":        {About: "a sentence or two that stand under the title"},
		"invented":    {About: "whether the books and readings are invented; the page then says so"},
		"folders":     {About: "patterns of the folders with books, with * for any part of a name", Required: true},
		"instruments": {About: "path of one table of instruments for all folders; where not given, each folder has its own"},
		"tables":      {About: "names of the tables inside each folder; those of readings may be patterns"},
		"measuring":   {About: "choices of the measuring plan"},
		"readers":     {About: "choices of the comparison of readers"},
		"model":       {About: "the models"},
		"question":    {About: "the questions"},
		"family":      {About: "families of questions that are not adjusted as usual"},
	}
}

// Keys says what the keys of a Readers mean.
func (Readers) Keys() keys.List {
	return keys.List{
		"set":     {About: "the hours in which readers are compared; where not given, those that most books have"},
		"offices": {About: "the offices in which they are compared; where not given, those measured in nine of ten readers"},
		"most":    {About: "largest number of groups that is tried"},
		"draws":   {About: "times that other readers, and the curves with their errors, are drawn to see whether groups come out again"},
		"seed":    {About: "begins their random numbers"},
	}
}
