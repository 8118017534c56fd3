package corpus

import (
	"thumbed/models/study"
	"thumbed/models/table/keys"
)

// Keys says what the keys of a File mean; what a study file has too means the
// same.
func (File) Keys() keys.List {
	same := study.File{}.Keys()
	return keys.List{
		"title":       same["title"],
		"author":      same["author"],
		"note":        same["note"],
		"invented":    same["invented"],
		"folders":     {About: "patterns of the folders with books, with * for any part of a name", Required: true},
		"instruments": {About: "path of one table of instruments for all folders; where not given, each folder has its own"},
		"tables":      {About: "names of the tables inside each folder; those of readings may be patterns"},
		"measuring":   same["measuring"],
		"readers":     {About: "choices of the comparison of readers"},
		"model":       same["model"],
		"question":    same["question"],
		"adjust":      same["adjust"],
		"family":      same["family"],
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
