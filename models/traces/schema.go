package traces

import "thumbed/models/table"

// Schema describes traces.csv: one row one look of one observer at one thing.
func Schema() table.Schema {
	zero := 0.0
	return table.Schema{Fields: []table.Field{
		{Name: "book", Kind: table.String, Title: "Book", Description: "the book's id in books.csv", Constraints: &table.Limits{Required: true}},
		{Name: "page", Kind: table.String, Title: "Page", Description: "folio and side, such as 12r", Constraints: &table.Limits{Required: true}},
		{Name: "part", Kind: table.String, Title: "Part", Description: "part of the page or its picture, as the coding book names it; empty where the page is looked at as a whole"},
		{Name: "trace", Kind: table.String, Title: "Trace", Description: "what was looked for, as the coding book names it", Constraints: &table.Limits{Required: true}},
		{Name: "grade", Kind: table.String, Title: "Grade", Description: "the grade seen, one of the coding book's; of graded traces"},
		{Name: "count", Kind: table.Integer, Title: "Count", Description: "how many; 0 where none is there; of counted traces", Constraints: &table.Limits{Minimum: &zero}},
		{Name: "present", Kind: table.Boolean, Title: "Present", Description: "yes or no; of traces that are there or not"},
		{Name: "exposure", Kind: table.Number, Title: "Exposure", Description: "how much was looked at, in the coding book's unit; of counts with an exposure", Constraints: &table.Limits{Minimum: &zero}},
		{Name: "unclear", Kind: table.String, Title: "Cannot be told", Description: "the reason why it cannot be told, in place of grade, count or present: faded, repainted, under a stain"},
		{Name: "observer", Kind: table.String, Title: "Observer", Description: "who looked", Constraints: &table.Limits{Required: true}},
		{Name: "date", Kind: table.Date, Title: "Date", Description: "the day of the look, such as 2026-03-09", Constraints: &table.Limits{Required: true}},
		{Name: "excluded", Kind: table.String, Title: "Reason for exclusion", Description: "why the look is left out, in words; empty where it is kept"},
		{Name: "note", Kind: table.String, Title: "Note", Description: "anything else"},
	}}
}
