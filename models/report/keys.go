package report

import (
	"thumbed/models/hypotheses"
	"thumbed/models/readings"
	"thumbed/models/table/keys"
)

// Keys says what the keys of a studyNumbers mean.
func (studyNumbers) Keys() keys.List {
	return keys.List{
		"program":      {About: "name and version of the program"},
		"title":        {About: "title of the study"},
		"author":       {About: "who asks"},
		"note":         {About: "a sentence or two on the study"},
		"invented":     {About: "whether the books and readings are invented"},
		"overview":     {About: "the study in one look: the first screen of the page"},
		"sentences":    {About: "what was found, in words, with the numbers of each sentence"},
		"answers":      {About: "the answers to the questions"},
		"seal":         {About: "the seal of questions and models, where there is one"},
		"robustness":   {About: "the answers under other choices"},
		"books":        {About: "each book: wear, curve, sections, hours, habits"},
		"shared_drops": {About: "where readers of several books stopped, for each set of hours that they share"},
		"reader_pairs": {About: "readers compared two by two"},
		"models":       {About: "the models as fitted"},
		"readings":     {About: "what is known of the measuring"},
		"notes":        {About: "plain sentences on what could not be done, and why"},
	}
}

// Keys says what the keys of a Sentence mean.
func (Sentence) Keys() keys.List {
	return keys.List{
		"topic":   {About: "heading under which it stands"},
		"book":    {About: "id of the book that it speaks of; empty where of the whole study"},
		"text":    {About: "the sentence"},
		"numbers": {About: "its numbers at full precision"},
		"aside":   {About: "whether it is for the referee, folded away on the page"},
	}
}

// Keys says what the keys of an Overview mean.
func (Overview) Keys() keys.List {
	return keys.List{
		"headline":  {About: "what holds of all books: claims of one kind are held to a false-discovery rate of 5 % over them"},
		"rows":      {About: "what is found in each book"},
		"sure":      {About: "how well a page is known, and what wear is"},
		"questions": {About: "the declared questions, one line each"},
	}
}

// Keys says what the keys of an OverviewRow mean.
func (OverviewRow) Keys() keys.List {
	return keys.List{
		"book":     {About: "the book's id"},
		"name":     {About: "its short title"},
		"read":     {About: "which text was read most"},
		"pictures": {About: "which pictures stand above their own text"},
		"fell":     {About: "where wear falls along the hours"},
	}
}

// Keys says what the keys of a Finding mean.
func (Finding) Keys() keys.List {
	return keys.List{
		"clear":   {About: "whether it holds at the error rate of its kind in its book; else it is open"},
		"void":    {About: "whether there is nothing to look for in the book"},
		"words":   {About: "the answer in words"},
		"detail":  {About: "its numbers in short"},
		"numbers": {About: "its numbers at full precision"},
		"p":       {About: "p-value against the claim in its book; 1 where nothing is claimed"},
	}
}

// Keys says what the keys of a QuestionLine mean.
func (QuestionLine) Keys() keys.List {
	return keys.List{
		"words":   {About: "the question in the scholar's words"},
		"verdict": {About: "the verdict of all its answers; differs where they do not agree", Words: []string{hypotheses.Yes, hypotheses.No, hypotheses.Open, differs}},
		"answer":  {About: "the effect with its 95 % interval, or the verdicts counted"},
		"clear":   {About: "whether none of its answers is open"},
	}
}

// Keys says what the keys of a Number mean.
func (Number) Keys() keys.List {
	return keys.List{
		"name":  {About: "what it is"},
		"value": {About: "the number"},
		"low":   {About: "lower end of its 95 % interval; null where none is stated"},
		"high":  {About: "upper end of it"},
		"unit":  {About: "its unit in words: density, share, probability, p, pages …; empty for a plain count"},
	}
}

// Keys says what the keys of a Seal mean.
func (Seal) Keys() keys.List {
	return keys.List{
		"day":    {About: "day of the seal, as a date of the log"},
		"sha256": {About: "SHA-256 of seal.json, in hexadecimal"},
	}
}

// Keys says what the keys of a robustNumbers mean.
func (robustNumbers) Keys() keys.List {
	return keys.List{
		"question": {About: "the question in words"},
		"model":    {About: "name of the model"},
		"book":     {About: "the book, where the model is fitted book by book"},
		"choices":  {About: "the answer under each choice, that of the study file first"},
	}
}

// Keys says what the keys of a RobustRow mean.
func (RobustRow) Keys() keys.List {
	return keys.List{
		"choice":   {About: "the choice in words"},
		"rescaled": {About: "whether the effect is in another unit than in the other rows"},
		"n":        {About: "rows that the fit rests on"},
		"effect":   {About: "the contrast's estimate; p in it is two-sided; null where there is no answer"},
		"unit":     {About: "unit of the effect, in words"},
		"p":        {About: "p-value in the asked direction, unadjusted"},
		"verdict":  {About: "what the model says under this choice alone; where rescaled, no smallest effect was held against it"},
		"failed":   {About: "a sentence why there is no answer; else empty"},
	}
}

// Keys says what the keys of a bookNumbers mean.
func (bookNumbers) Keys() keys.List {
	return keys.List{
		"id":                   {About: "the book's id"},
		"title":                {About: "the book with its shelfmark"},
		"owner":                {About: "who owned and used it"},
		"leaves":               {About: "leaves, lost ones among them"},
		"lost":                 {About: "leaves that are lost"},
		"measured":             {About: "pages measured"},
		"wear":                 {About: "wear of every measured page"},
		"curve":                {About: "the curve of wear along the book; null where none could be computed"},
		"sections":             {About: "wear of every section"},
		"tested":               {About: "pages tested for standing out"},
		"pictures_tested":      {About: "of them, pages with a picture"},
		"false_discovery_rate": {About: "expected share of pages listed in standouts that do not stand out"},
		"tests":                {About: "every page tested for standing out, in the order of the book"},
		"standouts":            {About: "pages that stand above the text pages of their section"},
		"carried":              {About: "how far readings were carried through the day, for each set of hours"},
		"habits":               {About: "changes of wear along the whole book; null where they could not be looked for"},
		"notes":                {About: "plain sentences on what should be known before the numbers are used"},
		"failed":               {About: "sentences: what could not be computed, and why"},
	}
}

// Keys says what the keys of a wearNumbers mean.
func (wearNumbers) Keys() keys.List {
	return keys.List{
		"page":        {About: "the page's label"},
		"position":    {About: "its place along the physical book, from 1"},
		"wear":        {About: "density above the page's own zero; the bound where limit is set", Unit: "density"},
		"wear_se":     {About: "its standard error", Unit: "density"},
		"wear_df":     {About: "degrees of freedom of wear_se"},
		"limit":       {About: "below: wear is at most this; above: at least; empty: measured", Words: []string{"", string(readings.Below), string(readings.Above)}},
		"coverage":    {About: "share of the area covered by solid deposit (Murray–Davies), 0 to 1"},
		"coverage_se": {About: "its standard error"},
		"placings":    {About: "placings of the instrument on the thumbed place"},
		"zeros":       {About: "readings of the page's own zero"},
		"at_limit":    {About: "of placings and zeros, those at the instrument's floor or ceiling"},
		"sittings":    {About: "days, instruments and observers"},
		"spot":        {About: "fixed or darkest"},
	}
}

// Keys says what the keys of a curveNumbers mean.
func (curveNumbers) Keys() keys.List {
	return keys.List{
		"position":         {About: "places along the book, from 1"},
		"estimate":         {About: "the curve there", Unit: "density"},
		"se":               {About: "its standard error", Unit: "density"},
		"low":              {About: "lower end of the 95 % interval", Unit: "density"},
		"high":             {About: "upper end of the 95 % interval", Unit: "density"},
		"breaks":           {About: "numbers, from 0, of the values at which the curve is drawn anew: leaves are lost before, or another section begins"},
		"effective_df":     {About: "degrees of freedom of the curve, those of the sections' levels and of picture among them; 2 is a straight line"},
		"between_sections": {About: "standard deviation of the levels of sections about the smooth; 0: none", Unit: "density"},
		"scatter":          {About: "standard deviation of pages about the curve, without the error of measuring", Unit: "density"},
		"df":               {About: "degrees of freedom of the intervals"},
		"loglik":           {About: "logarithm of the restricted likelihood"},
		"picture":          {About: "what a picture adds; zero with picture_se where the book does not tell", Unit: "density"},
		"picture_se":       {About: "its standard error", Unit: "density"},
	}
}

// Keys says what the keys of an areaNumbers mean.
func (areaNumbers) Keys() keys.List {
	return keys.List{
		"section":       {About: "name of the section"},
		"kind":          {About: "its kind"},
		"set":           {About: "which set of hours"},
		"office":        {About: "which office of the day"},
		"extent":        {About: "where it stands"},
		"pages":         {About: "pages present"},
		"measured":      {About: "pages measured"},
		"at_limit":      {About: "of those, at an instrument's limit"},
		"total":         {About: "area under the pages' wear", Unit: "density × pages"},
		"total_se":      {About: "its standard error", Unit: "density × pages"},
		"total_low":     {About: "lower end of its 95 % interval", Unit: "density × pages"},
		"total_high":    {About: "upper end of its 95 % interval", Unit: "density × pages"},
		"per_page":      {About: "wear per page", Unit: "density"},
		"per_page_se":   {About: "its standard error", Unit: "density"},
		"per_page_low":  {About: "lower end of its 95 % interval", Unit: "density"},
		"per_page_high": {About: "upper end of its 95 % interval", Unit: "density"},
		"df":            {About: "degrees of freedom of the standard errors"},
	}
}

// Keys says what the keys of a standoutNumbers mean.
func (standoutNumbers) Keys() keys.List {
	return keys.List{
		"page":      {About: "the page's label"},
		"section":   {About: "the section that it is in"},
		"picture":   {About: "whether it has a picture"},
		"subject":   {About: "what the picture shows"},
		"level":     {About: "median of the section's text pages without this one", Unit: "density"},
		"at_least":  {About: "whether the page's wear is known only to be at least a bound, and so excess and its interval too"},
		"excess":    {About: "wear above level", Unit: "density"},
		"excess_se": {About: "its standard error", Unit: "density"},
		"low":       {About: "lower end of its 95 % interval", Unit: "density"},
		"high":      {About: "upper end of its 95 % interval", Unit: "density"},
		"p":         {About: "p-value against no excess, one-sided"},
		"q":         {About: "p adjusted over the pages tested in the book (Benjamini–Hochberg)"},
		"df":        {About: "degrees of freedom"},
	}
}

// Keys says what the keys of a carriedNumbers mean.
func (declineNumbers) Keys() keys.List {
	return keys.List{
		"set":                {About: "which set of hours"},
		"share":              {About: "wear of the last office as a share of that of the first"},
		"low":                {About: "lower end of its 95 % interval"},
		"high":               {About: "upper end of its 95 % interval"},
		"refused":            {About: "why no share is given; else empty"},
		"adjusted":           {About: "features whose effect was removed first"},
		"offices":            {About: "wear of each office, and the share carried on to it"},
		"curve":              {About: "the shares as a curve that never rises; null where none can be given"},
		"pages":              {About: "labels of the pages of the series"},
		"values":             {About: "their wear, adjusted", Unit: "density"},
		"se":                 {About: "its standard errors", Unit: "density"},
		"changes":            {About: "where the series changes"},
		"each_probability":   {About: "for each row, the probability that a change follows it"},
		"number_probability": {About: "probability of each number of changes, from none"},
		"scatter":            {About: "standard deviation of pages about the levels", Unit: "density"},
		"notes":              {About: "plain sentences on what should be known before the numbers are used"},
	}
}

// Keys says what the keys of an officeNumbers mean.
func (officeNumbers) Keys() keys.List {
	return keys.List{
		"office":  {About: "the office of the day"},
		"order":   {About: "its place in the day, Matins 1"},
		"pages":   {About: "pages measured"},
		"wear":    {About: "mean wear of its pages, adjusted", Unit: "density"},
		"wear_se": {About: "its standard error", Unit: "density"},
		"share":   {About: "its wear as a share of that of the first office"},
		"low":     {About: "lower end of the 95 % interval of share"},
		"high":    {About: "upper end of the 95 % interval of share"},
	}
}

// Keys says what the keys of a fallingNumbers mean.
func (fallingNumbers) Keys() keys.List {
	return keys.List{
		"offices":     {About: "the curve, office by office"},
		"median":      {About: "last office to which half of the readings or more were carried on"},
		"median_low":  {About: "the earliest that the intervals allow"},
		"median_high": {About: "the latest that the intervals allow"},
		"to_end":      {About: "whether half or more were carried on to the end, so that where the median reading stopped is not seen"},
		"sentence":    {About: "the curve in words"},
	}
}

// Keys says what the keys of a fallingPoint mean.
func (fallingPoint) Keys() keys.List {
	return keys.List{
		"office": {About: "the office of the day"},
		"order":  {About: "its place in the day, Matins 1"},
		"share":  {About: "share of the readings that were carried on to it, never rising"},
		"low":    {About: "lower end of the band that holds the curve at all offices at once with 95 % confidence"},
		"high":   {About: "upper end of that band"},
	}
}

// Keys says what the keys of a habitNumbers mean.
func (habitNumbers) Keys() keys.List {
	return keys.List{
		"adjusted":         {About: "features whose effect was removed first"},
		"pages":            {About: "labels of the pages of the series"},
		"values":           {About: "their wear, adjusted", Unit: "density"},
		"se":               {About: "its standard errors", Unit: "density"},
		"changes":          {About: "where the series changes"},
		"each_probability": {About: "for each row, the probability that a change follows it"},
		"borders":          {About: "for each change, the beginning of a section nearest to it"},
		"agrees":           {About: "whether agreement and chance have a meaning"},
		"agreement":        {About: "adjusted Rand index of stretches and sections (Hubert and Arabie 1985): 1 where they are the same, 0 on average by chance"},
		"chance":           {About: "how many of the borders would hold if changes lay anywhere"},
		"notes":            {About: "plain sentences on what should be known before the numbers are used"},
		"refused":          {About: "why they could not be looked for; else empty"},
	}
}

// Keys says what the keys of a borderNumbers mean.
func (nearestNumbers) Keys() keys.List {
	return keys.List{
		"section": {About: "the section that begins nearest"},
		"pages":   {About: "measured pages from its beginning to the change; below 0 where the change comes first"},
		"holds":   {About: "whether the interval of the change holds its beginning"},
	}
}

// Keys says what the keys of a sharedNumbers mean.
func (sharedNumbers) Keys() keys.List {
	return keys.List{
		"set":    {About: "which set of hours"},
		"after":  {About: "last office before the drop, at its most probable place"},
		"places": {About: "probability of each place of it"},
		"none":   {About: "probability that there is no shared drop"},
		"books":  {About: "each book"},
		"failed": {About: "why the books could not be taken together; else empty"},
	}
}

// Keys says what the keys of a placeNumbers mean.
func (placeNumbers) Keys() keys.List {
	return keys.List{
		"after":       {About: "the office that the drop follows"},
		"order":       {About: "its place in the day, Matins 1"},
		"probability": {About: "probability of that place"},
	}
}

// Keys says what the keys of a dropNumbers mean.
func (dropNumbers) Keys() keys.List {
	return keys.List{
		"book":       {About: "the book's id"},
		"drop":       {About: "share of the earlier offices' wear that is missing in the later ones"},
		"low":        {About: "lower end of its interval, with 95 % confidence for all books at once"},
		"high":       {About: "upper end of that interval"},
		"has":        {About: "whether the interval lies above 0"},
		"reason":     {About: "why no share can be given; else empty"},
		"alone":      {About: "probability of each place from this book alone"},
		"alone_none": {About: "probability from this book alone that there is no drop"},
		"left_out":   {About: "whether the book was left out"},
	}
}

// Keys says what the keys of a pairNumbers mean.
func (pairNumbers) Keys() keys.List {
	return keys.List{
		"one":        {About: "one reader"},
		"other":      {About: "the other"},
		"f":          {About: "F statistic of the same shares in both"},
		"df1":        {About: "its degrees of freedom above the line"},
		"df2":        {About: "its degrees of freedom below the line"},
		"p":          {About: "its p-value"},
		"p_adjusted": {About: "p adjusted over the pairs compared (Holm)"},
		"together":   {About: "pairs compared"},
		"asked":      {About: "whether the study file asks for the pair"},
		"offices":    {About: "how they differ, office by office"},
		"failed":     {About: "why they could not be compared; else empty"},
	}
}

// Keys says what the keys of a readerNumbers mean.
func (readerNumbers) Keys() keys.List {
	return keys.List{
		"book": {About: "the book's id"},
		"set":  {About: "which set of hours"},
	}
}

// Keys says what the keys of a differenceNumbers mean.
func (differenceNumbers) Keys() keys.List {
	return keys.List{
		"office":     {About: "the office of the day"},
		"order":      {About: "its place in the day, Matins 1"},
		"difference": {About: "share of the one less share of the other"},
		"low":        {About: "lower end of its 95 % interval"},
		"high":       {About: "upper end of its 95 % interval"},
	}
}

// Keys says what the keys of a modelNumbers mean.
func (modelNumbers) Keys() keys.List {
	return keys.List{
		"name":   {About: "name of the model"},
		"about":  {About: "what it is for, in the scholar's words"},
		"book":   {About: "the book, where it is fitted book by book"},
		"model":  {About: "the model as the study file has it"},
		"fit":    {About: "the fit; null where there is none"},
		"failed": {About: "a sentence why there is none; else empty"},
	}
}

// Keys says what the keys of a readingNumbers mean.
func (readingNumbers) Keys() keys.List {
	return keys.List{
		"precision": {About: "how precise the readings are"},
		"shared":    {About: "errors that the pages of one day, observer or instrument share, where there are two or more of them"},
		"counted":   {About: "what the log holds"},
		"drift":     {About: "the drift of each day and instrument"},
		"excluded":  {About: "readings left out by the scholar, with the reasons"},
		"notes":     {About: "plain sentences on what should be known before the numbers are used"},
	}
}

// Keys says what the keys of a sourceNumbers mean.
func (sourceNumbers) Keys() keys.List {
	return keys.List{
		"by":     {About: "what the pages have in common", Words: []string{readings.ByDay, readings.ByObserver, readings.ByInstrument}},
		"known":  {About: "whether the spread is known"},
		"sd":     {About: "standard deviation between days, observers or instruments of what a page reads against its zero", Unit: "density"},
		"sd_df":  {About: "its degrees of freedom; none where the study states it"},
		"upper":  {About: "its upper 95 % limit", Unit: "density"},
		"df":     {About: "degrees of freedom of what stays unknown of the offsets"},
		"from":   {About: "where the spread comes from", Words: []string{readings.MeasuredAgain, readings.Stated}},
		"levels": {About: "the days, observers or instruments"},
		"why":    {About: "where the spread is not known, what to do"},
	}
}

// Keys says what the keys of a precisionNumbers mean.
func (precisionNumbers) Keys() keys.List {
	return keys.List{
		"repeatability":   {About: "standard deviation of placings repeated under the same conditions (ISO 5725)", Unit: "density"},
		"df":              {About: "its degrees of freedom"},
		"cells":           {About: "groups of repeated placings that it rests on"},
		"on_page":         {About: "repeatability on the thumbed place", Unit: "density"},
		"on_page_df":      {About: "its degrees of freedom"},
		"on_zero":         {About: "repeatability on the zero", Unit: "density"},
		"on_zero_df":      {About: "its degrees of freedom"},
		"between":         {About: "standard deviation between observers or instruments (ISO 5725)", Unit: "density"},
		"reproducibility": {About: "standard deviation of single determinations by different observers or instruments (ISO 5725)", Unit: "density"},
		"levels":          {About: "pages that two or more of them measured"},
		"between_days":    {About: "standard deviation between days of one observer with one instrument on one page, beyond repeatability; null where no page was measured again", Unit: "density"},
		"again":           {About: "pages measured again on another day"},
		"groups":          {About: "observers with their instruments"},
		"spot_spread":     {About: "standard deviation between single readings on spots of one page", Unit: "density"},
		"spot_spread_df":  {About: "its degrees of freedom"},
		"spots":           {About: "spots logged one by one that tell it; 0 where the study gives it"},
		"tile_sd":         {About: "standard deviation of readings of the tile about their day's drift line", Unit: "density"},
		"tile_df":         {About: "its degrees of freedom"},
		"placing":         {About: "standard deviation of placing the instrument anew at another sitting, beyond repeatability", Unit: "density"},
		"placing_df":      {About: "its degrees of freedom; none where the study states it"},
		"measured_again":  {About: "pages measured in two sittings or more that tell it"},
	}
}

// Keys says what the keys of a countedNumbers mean.
func (countedNumbers) Keys() keys.List {
	return keys.List{
		"readings":   {About: "rows of the log"},
		"page":       {About: "of them, on a thumbed place"},
		"zero":       {About: "of them, on a zero"},
		"tile":       {About: "of them, on a tile"},
		"excluded":   {About: "of them, left out by the scholar"},
		"at_floor":   {About: "of them, at the instrument's floor"},
		"at_ceiling": {About: "of them, at the instrument's ceiling"},
		"pages":      {About: "pages measured"},
		"days":       {About: "days of measuring"},
		"unclear":    {About: "pages with readings but no wear"},
	}
}

// Keys says what the keys of a driftNumbers mean.
func (driftNumbers) Keys() keys.List {
	return keys.List{
		"day":        {About: "the day"},
		"instrument": {About: "name of the instrument"},
		"readings":   {About: "readings of the tile"},
		"from":       {About: "first time of day, since midnight", Unit: "h"},
		"to":         {About: "last time of day, since midnight", Unit: "h"},
		"start":      {About: "the drift line at the beginning: departure from the certified density", Unit: "density"},
		"end":        {About: "the drift line at the end", Unit: "density"},
		"slope":      {About: "change in an hour", Unit: "density / h"},
		"slope_se":   {About: "its standard error", Unit: "density / h"},
		"p":          {About: "p-value against no slope, two-sided"},
		"se":         {About: "standard error of the correction in the middle of the day", Unit: "density"},
		"df":         {About: "degrees of freedom of se and p"},
		"correction": {About: "how the day was corrected", Words: []string{string(readings.DriftNone), string(readings.DriftOffset), string(readings.DriftScale)}},
	}
}

// Keys says what the keys of an excludedNumbers mean.
func (excludedNumbers) Keys() keys.List {
	return keys.List{
		"file":    {About: "table of readings"},
		"line":    {About: "line of it"},
		"book":    {About: "the book's id"},
		"page":    {About: "the page's label"},
		"density": {About: "what the instrument showed", Unit: "density"},
		"reason":  {About: "why it is left out, in the scholar's words"},
	}
}

// Keys says what the keys of a corpusNumbers mean.
func (corpusNumbers) Keys() keys.List {
	return keys.List{
		"program":    {About: "name and version of the program"},
		"title":      {About: "title of the corpus"},
		"author":     {About: "who asks"},
		"note":       {About: "a sentence or two on the corpus"},
		"invented":   {About: "whether the books and readings are invented"},
		"sentences":  {About: "what was found, in words, with the numbers of each sentence"},
		"answers":    {About: "the answers to the questions"},
		"seal":       {About: "the seal of questions and models, where there is one"},
		"folders":    {About: "folders looked at"},
		"readings":   {About: "readings used"},
		"books":      {About: "each book in brief"},
		"failures":   {About: "what went wrong, book by book"},
		"readers":    {About: "the readers that could be compared, or why not"},
		"compared":   {About: "what came of comparing them"},
		"models":     {About: "the models that were fitted once"},
		"over_books": {About: "the models that were fitted in each book by itself, over all books"},
		"notes":      {About: "plain sentences on what could not be done, and why"},
	}
}

// Keys says what the keys of a corpusBookNumbers mean.
func (corpusBookNumbers) Keys() keys.List {
	return keys.List{
		"id":             {About: "the book's id"},
		"folder":         {About: "its folder"},
		"title":          {About: "the book with its shelfmark"},
		"owner":          {About: "who owned and used it"},
		"leaves":         {About: "leaves, lost ones among them"},
		"lost":           {About: "leaves that are lost"},
		"readings":       {About: "readings of it"},
		"measured":       {About: "pages measured"},
		"at_limit":       {About: "of them, at an instrument's limit"},
		"wear":           {About: "mean wear of its measured pages; null where none is known", Unit: "density"},
		"scatter":        {About: "standard deviation of pages about the curve; null where there is none", Unit: "density"},
		"picture":        {About: "what a picture adds; null where there is no curve", Unit: "density"},
		"picture_se":     {About: "its standard error", Unit: "density"},
		"standouts":      {About: "pages that stand out"},
		"most_worn":      {About: "the section most worn"},
		"most_worn_wear": {About: "its wear per page", Unit: "density"},
		"most_worn_se":   {About: "its standard error", Unit: "density"},
	}
}

// Keys says what the keys of a corpusFailureNumbers mean.
func (corpusFailureNumbers) Keys() keys.List {
	return keys.List{
		"folder":  {About: "the folder"},
		"book":    {About: "the book's id; empty where the folder as a whole failed"},
		"stage":   {About: "what was being done"},
		"place":   {About: "file, line and column"},
		"problem": {About: "what is wrong"},
		"remedy":  {About: "how to mend it"},
	}
}

// Keys says what the keys of a corpusReaderNumbers mean.
func (corpusReaderNumbers) Keys() keys.List {
	return keys.List{
		"book":       {About: "the book's id"},
		"set":        {About: "which set of hours"},
		"offices":    {About: "wear of each office, and the share carried on to it"},
		"covariance": {About: "covariances of the offices' wear, row after row", Unit: "density²"},
		"refused":    {About: "why no shares are given; else empty"},
		"shape":      {About: "the shape of the reader's wear over the offices compared"},
		"shape_se":   {About: "its standard errors"},
		"why":        {About: "why the reader is not compared; else empty"},
		"group":      {About: "letter of the group; empty where in none"},
		"kept":       {About: "share of draws in which the reader stays in the group; null where there are none"},
		"place":      {About: "where the reader stands on the axis along which readers differ most, from the mean of all, in the unit of shape; null where not compared"},
		"place_low":  {About: "lower end of its 95 % interval, by the errors of the reader's own curve"},
		"place_high": {About: "upper end"},
	}
}

// Keys says what the keys of a comparedNumbers mean.
func (comparedNumbers) Keys() keys.List {
	return keys.List{
		"set":        {About: "the hours compared"},
		"offices":    {About: "the offices compared"},
		"readers":    {About: "readers compared"},
		"refused":    {About: "why they are not grouped; else empty"},
		"seed":       {About: "seed of the draws"},
		"gaps":       {About: "the gap statistic of each number of groups"},
		"chosen":     {About: "number of groups chosen by it"},
		"one_kind_p": {About: "chance that readers of one kind part as clearly; null where one group was chosen"},
		"no_gap_p":   {About: "for 2, 3 … kinds, the chance that readers without so many gaps between them show as many (Silverman's test); ends with the first above 0.05; null where groups were ruled out before"},
		"axis":       {About: "direction along which readers differ most once errors of measuring are taken out, one number an office, of length 1; null where all have one shape"},
		"axis_sd":    {About: "standard deviation of readers' places along it, without their errors, in the unit of shape"},
		"axis_share": {About: "share of all that readers differ by, beyond their errors, that lies along it"},
		"groups":     {About: "the groups"},
		"verdict":    {About: "what came of it, in one word or two"},
		"words":      {About: "… and in sentences"},
	}
}

// Keys says what the keys of a gapNumbers mean.
func (gapNumbers) Keys() keys.List {
	return keys.List{
		"groups":   {About: "number of groups"},
		"log_w":    {About: "logarithm of the sum of squares within groups"},
		"expected": {About: "its mean over references without groups"},
		"gap":      {About: "expected less log_w"},
		"gap_se":   {About: "its standard error"},
	}
}

// Keys says what the keys of a kindNumber mean.
func (kindNumber) Keys() keys.List {
	return keys.List{
		"group":                  {About: "letter of the group, in the order in which reading falls away"},
		"middle":                 {About: "the reader who stands for it"},
		"readers":                {About: "readers in it"},
		"mean":                   {About: "their mean shape"},
		"similar_other_readers":  {About: "mean Jaccard similarity of the group to its like where other readers are drawn, 0 to 1"},
		"similar_measured_again": {About: "the same where the curves are drawn again with their errors"},
		"comes_out_again":        {About: "whether both are great enough"},
	}
}

// Keys says what the keys of an eachNumbers mean.
func (eachNumbers) Keys() keys.List {
	return keys.List{
		"model":       {About: "name of the model"},
		"term":        {About: "the fixed effect"},
		"books":       {About: "books in which it was estimated"},
		"above":       {About: "of them, those with the whole interval above zero"},
		"below":       {About: "of them, those with the whole interval below zero"},
		"tenth":       {About: "estimate below which a tenth of the books lie", Unit: "of the outcome"},
		"median":      {About: "estimate in the middle", Unit: "of the outcome"},
		"nine_tenths": {About: "estimate above which a tenth of the books lie", Unit: "of the outcome"},
	}
}

// Keys says what the keys of a planNumbers mean.
func (planNumbers) Keys() keys.List {
	return keys.List{
		"program":    {About: "name and version of the program"},
		"title":      {About: "what the plan is for"},
		"author":     {About: "who asks"},
		"note":       {About: "a sentence or two on the plan"},
		"invented":   {About: "whether the books are invented"},
		"power":      {About: "what came of the designs"},
		"truth":      {About: "the parameters that campaigns were drawn from"},
		"measuring":  {About: "how the campaigns measure"},
		"instrument": {About: "the densitometer"},
		"sources":    {About: "sentences: where the parameters come from"},
	}
}

// Keys says what the keys of a planInstrument mean.
func (planInstrument) Keys() keys.List {
	return keys.List{
		"name":       {About: "name of the instrument"},
		"floor":      {About: "lowest density that it shows", Unit: "density"},
		"ceiling":    {About: "highest density that it shows", Unit: "density"},
		"resolution": {About: "step of its last digit", Unit: "density"},
	}
}

// Keys says what the keys of a studyFile mean.
func (studyFile) Keys() keys.List {
	return keys.List{
		"missing": {About: "the numbers that are null, and why"},
	}
}

// Keys says what the keys of a corpusFile mean.
func (corpusFile) Keys() keys.List {
	return keys.List{
		"missing": {About: "the numbers that are null, and why"},
	}
}

// Keys says what the keys of a missingNumber mean.
func (missingNumber) Keys() keys.List {
	return keys.List{
		"at":  {About: "place of the number in this file"},
		"why": {About: "why there is none"},
	}
}
