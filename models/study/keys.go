package study

import (
	"thumbed/models/readings"
	"thumbed/models/table/keys"
)

// Keys says what the keys of a File mean.
func (File) Keys() keys.List {
	return keys.List{
		"title":      {About: "what the page is headed by"},
		"author":     {About: "who asks"},
		"note":       {About: "a sentence or two that stand under the title"},
		"invented":   {About: "whether the books and readings are invented; the page then says so"},
		"labels":     {About: "words of columns and of their levels in sentences, such as \"half=second\" = \"the second half\""},
		"tables":     {About: "where the tables are", Required: true},
		"measuring":  {About: "choices of the measuring plan"},
		"sheet":      {About: "the measuring sheet that thumbed sheet makes of the study"},
		"model":      {About: "the models"},
		"question":   {About: "the questions"},
		"adjust":     {About: "over what the chance of a false claim is held: over all families together (where not given), or in each family apart", Words: []string{together, apart}},
		"family":     {About: "families of questions that are not adjusted as usual"},
		"robustness": {About: "which answers are tried under other choices"},
		"images":     {About: "books whose wear is said on the library's images"},
		"compare":    {About: "readers to compare; all pairs where none are named and they are few"},
		"break":      {About: "known breaks of the books, at which the level may differ and no change is found"},
		"whole":      {About: "stretches of the books that cannot hold a change"},
	}
}

// Keys says what the keys of a Sheet mean.
func (Sheet) Keys() keys.List {
	return keys.List{
		"hours":             {About: "hours of measuring, over all dates; --hours of thumbed sheet counts before it", Unit: "h"},
		"must":              {About: "places that are measured in any case"},
		"may":               {About: "places that are measured only where the even spread over the rest falls on them, though they have a picture or begin a text"},
		"never":             {About: "places that are not measured"},
		"seconds_a_placing": {About: "time for a placing, with its entry in the log; 30 where not given", Unit: "s"},
		"seconds_a_turn":    {About: "time to turn to an opening; 60 where not given", Unit: "s"},
	}
}

// Keys says what the keys of Places mean.
func (Places) Keys() keys.List {
	return keys.List{
		"pages": {About: "pages, such as 12r–13v; where the study has several books with the book before them, as in Ardel: 12r–13v; what is said of a page counts before what is said of its text"},
		"texts": {About: "names of texts, as in sections.csv; what is said of a text counts before what is said of its kind"},
		"kinds": {About: "kinds of text, as in sections.csv"},
	}
}

// Keys says what the keys of a SheetOrder mean.
func (SheetOrder) Keys() keys.List {
	return keys.List{
		"books":       {About: "the books of it; all where none is named"},
		"placings":    {About: "placings on each page; a study's sheet has 3 where not given"},
		"zeros":       {About: "placings on the zero of each page at each visit; 2 where not given"},
		"again":       {About: "share of the openings that are measured on another day too; a tenth where not given"},
		"sweeps":      {About: "sweeps through a book on a day; 4 where not given: there, back, back, there; 2 turns fewer leaves over, and lets a drift that goes out and back lie along the book"},
		"days_a_book": {About: "days over which a book is spread; 2 where not given, and there are two dates; a study's sheet takes more where it must"},
		"instrument":  {About: "name of the instrument; may be left out of a study that has one"},
		"observers":   {About: "names of the observers, who take the days in turn; --observers of thumbed sheet counts before it"},
		"dates":       {About: "the days; --dates of thumbed sheet counts before it"},
		"start":       {About: "time of day at which the work begins"},
		"tiles":       {About: "placings each time that the tile is read"},
		"most_turns":  {About: "most turns to an opening that one book is asked for; 0: no limit"},
		"draws":       {About: "orders drawn, of which the best is taken"},
		"seed":        {About: "begins their random numbers"},
	}
}

// Keys says what the keys of a Break mean.
func (Break) Keys() keys.List {
	return keys.List{
		"book":   {About: "the book's id", Required: true},
		"before": {About: "the first page after the break, such as 57r", Required: true},
		"reason": {About: "why it is known, in the scholar's words: a second scribe begins", Required: true},
	}
}

// Keys says what the keys of a Whole mean.
func (Unbroken) Keys() keys.List {
	return keys.List{
		"book":   {About: "the book's id", Required: true},
		"pages":  {About: "the stretch, such as 13r–16v", Required: true},
		"reason": {About: "why it holds no change, in the scholar's words: one prayer, read as a whole", Required: true},
	}
}

// Keys says what the keys of a Tables mean.
func (Tables) Keys() keys.List {
	return keys.List{
		"books":       {About: "path of the table with one row a book", Required: true},
		"leaves":      {About: "path of the table with one row a leaf", Required: true},
		"pages":       {About: "path of the table with one row a page of which there is something to say"},
		"sections":    {About: "path of the table with one row a text"},
		"instruments": {About: "path of the table with one row a densitometer", Required: true},
		"readings":    {About: "paths of the tables with one row a placing", Required: true},
	}
}

// Keys says what the keys of a Measuring mean.
func (Measuring) Keys() keys.List {
	return keys.List{
		"drift":       {About: "how the tile corrects each day; offset where not given", Words: []string{string(readings.DriftNone), string(readings.DriftOffset), string(readings.DriftScale)}},
		"spot_spread": {About: "standard deviation between spots of one page; 0: from the log", Unit: "density"},
		"solid":       {About: "density of solid deposit, for area coverage; 1.5 where not given", Unit: "density"},

		"day_spread":        {About: "standard deviation between days of what the page reads against its zero, from a published or pilot source; 0: from pages measured again", Unit: "density"},
		"observer_spread":   {About: "the same between observers", Unit: "density"},
		"instrument_spread": {About: "the same between instruments", Unit: "density"},
		"placing_spread":    {About: "standard deviation of placing the instrument anew on a page at another sitting, beyond repeatability; 0: from pages measured again", Unit: "density"},
		"spread_source":     {About: "where the stated spreads come from, in words: the results repeat it"},
	}
}

// Keys says what the keys of a Model mean.
func (Model) Keys() keys.List {
	return keys.List{
		"name":  {About: "name by which questions and figures call the model", Required: true},
		"about": {About: "what it is for, in the scholar's words"},
		"each":  {About: "in what the model is fitted by itself; without it, it is fitted once to all", Words: []string{"book"}},
		"only":  {About: "the rows to fit it to: those whose column has one of these labels; all conditions must hold"},
	}
}

// Keys says what the keys of a Robustness mean.
func (Robustness) Keys() keys.List {
	return keys.List{
		"models": {About: "names of the models whose questions are tried under other choices"},
		"leaves": {About: "how many outermost leaves at each end are left out in one of the choices; 2 where not given"},
	}
}

// Keys says what the keys of an Images mean.
func (Images) Keys() keys.List {
	return keys.List{
		"book":     {About: "the book's id", Required: true},
		"manifest": {About: "path of its IIIF Presentation manifest", Required: true},
		"address":  {About: "a web address of the scholar's own, with which the names of the annotations begin; nothing need stand there", Required: true},
	}
}

// Keys says what the keys of a Comparison mean.
func (Comparison) Keys() keys.List {
	return keys.List{
		"readers": {About: "ids of two books, or of one", Required: true},
		"set":     {About: "of two books, the hours to compare; all that both have where not given"},
		"sets":    {About: "of one book, the two sets of hours"},
	}
}

// Keys says what the keys of a Record mean.
func (Record) Keys() keys.List {
	return keys.List{
		"kind":       {About: "what was recorded", Words: []string{OfStudy, OfCorpus, OfPlan}},
		"version":    {About: "version of this form of record"},
		"program":    {About: "name and version of the program"},
		"revision":   {About: "commit that the program was built from"},
		"go":         {About: "version of Go"},
		"platform":   {About: "operating system and architecture"},
		"processor":  {About: "family of processors within which all digits are the same"},
		"modules":    {About: "path and version of each module of the program"},
		"study":      {About: "path of the study file, from the folder of results"},
		"study_text": {About: "what the study file said"},
		"inputs":     {About: "the study file and its tables, paths from the study file's folder"},
		"seeds":      {About: "seeds of all that was drawn by chance"},
		"answers":    {About: "number of answered questions"},
		"outputs":    {About: "all other files of the folder of results, paths from there"},
		"results":    {About: "what results.json holds: every number at full precision"},
	}
}

// Keys says what the keys of a Sealed mean.
func (FileSum) Keys() keys.List {
	return keys.List{
		"path":   {About: "path of the file, with forward slashes"},
		"sha256": {About: "SHA-256 of what it held, in hexadecimal"},
	}
}

// Keys says what the keys of a Seed mean.
func (Seed) Keys() keys.List {
	return keys.List{
		"of":   {About: "what was drawn"},
		"seed": {About: "the seed"},
	}
}

// Keys says what the keys of a Rerun mean.
func (Rerun) Keys() keys.List {
	return keys.List{
		"study":      {About: "path of the study file"},
		"inputs":     {About: "inputs that are not what they were"},
		"made":       {About: "what the run was made by, where that differs"},
		"loosely":    {About: "whether numbers were let differ by 1e-7 of the larger of their size and their standard error, since the processors differ"},
		"comparison": {About: "what came of it; null where the run could not be made again"},
	}
}

// Keys says what the keys of a Changed mean.
func (Changed) Keys() keys.List {
	return keys.List{
		"path": {About: "path of the input"},
		"how":  {About: "what became of it", Words: []string{changed, missing, added}},
	}
}

// Keys says what the keys of an Otherwise mean.
func (BuildDifference) Keys() keys.List {
	return keys.List{
		"what": {About: "part of what the program was made of"},
		"then": {About: "what it was"},
		"now":  {About: "what it is"},
	}
}

// Keys says what the keys of a Seal mean.
func (Seal) Keys() keys.List {
	return keys.List{
		"kind":      {About: "says that it is a seal", Words: []string{sealKind}},
		"version":   {About: "version of this form of seal"},
		"sealed":    {About: "when it was made, in UTC"},
		"day":       {About: "the day by the clock where it was made, as a day of the log"},
		"program":   {About: "name and version of the program"},
		"title":     {About: "title of the study"},
		"measuring": {About: "SHA-256 of what the study file said of the measuring plan"},
		"known":     {About: "SHA-256 of the breaks and stretches that the study file said to be known of the books; left out where it said none"},
		"models":    {About: "the models"},
		"questions": {About: "the questions"},
		"readings":  {About: "the tables of readings that were there already"},
	}
}

// Keys says what the keys of a SealedPart mean.
func (PartSum) Keys() keys.List {
	return keys.List{
		"name":   {About: "name of the model, or words of the question"},
		"sha256": {About: "SHA-256 of what the study file said of it"},
	}
}

// Keys says what the keys of a SealedTable mean.
func (TableRows) Keys() keys.List {
	return keys.List{
		"path": {About: "path of the table"},
		"rows": {About: "its rows"},
	}
}
