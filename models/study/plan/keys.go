package plan

import "thumbed/models/table/keys"

// Keys says what the keys of a Model mean.
func (Model) Keys() keys.List {
	return keys.List{}
}

// Keys says what the keys of a File mean.
func (File) Keys() keys.List {
	return keys.List{
		"title":     {About: "what the page is headed by"},
		"author":    {About: "who asks"},
		"note":      {About: "a sentence or two that stand under the title"},
		"invented":  {About: "whether the books are invented; the page then says so"},
		"question":  {About: "what the campaign is to answer"},
		"pilot":     {About: "a study that tells how books, pages and readings vary"},
		"model":     {About: "the model, where there is no pilot"},
		"assumed":   {About: "parameters that no pilot tells"},
		"layout":    {About: "a book to plan for, where no pilot's books serve"},
		"section":   {About: "texts of the layout, one after the other"},
		"column":    {About: "columns of the scholar's own, in the layout"},
		"measuring": {About: "how the campaign measures"},
		"designs":   {About: "the numbers to try"},
		"aim":       {About: "what a design is chosen by"},
		"sheet":     {About: "the sheet to measure by"},
	}
}

// Keys says what the keys of a Question mean.
func (Question) Keys() keys.List {
	return keys.List{
		"words":     {About: "the question, in the scholar's words; one of the pilot's may stand by its words alone", Required: true},
		"contrast":  {About: "weights by the names of fixed effects"},
		"direction": {About: "which way an effect is asked about; either where not given", Words: []string{"more", "less", "either"}},
		"smallest":  {About: "smallest effect that would matter, without a sign", Unit: "of the outcome"},
		"effect":    {About: "the effect that the power is for; 0: the smallest that would matter", Unit: "of the outcome"},
		"level":     {About: "error rate of the claim, two-sided; 0.05 where not given"},
	}
}

// Keys says what the keys of a Pilot mean.
func (Pilot) Keys() keys.List {
	return keys.List{
		"study":   {About: "path of its study.toml, or of its folder"},
		"model":   {About: "name of the model in it"},
		"book":    {About: "the book, where the model is fitted book by book"},
		"spreads": {About: "how its variances are taken; averaged over what it allows where not given", Words: []string{averaged, asEstimated, cautious}},
	}
}

// Keys says what the keys of an Assumed mean.
func (Assumed) Keys() keys.List {
	return keys.List{
		"fixed":      {About: "fixed effects by their terms; those not named are 0", Unit: "of the outcome"},
		"page":       {About: "standard deviation between single pages, without the measuring", Unit: "of the outcome"},
		"neighbours": {About: "correlation of pages at distance 1, where the model has one"},
		"bends":      {About: "standard deviation of the bends of each curve of the model", Unit: "of the outcome"},
		"pages":      {About: "page by level, where the model lets it differ", Unit: "of the outcome"},
		"random":     {About: "of each random term, in the order of the model"},
	}
}

// Keys says what the keys of a Spread mean.
func (Spread) Keys() keys.List {
	return keys.List{
		"sd":          {About: "standard deviation between groups, by term", Unit: "of the outcome"},
		"correlation": {About: "correlation of each two terms"},
	}
}

// Keys says what the keys of a Layout mean.
func (Layout) Keys() keys.List {
	return keys.List{
		"leaves":   {About: "leaves of the book"},
		"quire":    {About: "leaves of each quire; 8 where not given"},
		"pictures": {About: "share of the pages with a picture, outside the sections' own"},
		"outer":    {About: "outermost side of each quire", Words: []string{"hair", "flesh"}},
	}
}

// Keys says what the keys of a Section mean.
func (Section) Keys() keys.List {
	return keys.List{
		"name":     {About: "name of the text"},
		"kind":     {About: "its kind, as in sections.csv"},
		"set":      {About: "which set of hours"},
		"office":   {About: "which office of the day"},
		"pages":    {About: "its pages"},
		"pictures": {About: "pages of it with a picture, counted from 1"},
	}
}

// Keys says what the keys of a Column mean.
func (Column) Keys() keys.List {
	return keys.List{
		"name":   {About: "name of the column"},
		"of":     {About: "what it tells of", Words: []string{"book", "page"}},
		"labels": {About: "its labels"},
		"shares": {About: "shares of the books or pages with each; equal where not given"},
	}
}

// Keys says what the keys of a Measuring mean.
func (Measuring) Keys() keys.List {
	return keys.List{
		"instrument":        {About: "name of the pilot's instrument"},
		"floor":             {About: "lowest density that the instrument shows", Unit: "density"},
		"ceiling":           {About: "highest density that it shows", Unit: "density"},
		"resolution":        {About: "step of its last digit", Unit: "density"},
		"on_page":           {About: "standard deviation of one placing on the thumbed place", Unit: "density"},
		"on_zero":           {About: "standard deviation of one placing on the zero", Unit: "density"},
		"zeros":             {About: "placings on the zero of each page"},
		"ground":            {About: "density of untouched parchment", Unit: "density"},
		"ground_spread":     {About: "how that differs from page to page, a standard deviation", Unit: "density"},
		"between_observers": {About: "standard deviation between observers, beyond repeatability", Unit: "density"},
		"observers":         {About: "number of observers"},
		"between_days":      {About: "standard deviation between days, beyond repeatability", Unit: "density"},
		"scale":             {About: "standard deviation of the days' scales, as a share of the wear"},
		"seconds_a_placing": {About: "time for a placing, with its entry in the log", Unit: "s"},
		"seconds_a_turn":    {About: "time to turn to an opening", Unit: "s"},
		"tiles_a_day":       {About: "readings of the tile in a day"},
		"hours_a_day":       {About: "time of measuring in a day", Unit: "h"},
	}
}

// Keys says what the keys of a Designs mean.
func (Designs) Keys() keys.List {
	return keys.List{
		"books":      {About: "numbers of books to try"},
		"pages":      {About: "numbers of pages of each book to try"},
		"placings":   {About: "numbers of placings on each page to try"},
		"keep":       {About: "pages measured before any other: those whose column has one of these labels"},
		"replicates": {About: "campaigns drawn of each design; 400 where not given"},
		"seed":       {About: "begins their random numbers"},
	}
}

// Keys says what the keys of an Aim mean.
func (Aim) Keys() keys.List {
	return keys.List{
		"power": {About: "chance to claim the effect, 0 to 1"},
		"width": {About: "width of the interval that nine campaigns of ten do not exceed", Unit: "of the outcome"},
	}
}

// Keys says what the keys of a MeasuringSheet mean.
func (MeasuringSheet) Keys() keys.List {
	return keys.List{
		"study":  {About: "the study whose books are measured; its readings need not be there. Else the pilot's, else the layout's"},
		"pages":  {About: "pages of each book"},
		"visits": {About: "visits among which the placings of a page are shared out"},
	}
}
