package power

import "thumbed/models/table/keys"

// Keys says what the keys of a Result mean.
func (Result) Keys() keys.List {
	return keys.List{
		"question":   {About: "what the campaign is to answer"},
		"effect":     {About: "the effect that the power is for", Unit: "of the outcome"},
		"unit":       {About: "unit of the effect, in words"},
		"level":      {About: "error rate of a claim, two-sided"},
		"aim":        {About: "what a design is chosen by"},
		"replicates": {About: "campaigns drawn of each design, with the effect and without"},
		"seed":       {About: "begins their random numbers"},
		"designs":    {About: "the designs tried"},
		"best":       {About: "number of the design of least cost that reaches the aim, from 0; −1 where none does or no aim is stated"},
		"sentences":  {About: "what came of it, in words"},
		"notes":      {About: "plain sentences on what should be known before the numbers are used"},
	}
}

// Keys says what the keys of an Aim mean.
func (Aim) Keys() keys.List {
	return keys.List{
		"power": {About: "chance to claim the effect; 0: no matter"},
		"width": {About: "width of the interval that nine campaigns of ten do not exceed; 0: no matter", Unit: "of the outcome"},
	}
}

// Keys says what the keys of a Design mean.
func (Design) Keys() keys.List {
	return keys.List{
		"books":    {About: "books measured"},
		"pages":    {About: "pages measured of each book; all where it has fewer"},
		"placings": {About: "placings on the thumbed place of each page"},
	}
}

// Keys says what the keys of a Tried mean.
func (Tried) Keys() keys.List {
	return keys.List{
		"placings":     {About: "mean number of placings on pages and zeros"},
		"campaigns":    {About: "campaigns drawn"},
		"failed":       {About: "campaigns without an answer, with the effect there; they count as claiming nothing"},
		"why":          {About: "the most frequent reason"},
		"power":        {About: "share of campaigns that claim the effect, where it is there"},
		"false":        {About: "share that claim an effect in the asked direction, where there is none"},
		"absent":       {About: "share that rule out an effect that would matter, where there is none"},
		"together":     {About: "answers whose intervals hold at once with this one's, it among them; left out where it stands alone"},
		"alone":        {About: "mean error rate that this leaves to the answer's own interval"},
		"boundary":     {About: "share that estimate a variance as zero or a correlation as ±1"},
		"width":        {About: "mean width of the intervals; 0 where no campaign has an answer", Unit: "of the outcome"},
		"width_ninety": {About: "width that nine of ten intervals do not exceed", Unit: "of the outcome"},
		"bias":         {About: "mean estimate less the effect", Unit: "of the outcome"},
		"bias_se":      {About: "Monte Carlo standard error of bias", Unit: "of the outcome"},
		"pages_mean":   {About: "mean number of pages measured in a campaign"},
		"turns":        {About: "mean number of openings turned to"},
		"hours":        {About: "time of measuring, with the tile", Unit: "h"},
		"days":         {About: "days of measuring", Unit: "days"},
		"bounds":       {About: "share of pages of which the instrument gives a bound only"},
		"band":         {About: "the power in eight of ten sets of spreads that the pilot allows; left out where it is not averaged over them"},
		"matters":      {About: "the spread on which most of the power hangs, within what the pilot allows"},
		"reaches":      {About: "whether the design reaches the aim, by its Monte Carlo interval; empty where no aim is stated", Words: []string{"yes", "no", "perhaps"}},
	}
}

// Keys says what the keys of a Band mean.
func (Band) Keys() keys.List {
	return keys.List{
		"low":  {About: "lower end, a share of campaigns"},
		"high": {About: "upper end, a share of campaigns"},
	}
}

// Keys says what the keys of a Share mean.
func (Share) Keys() keys.List {
	return keys.List{
		"value": {About: "share of campaigns, 0 to 1"},
		"low":   {About: "lower end of the 95 % Monte Carlo interval (Wilson)"},
		"high":  {About: "upper end of the 95 % Monte Carlo interval (Wilson)"},
	}
}

// Keys says what the keys of a Measuring mean.
func (Measuring) Keys() keys.List {
	return keys.List{
		"on_page":       {About: "standard deviation of one placing on the thumbed place", Unit: "density"},
		"on_zero":       {About: "standard deviation of one placing on the zero", Unit: "density"},
		"zeros":         {About: "placings on the zero of each page"},
		"ground":        {About: "density of untouched parchment", Unit: "density"},
		"ground_spread": {About: "how that differs from page to page, a standard deviation", Unit: "density"},
		"between":       {About: "standard deviation between observers, beyond repeatability", Unit: "density"},
		"observers":     {About: "observers, who take the days in turn"},
		"between_days":  {About: "standard deviation between days of one observer, beyond repeatability", Unit: "density"},
		"scale":         {About: "standard deviation of the days' scales, as a share of the wear"},
	}
}
