package report

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/wording"
)

// Methods says in paragraphs what was really done in this study, fit to go into
// a chapter, and lists the works that those paragraphs cite.
func (r *Results) Methods() (paragraphs []string, cited []Reference) {
	return citing(r.measuringMethod(), r.profileMethod(), r.dropoffMethod(), r.readersMethod(), r.modelMethod(), r.tracesMethod(), r.questionMethod(), r.robustMethod(), r.softwareMethod())
}

// citing gives the paragraphs that are not empty, and the works that they cite.
func citing(texts ...string) (paragraphs []string, cited []Reference) {
	paragraphs = slices.DeleteFunc(texts, func(text string) bool { return text == "" })
	citeOnce(paragraphs)
	all := strings.Join(paragraphs, " ")
	for _, ref := range references {
		if strings.Contains(all, ref.Key) {
			cited = append(cited, ref)
		}
	}
	return paragraphs, cited
}

var bracketed = regexp.MustCompile(` \([^()]*\b(?:19|20)\d\d[^()]*\)`)

// citeOnce leaves a citation in brackets where it comes first and takes it out
// after that.
func citeOnce(paragraphs []string) {
	seen := map[string]bool{}
	for i, p := range paragraphs {
		paragraphs[i] = bracketed.ReplaceAllStringFunc(p, func(cited string) string {
			if seen[cited] {
				return ""
			}
			seen[cited] = true
			return cited
		})
	}
}

func (r *Results) measuringMethod() string {
	if r.Readings == nil {
		return ""
	}
	c, p := r.Readings.Counted, r.Readings.Precision
	text := fmt.Sprintf("%s: %s of pages, %s of the pages’ own zeros and %s of reference tiles; %s left out with a reason.",
		r.readText(), wording.Whole(c.Page), wording.Whole(c.Zero), wording.Whole(c.Tile), were(c.Excluded))
	text += " A page’s wear is the density of its thumbed corner above the untouched zero of the same page, " + spotText(r.Readings.Wear) + "."
	text += r.instrumentsText() + driftText(r.Readings.Drift)
	stated := "the error that their source states"
	switch {
	case finite(p.Repeatability) && finite(p.DF):
		from := fmt.Sprintf("the pooled repeatability (ISO 5725-2), a standard deviation of %s on %s degrees of freedom", wording.Fixed(p.Repeatability, 4), wording.DF(p.DF))
		if len(r.Readings.Elsewhere) > 0 {
			from += ", for readings from elsewhere from " + stated
		}
		text += fmt.Sprintf(" The standard error of a page’s wear comes from %s%s.", from, r.besideRepeatability())
	case finite(p.Repeatability):
		text += fmt.Sprintf(" The standard error of a page’s wear comes from %s%s.", stated, r.besideRepeatability())
	}
	if c.AtFloor+c.AtCeiling > 0 {
		text += fmt.Sprintf(" Readings at the instrument’s floor (%s) or ceiling (%s) were kept as bounds (Tobin 1958).", wording.Whole(c.AtFloor), wording.Whole(c.AtCeiling))
	}
	return text + " Area coverage, the second scale, follows Murray 1936."
}

// readText says how often density was read, and how often it comes from elsewhere.
func (r *Results) readText() string {
	all, elsewhere := r.Readings.Counted.Readings, 0
	var sources []string
	for _, e := range r.Readings.Elsewhere {
		elsewhere += e.Readings
		sources = append(sources, fmt.Sprintf("%s: a standard deviation of %s", e.Instrument, wording.Fixed(e.SD, 4)))
	}
	if elsewhere == 0 {
		return fmt.Sprintf("Reflection density (ISO 5-4) was read %s", wording.Count(all, "time", "times"))
	}
	from := fmt.Sprintf("come from elsewhere, with an error that their source states (%s)", strings.Join(sources, "; "))
	if finite(r.Readings.Precision.DF) {
		return fmt.Sprintf("Reflection density (ISO 5-4) was read %s, and %s %s", wording.Count(all-elsewhere, "time", "times"), wording.Count(elsewhere, "density", "densities"), from)
	}
	return fmt.Sprintf("%s %s", wording.Capital(wording.Count(all, "density", "densities")), from)
}

// instrumentsText says how instruments were compared, and which readings were brought to
// another's scale.
func (r *Results) instrumentsText() string {
	if len(r.Readings.Agreement) == 0 {
		return ""
	}
	var converted []string
	for _, source := range r.Readings.Shared {
		if source.By != readings.ByConversion {
			continue
		}
		for _, a := range r.Readings.Agreement {
			if a.Paired && slices.Contains(source.Levels, a.One) {
				converted = append(converted, fmt.Sprintf("%s to that of %s by %s", a.One, a.Other, wording.Count(a.Pages, "spot", "spots")))
			}
		}
	}
	text := " Instruments were compared on what both read by Deming’s regression (Linnet 1993) and limits of agreement (Bland and Altman 1986)."
	if len(converted) > 0 {
		text += " By that line readings were brought to another scale: " + wording.List(converted) + "."
	}
	return text
}

// besideRepeatability says what else stands in the standard errors of pages.
func (r *Results) besideRepeatability() string {
	var parts []string
	if p := r.Readings.Precision; p.Placing > 0 {
		parts = append(parts, fmt.Sprintf("from placing the instrument anew (a standard deviation of %s)", wording.Fixed(p.Placing, 4)))
	}
	if slices.ContainsFunc(r.Readings.Drift, func(d readings.DayDrift) bool {
		return d.Correction != readings.DriftNone
	}) {
		parts = append(parts, "from the lines that drift was corrected by")
	}
	if slices.ContainsFunc(r.Readings.Wear, func(w readings.Wear) bool { return w.Spot == "darkest" }) {
		parts = append(parts, "from the search for the darkest spot")
	}
	text := ""
	if len(parts) > 0 {
		text = ", " + wording.List(parts)
	}
	if len(r.Readings.Shared) > 0 {
		var sources []string
		for _, s := range r.Readings.Shared {
			sources = append(sources, s.By+"s")
		}
		text += "; what pages share (" + wording.List(sources) + ") is a further error of whatever is made of them"
	}
	return text
}

// spotText says where on the page the placings were.
func spotText(wear []readings.Wear) string {
	fixed, darkest := 0, 0
	for _, w := range wear {
		if w.Spot == "darkest" {
			darkest++
		} else {
			fixed++
		}
	}
	switch {
	case darkest == 0:
		return "averaged over placings on a fixed spot"
	case fixed == 0:
		return "averaged over placings on the darkest of several spots, different numbers of spots brought to one number by the expected order statistic (Harter 1961)"
	}
	return fmt.Sprintf("averaged over placings on a fixed spot (%s) or on the darkest of several spots (%s), different numbers of spots brought to one number by the expected order statistic (Harter 1961)",
		wording.Count(fixed, "page", "pages"), wording.Count(darkest, "page", "pages"))
}

func driftText(drift []readings.DayDrift) string {
	kinds := map[readings.Drift]bool{}
	parts, suspects := 0, 0
	for _, d := range drift {
		kinds[d.Correction] = true
		suspects += len(d.Suspects)
		if d.Break {
			parts++
		}
	}
	as, unknown := "an offset", ""
	switch {
	case kinds[readings.DriftScale]:
		as = "a scale"
	case kinds[readings.DriftEither]:
		as = "half an offset and half a scale"
		unknown = "; that it may have been wholly the one or the other is an error that the pages of a day share"
	case !kinds[readings.DriftOffset]:
		return " Drift of the instrument was not corrected."
	}
	text := " Drift within each measuring day was corrected as " + as + " along the straight line through that day’s tile readings"
	if parts > 0 {
		text += fmt.Sprintf(", after %s of the tile (F test at 20 %% over all places looked at) along a line of its own", wording.Count(parts, "jump", "jumps"))
	}
	if suspects > 0 {
		text += fmt.Sprintf(", %s that did not fit left out", wording.Count(suspects, "tile reading", "tile readings"))
	}
	return text + unknown + "."
}

func (r *Results) profileMethod() string {
	profiled, parted, pictured := 0, 0, 0
	for _, b := range r.Books {
		if b.Profile != nil {
			profiled++
			if b.Profile.Curve.Between > 0 {
				parted++
			}
			if b.Profile.Curve.PictureSE > 0 {
				pictured++
			}
		}
	}
	if profiled == 0 {
		return ""
	}
	levels := "no book’s texts show levels beside the smooth"
	if parted > 0 {
		levels = wording.Count(parted, "book’s", "books’") + " texts show such levels, and the curve there may jump between texts"
	}
	pictures := "All measured pages are in the curve alike: no book has measured pages both with a picture and without one."
	if pictured > 0 {
		pictures = fmt.Sprintf("All measured pages are in the curve; in %s with pages of both kinds measured, a fixed effect of a picture was estimated with it, and the curve is the level of the pages without one.", wording.Count(pictured, "book", "books"))
	}
	return fmt.Sprintf("For %s the wear along the pages was taken as a smooth (Whittaker 1923) and a random level of each text, with the smoothness, the spread of the levels and the scatter of the pages estimated by restricted likelihood (Ruppert, Wand and Carroll 2003); %s. %s The 95%s%% band is that of Nychka 1988. The wear of each text was summed over its pages%s.%s",
		wording.Count(profiled, "book", "books"), levels, pictures, wording.Narrow, r.filledText(), r.foundText())
}

// foundText says by what pages stand out and texts are ranked, and at which levels.
func (r *Results) foundText() string {
	level, ranked, raised, rate := 1.0, 0, 0, 0.0
	for _, b := range r.Books {
		if b.Profile == nil {
			continue
		}
		level = min(level, cmp.Or(b.Profile.Level, b.Profile.Rate))
		if len(b.Profile.Areas) > 1 {
			ranked++
		}
		if b.Profile.Rate > b.Profile.Level && b.Profile.Level > 0 {
			raised++
			rate = b.Profile.Rate
		}
	}
	text := fmt.Sprintf(" Each page was compared with the level of its own text, and the false-discovery rate over the pages of a book held at %s (Benjamini and Hochberg 1995)", wording.Rate(level))
	if raised > 0 {
		text += fmt.Sprintf(", over those with a picture at %s in %s whose pictures as a whole add to wear (Benjamini and Bogomolov 2014)", wording.Rate(rate), wording.Count(raised, "book", "books"))
	}
	text += "."
	if ranked > 0 {
		text += fmt.Sprintf(" In %s a text may be the most worn unless some other is worn more by comparisons of all pairs (Kramer 1956), at %s together.", wording.Count(ranked, "book", "books"), wording.Rate(level))
	}
	if level < usualError {
		text += fmt.Sprintf(" These levels are each claim’s share of %s for all that nobody asked about (Bonferroni’s inequality).", wording.Rate(usualError))
	}
	return text
}

// usualError is the chance of a false claim over all that a study finds unasked.
const usualError = 0.05

// filledText says what stood for pages without a number where texts were summed.
func (r *Results) filledText() string {
	unmeasured, bounds := false, false
	for _, b := range r.Books {
		if b.Profile == nil {
			continue
		}
		for _, a := range b.Profile.Areas {
			unmeasured = unmeasured || a.Measured < a.Pages
			bounds = bounds || a.AtLimit > 0
		}
	}
	var filled []string
	if unmeasured {
		filled = append(filled, "pages not measured counted as the mean of the measured ones of their text (Cochran 1977)")
	}
	if bounds {
		filled = append(filled, "censored pages as what the curve lets one expect beyond the bound")
	}
	if filled == nil {
		return ""
	}
	return ", " + wording.List(filled)
}

func (r *Results) dropoffMethod() string {
	sets, refused, guarded := 0, 0, false
	var calibration *dropoff.Saturation
	var criteria, adjusted []string
	var removed []mixed.Residual
	for _, b := range r.Books {
		for _, c := range b.Declines {
			sets++
			if c.Refused != "" {
				refused++
			}
			if c.Handling != nil {
				calibration = &c.Handling.Calibration
			}
			guarded = guarded || c.Changes != nil && c.Changes.Compared != nil
			if c.Removed.Outcome != "" {
				removed = append(removed, c.Removed.Residual)
			}
			if c.Changes != nil && !slices.Contains(criteria, c.Changes.Criterion) {
				criteria = append(criteria, c.Changes.Criterion)
			}
			for _, a := range c.Adjusted {
				if !slices.Contains(adjusted, a) {
					adjusted = append(adjusted, a)
				}
			}
		}
	}
	if sets == 0 {
		return strings.TrimSpace(r.knownMethod())
	}
	text := fmt.Sprintf("For %s the pages were put in the order of the day’s offices", wording.Count(sets, "set of hours", "sets of hours"))
	if len(adjusted) > 0 {
		text += ", adjusted for " + wording.List(readable(adjusted)) + " by a mixed model" + r.removedText(removed)
	}
	text += "; changes of level were sought by exact segmentation (Maidstone and others 2017)"
	if len(criteria) > 0 {
		text += ", their number chosen by the " + wording.List(criteria)
	}
	if guarded {
		text += fmt.Sprintf(", those less likely than %s left out, and all where more than %s of series without a change, drawn with the same noise, look as much like one", wording.Percent(dropoff.Likely), wording.Percent(dropoff.AlarmAsked))
	}
	text += "; their probabilities and the intervals of their places come from recursion over all segmentations (Fearnhead 2006). Each office’s wear was set against the first’s, with the interval of Fieller 1954."
	if r.curved() {
		text += " The shares are told as a curve too that never rises, the offices’ wear pooled where it did not fall (Ayer and others 1955), in a band over all offices at once (Šidák 1967)."
	}
	if calibration != nil {
		text += fmt.Sprintf(" How often pages were handled is told by the calibration that the study states, density = %s × (1 − exp(−handling)), with the interval of Fieller 1954 for the ratio of handlings, their errors and that of the calibration by the delta method.", wording.Density(calibration.Density))
	}
	if refused > 0 {
		text += fmt.Sprintf(" For %s no share is given, since the first office is hardly worn or too few pages were measured.", wording.Count(refused, "set", "sets"))
	}
	return text + r.knownMethod()
}

// removedText says of the models that adjusted the hours what they take as known of the
// pages' errors, and of how many it holds where not of all.
func (r *Results) removedText(removed []mixed.Residual) string {
	text := ""
	for _, of := range []struct {
		has  func(mixed.Residual) bool
		part mixed.Residual
	}{
		{func(m mixed.Residual) bool { return m.KnownSD != "" }, mixed.Residual{KnownSD: columnSE}},
		{func(m mixed.Residual) bool { return m.Along != "" }, mixed.Residual{Along: "position"}},
	} {
		n := 0
		for _, m := range removed {
			if of.has(m) {
				n++
			}
		}
		if n == 0 {
			continue
		}
		text += r.residualText(of.part)
		if n < len(removed) {
			text += fmt.Sprintf(" (in %s of %s)", wording.Whole(n), wording.Whole(len(removed)))
		}
	}
	return text
}

// columnSE is the pages' column of standard errors.
const columnSE = "wear_se"

// curved tells whether any set of hours has the curve that never rises.
func (r *Results) curved() bool {
	for _, b := range r.Books {
		if slices.ContainsFunc(b.Declines, func(c *dropoff.Decline) bool { return c.Curve != nil }) {
			return true
		}
	}
	return false
}

// readersMethod says how readers were looked at side by side, and whole books
// without their sections.
func (r *Results) readersMethod() string {
	shared, pairs, habits, agreeing := 0, 0, 0, false
	for _, s := range r.Shared {
		if s.Shared != nil {
			shared++
		}
	}
	for _, p := range r.Pairs {
		if p.Difference != nil {
			pairs++
		}
	}
	for _, b := range r.Books {
		if b.Habits != nil && b.Habits.Changes != nil {
			habits++
			agreeing = agreeing || b.Habits.Agrees
		}
	}
	var told []string
	if shared > 0 {
		told = append(told, fmt.Sprintf("For %s a drop after the same office in all books was weighed against none: each book has levels of its own before and after it, over which the likelihood was integrated, and a drop somewhere was held as probable beforehand as none. Each book’s drop at the most probable office has the interval of Fieller 1954, at a level that holds for all books at once (Šidák 1967).", wording.Count(shared, "set of hours", "sets of hours")))
	}
	if pairs > 0 {
		told = append(told, fmt.Sprintf("%s compared by their shares of all offices that both have, by Wald’s test; differences of single offices have the interval of Zou and Donner 2008, and p is adjusted over the pairs (Holm 1979).", pairsWere(pairs)))
	}
	if habits > 0 {
		text := fmt.Sprintf("Along %s changes of level were sought in the same way, the sections telling only what pictures, beginnings of texts and the ends of a book add", wording.Count(habits, "whole book", "whole books"))
		if agreeing {
			text += "; how well changes agree with sections is the adjusted Rand index (Hubert and Arabie 1985)"
		}
		told = append(told, text+".")
	}
	return strings.Join(told, " ")
}

func pairsWere(n int) string {
	if n == 1 {
		return "1 pair of readers was"
	}
	return wording.Whole(n) + " pairs of readers were"
}

func (r *Results) modelMethod() string {
	var told []string
	seen := map[string]bool{}
	for _, m := range r.Models {
		if m.Fit == nil || seen[m.Name] {
			continue
		}
		seen[m.Name] = true
		told = append(told, r.modelText(m))
	}
	if len(told) == 0 {
		return ""
	}
	return "Linear mixed models were fitted by penalised least squares (Bates and others 2015). " + strings.Join(told, " ") +
		" " + r.degreesMethod() + "; intervals are 95" + wording.Narrow + "%."
}

// degreesMethod tells how standard errors and degrees of freedom came about.
func (r *Results) degreesMethod() string {
	adjusted, other := 0, 0
	for _, m := range r.Models {
		switch {
		case m.Fit == nil:
		case m.Fit.Method == mixed.ByKenwardRoger:
			adjusted++
		default:
			other++
		}
	}
	switch {
	case other == 0:
		return "Standard errors and degrees of freedom follow Kenward and Roger 1997"
	case adjusted == 0:
		return "Degrees of freedom follow Satterthwaite 1946"
	default:
		return "Standard errors and degrees of freedom follow Kenward and Roger 1997 where these can be computed, else Satterthwaite 1946"
	}
}

func (r *Results) modelText(m ModelResult) string {
	text := fmt.Sprintf("The model “%s” explains %s by %s", m.Name, r.outcome(m), r.termsText(m.Model))
	var random []string
	for _, term := range m.Model.Random {
		random = append(random, r.randomText(term))
	}
	if len(random) > 0 {
		text += ", with random effects " + wording.List(random)
	}
	text += r.residualText(m.Model.Residual)
	likelihood := "restricted likelihood (Patterson and Thompson 1971)"
	if m.Model.Estimate == "full" {
		likelihood = "full likelihood"
	}
	if m.Book != "" {
		return text + ", fitted in each book by itself by " + likelihood + "."
	}
	return text + ", fitted to " + wording.Count(m.Fit.N, "page", "pages") + " by " + likelihood + "."
}

// outcome names what a model explains.
func (r *Results) outcome(m ModelResult) string {
	outcome := r.Labels.Column(m.Model.Outcome)
	if m.Model.Scale == "log" {
		outcome = "the logarithm of " + outcome
	}
	return outcome
}

// termsText is what a model explains its outcome by.
func (r *Results) termsText(m mixed.Model) string {
	var terms []string
	for _, t := range m.Fixed {
		var factors []string
		for _, column := range t {
			factors = append(factors, r.Labels.Column(column))
		}
		terms = append(terms, strings.Join(factors, " together with "))
	}
	if len(terms) == 0 {
		return "a mean alone"
	}
	return wording.List(terms)
}

func (r *Results) randomText(random mixed.Random) string {
	var varying []string
	for _, term := range random.Terms {
		varying = append(varying, r.varying(ModelResult{}, term))
	}
	terms := wording.List(varying)
	if random.Correlated && len(random.Terms) > 1 {
		terms += ", correlated"
	}
	return "between " + r.Labels.Groups(random.By) + " (" + terms + ")"
}

func (r *Results) residualText(residual mixed.Residual) string {
	text := ""
	if residual.KnownSD != "" {
		text += ", each page’s own measuring error taken as known"
	}
	if residual.Limits != "" || residual.Limit != nil {
		text += ", censored pages entering as such (Tobin 1958; Minka 2001)"
	}
	if residual.Levels != "" {
		text += ", the residual spread differing by " + r.Labels.Column(residual.Levels)
	}
	if residual.Along != "" {
		text += ", neighbouring residuals correlated (autoregression) along the " + wording.List(readable([]string{residual.Along}))
	}
	return text
}

func (r *Results) questionMethod() string {
	if len(r.Answers) == 0 {
		return ""
	}
	asked, before, equivalence := map[string]bool{}, 0, false
	for _, a := range r.Answers {
		equivalence = equivalence || a.Against != nil && a.Question.Direction != "more" && a.Question.Direction != "less"
		if key := a.Question.Model + "\x00" + a.Question.Words; !asked[key] {
			asked[key] = true
			if a.Question.Asked == "before" {
				before++
			}
		}
	}
	text := fmt.Sprintf("%s answered as contrasts of these models", questionsWere(len(asked)))
	if before > 0 {
		text += fmt.Sprintf(", %s of them stated before the data were seen, as the author says", wording.Whole(before))
		if r.Seal == nil {
			text += " (nothing was sealed that would show it)"
		}
	}
	text += "." + r.adjustMethod() + r.addedMethod() + r.sealMethod()
	for _, w := range hypotheses.Ways() {
		text += w.Method(r.Answers)
	}
	if equivalence {
		text += " That an effect is too small to matter is said where its whole interval is, which is two one-sided tests in one (Schuirmann 1987)."
	}
	return text
}

// adjustMethod says over what the intervals hold at once, and how.
func (r *Results) adjustMethod() string {
	together, rated := 0, 0
	for _, a := range r.Answers {
		switch {
		case a.Rate:
			rated++
		default:
			together = max(together, a.Together)
		}
	}
	text := ""
	plain := r.count(func(a hypotheses.Answer) bool { return !a.Rate })
	switch {
	case plain > 1 && together == plain:
		text += fmt.Sprintf(" The 95%s%% intervals of %s hold at once, over all families: within a fit by the joint distribution of the contrasts (Hochberg and Tamhane 1987), over fits by Bonferroni’s inequality; each yes or no is read from the interval that is shown.", wording.Narrow, wording.Count(plain, "answer", "answers"))
	case plain > 1:
		text += fmt.Sprintf(" The 95%s%% intervals of a family’s answers hold at once, each family by itself: within a fit by the joint distribution of the contrasts (Hochberg and Tamhane 1987), over fits by Bonferroni’s inequality; each yes or no is read from the interval that is shown.", wording.Narrow)
	}
	if rated > 0 {
		text += fmt.Sprintf(" For %s the rate of false discoveries is held at 5%s%% (Benjamini and Hochberg 1995), and their intervals are at the level of those selected (Benjamini and Yekutieli 2005).", wording.Count(rated, "answer", "answers"), wording.Narrow)
	}
	return text
}

// addedMethod says where groups were added to a model for a question.
func (r *Results) addedMethod() string {
	n := r.count(func(a hypotheses.Answer) bool { return a.Rests != nil && len(a.Rests.Added) > 0 })
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(" For %s over 90%s%% of what carries the contrast lay between groups that the model does not name, and these were added as random intercepts.", wording.Count(n, "answer", "answers"), wording.Narrow)
}

// count is how many answers are of a kind.
func (r *Results) count(kind func(a hypotheses.Answer) bool) int {
	n := 0
	for _, a := range r.Answers {
		if kind(a) {
			n++
		}
	}
	return n
}

// sealMethod says what was sealed before the readings.
func (r *Results) sealMethod() string {
	if r.Seal == nil {
		return ""
	}
	foreseen := r.count(func(a hypotheses.Answer) bool { return a.Preregistration != nil && a.Preregistration.Preregistered })
	return fmt.Sprintf(" Questions and models were sealed on %s (SHA-256 of the seal: %s); %s of %s were foreseen by it and are unchanged since.",
		r.Seal.Day, r.Seal.SHA256, wording.Whole(foreseen), wording.Count(len(r.Answers), "answer", "answers"))
}

// robustMethod says how often answers were tried for sensitivity.
func (r *Results) robustMethod() string {
	answers, tried := 0, 0
	for _, b := range r.Robustness {
		if b.stated() != nil {
			answers++
			tried += len(b.Rows) - 1
		}
	}
	if tried == 0 {
		return ""
	}
	return fmt.Sprintf("For %s the model was fitted again with one choice made otherwise at a time, %s in all; the tables of sensitivity list them, with p-values that stand alone.",
		wording.Count(answers, "answer", "answers"), wording.Count(tried, "time", "times"))
}

func questionsWere(n int) string {
	if n == 1 {
		return "1 question was"
	}
	return wording.Whole(n) + " questions were"
}

func (r *Results) softwareMethod() string {
	if r.Meta.Program == "" {
		return ""
	}
	return "All was computed with " + r.Meta.Program + ". Colours of the figures stay apart for readers who lack red or green (simulated after Viénot, Brettel and Mollon 1999), and every distinction is also one of shape."
}
