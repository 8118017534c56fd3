package sheet

import "thumbed/models/table/keys"

// Words that a mapping may give: what parts the columns of a text, and its decimal
// mark.
var (
	delimiterWords = []string{",", ";", "\t", "|"}
	decimalWords   = []string{".", ","}
)

// Keys says what the keys of a mappingFile mean.
func (mappingFile) Keys() keys.List {
	return keys.List{
		"columns":   {About: "by the scholar's name of a column, our name for it; or two names, where a cell holds a day and a time of day", Kind: "text, or list of two texts, by name"},
		"sheets":    {About: "by the name of a sheet, the table of a study that it is"},
		"words":     {About: "by the whole text of a cell, our word for it; or, by our name of a column, the words of that column alone", Kind: "text, or section of texts, by name"},
		"constant":  {About: "by our name of a column, the value that it has in all rows of the tables it belongs to that lack it, but where it can have none: a reading of the tile is of no book, a spot is on a page"},
		"units":     {About: "by our name of a column, a mark behind its numbers that is taken off, such as D or mm"},
		"times":     {About: "how times of day are written, where as 14.05; 14:05, 14h05 and 2:05 pm are read without it", Words: []string{HourPoint}},
		"dates":     {About: "the order in which days are written, where not as 2026-03-09", Words: []string{DayFirst, MonthFirst}},
		"delimiter": {About: "mark between the columns of a .csv; told from the file where not given", Words: delimiterWords},
		"encoding":  {About: "name of the encoding of a .csv that is not UTF-8, such as windows-1252"},
		"decimal":   {About: "decimal mark in text; told from the file where not given", Words: decimalWords},
	}
}
