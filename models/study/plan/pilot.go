package plan

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/hypotheses"
	"thumbed/models/hypotheses/power"
	"thumbed/models/mixed"
	"thumbed/models/outcome"
	"thumbed/models/readings"
	"thumbed/models/study"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// usePilot takes model, question, spreads, books and measuring from the pilot, and
// from its other questions and its families how claims are read.
func (p *Plan) usePilot() error {
	pilot := p.File.Pilot
	if p.pilot == nil {
		s, err := study.Open(p.near(pilot.Study))
		if err != nil {
			return fmt.Errorf("the pilot cannot be read: %w", err)
		}
		p.pilot = s
	}
	s := p.pilot
	at := slices.IndexFunc(s.Models, func(m study.Model) bool { return m.Name == pilot.Model })
	if at < 0 {
		return p.fault(pilot.Model, "one of the pilot's models: "+strings.Join(modelNames(s), ", "), nearly(pilot.Model, modelNames(s)), "pilot", "model")
	}
	m := &s.Models[at]
	if m.IsMeasure() && !outcome.Of(m.Model).Read() {
		return p.fault(m.Outcome, "a model of wear or of a trace, which is what a campaign takes", "name another of the pilot's models", "pilot", "model")
	}
	if m.Each == "" && pilot.Book != "" {
		return p.fault(pilot.Book, "a book's id only where the model is fitted book by book", "delete book", "pilot", "book")
	}
	p.Setting.Model = m.Model
	if !m.IsMeasure() {
		return p.useLooks(s, m)
	}
	use := p.useOnce
	if m.Each != "" && pilot.Book == "" {
		use = p.useEach
	}
	if err := use(s, m); err != nil {
		return err
	}
	if err := p.takeQuestion(s, m.Name); err != nil {
		return err
	}
	p.takeFamilies(s, m)
	return p.takeMeasuring(s)
}

// useOnce takes spreads and books from one fit of a model.
func (p *Plan) useOnce(s *study.Study, m *study.Model) error {
	fit, rows, err := fitted(s, m, p.File.Pilot.Book)
	if err != nil {
		return err
	}
	p.Setting.Books = byBook(rows)
	_, p.Setting.Named = m.Only["book"]
	p.say("Model, spreads and books are those of the model “%s” of the study “%s” (%s of %s).", m.Name, s.Title, wording.Count(fit.N, "page", "pages"), wording.Count(len(p.Setting.Books), "book", "books"))
	p.Setting.Truth, p.Setting.Draws, p.Setting.Spreads, err = p.takeTruth(fit, rows)
	return err
}

// useEach takes spreads and books from the fits of a model in each book: a campaign
// asks of one of them, each as often as any other.
func (p *Plan) useEach(s *study.Study, m *study.Model) error {
	p.Setting.Each = true
	var silent []string
	for _, b := range s.Books {
		fit, rows, err := fitted(s, m, b.ID)
		if err != nil {
			silent = append(silent, b.ID)
			continue
		}
		p.Setting.Books = append(p.Setting.Books, rows)
		before := p.Sources
		truth, draws, spreads, err := p.takeTruth(fit, rows)
		if err != nil {
			return err
		}
		p.Sources = before // what each book says by itself would be a long list
		if draws == nil {
			draws = []power.Draw{{Truth: truth}}
		}
		for _, d := range draws {
			d.Book = len(p.Setting.Books) - 1
			p.Setting.Draws = append(p.Setting.Draws, d)
		}
		p.Setting.Truth = truth
		if p.Setting.Spreads == nil {
			p.Setting.Spreads = spreads
		}
	}
	if len(p.Setting.Books) == 0 {
		return fmt.Errorf("the pilot's model “%s” can be fitted in none of its books, so that it tells nothing to plan by", m.Name)
	}
	p.say("Model, spreads and books are those of the model “%s” of the study “%s”, which is fitted in each book by itself: a campaign is drawn like one of its %s.", m.Name, s.Title, wording.Count(len(p.Setting.Books), "book", "books"))
	if len(silent) > 0 {
		p.say("The model cannot be fitted in %s, which tell nothing to plan by.", wording.List(silent))
	}
	return nil
}

// fitted fits one of the pilot's models.
func fitted(s *study.Study, m *study.Model, book string) (*mixed.Fit, *table.Table, error) {
	rows, err := s.Rows(m.Name, book)
	if err != nil {
		return nil, nil, fmt.Errorf("the pilot's pages cannot be had: %w", err)
	}
	wear, err := s.Wear()
	if err != nil {
		return nil, nil, fmt.Errorf("the pilot's readings tell nothing to plan by: %w", err)
	}
	fit, err := hypotheses.Sharing(m.Model, wear.Shared).Fit(rows)
	if err != nil {
		return nil, nil, fmt.Errorf("the pilot's model “%s” cannot be fitted, so that it tells nothing to plan by: %w", m.Name, err)
	}
	if !fit.Converged {
		return nil, nil, fmt.Errorf("the pilot's model “%s” did not converge, so that it tells nothing to plan by: simplify its random terms in the study file", m.Name)
	}
	return fit, rows, nil
}

// takeFamilies takes what else the study asks, with which the question's interval
// holds at once, unless the plan states an error rate of its own.
func (p *Plan) takeFamilies(s *study.Study, m *study.Model) {
	if p.where.Line("question", "level") != p.where.Line("question") {
		return // else the line is that of the section, or none
	}
	q := p.Setting.Question
	among := power.Study{Adjustment: s.Adjustment()}
	known := false
	for _, other := range s.Questions {
		if !among.Adjustment.Together(q, other) {
			continue
		}
		of := slices.IndexFunc(s.Models, func(o study.Model) bool { return o.Name == other.Model })
		switch {
		case other.Model == m.Name:
			if other.Words == q.Words {
				known, other = true, q
			}
			among.Asked = append(among.Asked, other)
		case of >= 0 && s.Models[of].Each != "":
			among.EachBook++
		default:
			among.Once++
		}
	}
	if !known {
		among.Asked = append(among.Asked, q)
	}
	p.Setting.Study = &among
}

func modelNames(s *study.Study) []string {
	var names []string
	for _, m := range s.Models {
		names = append(names, m.Name)
	}
	return names
}

// byBook parts pages by their book.
func byBook(pages *table.Table) []*table.Table {
	names, codes := pages.Column("book").Levels()
	rows := make([][]int, len(names))
	for i, code := range codes {
		rows[code] = append(rows[code], i)
	}
	var out []*table.Table
	for _, of := range rows {
		out = append(out, pages.Select(of))
	}
	return out
}

// takeTruth takes the pilot's parameters, and others that it allows where power is
// averaged over them, less what its own measuring put into the spread of single
// pages.
func (p *Plan) takeTruth(fit *mixed.Fit, rows *table.Table) (truth mixed.Parameters, draws []power.Draw, spreads []string, err error) {
	truth = fit.Estimates()
	if len(fit.Boundary) > 0 {
		p.say("In the pilot these were estimated at the end of their range, and are taken so: %s. That a pilot sees no variation does not show that there is none; consider spreads = \"cautious\".", strings.Join(fit.Boundary, ", "))
	}
	switch p.File.Pilot.Spreads {
	case cautious:
		truth, err = p.raise(fit, truth)
	case averaged:
		draws, spreads, err = p.allow(fit, truth)
	}
	if err != nil {
		return truth, nil, nil, err
	}
	if fit.Model().Residual.KnownSD == "" {
		measuring := measuringVariance(fit.Model(), rows)
		p.sayClean(truth.Residual.SD, measuring)
		clean(&truth.Residual, measuring)
		for k := range draws {
			clean(&draws[k].Truth.Residual, measuring)
		}
	}
	return truth, draws, spreads, nil
}

// cautiousLevel is the limit of what the pilot allows that is taken: 80 % of such
// limits lie above the truth (Browne 1995, Statistics in Medicine 14, 1933–1940,
// who plans by the upper 80 % limit of a pilot's variance).
const cautiousLevel = 0.8

// raise takes the upper limits of what the pilot allows for its spreads.
func (p *Plan) raise(fit *mixed.Fit, truth mixed.Parameters) (mixed.Parameters, error) {
	known, err := allowances(fit, spreadNames(truth))
	if err != nil {
		return truth, err
	}
	upper := map[string]float64{}
	for _, a := range known {
		upper[a.name] = a.quantile(cautiousLevel)
	}
	truth = spread(truth, func(name string, v float64) float64 {
		if high := upper[name]; high > v {
			return high
		}
		p.say("The pilot gives no upper end for the %s; it is taken as estimated.", name)
		return v
	})
	p.say("Spreads are the upper ends of what the pilot allows (the upper 80 %% limits of their confidence distributions), since a pilot of few groups knows them badly.")
	return truth, nil
}

// residualName is what a profile calls the spread of single pages.
const residualName = "residual standard deviation"

// spreadName is what a profile calls the spread of a term between groups.
func spreadName(term string, by []string) string {
	return "standard deviation of " + term + " by " + strings.Join(by, " and ")
}

// spreadNames are those of all spreads of a truth.
func spreadNames(truth mixed.Parameters) (names []string) {
	spread(truth, func(name string, v float64) float64 { names = append(names, name); return v })
	return names
}

// spread gives the truth with other spreads, by the names that a profile has for
// them.
func spread(truth mixed.Parameters, other func(name string, v float64) float64) mixed.Parameters {
	truth.Random = slices.Clone(truth.Random)
	for k := range truth.Random {
		r := &truth.Random[k]
		r.SD = slices.Clone(r.SD)
		for j, term := range r.Terms {
			r.SD[j] = other(spreadName(term, r.By), r.SD[j])
		}
	}
	if len(truth.Residual.Levels) == 0 {
		truth.Residual.SD = other(residualName, truth.Residual.SD)
	}
	return truth
}

// measuringVariance is the mean variance of the measuring in the pilot's pages,
// on the model's scale.
func measuringVariance(m mixed.Model, rows *table.Table) float64 {
	wear, se, limit := rows.Column("wear"), rows.Column("wear_se"), rows.Column("limit")
	var variances []float64
	for i := range rows.Rows() {
		sd, value := se.Number(i), wear.Number(i)
		if math.IsNaN(sd) || limit.Label(i) != "" {
			continue
		}
		if m.Scale == "log" {
			sd /= value
		}
		variances = append(variances, sd*sd)
	}
	return stat.Mean(variances, nil)
}

// leastOwn is the least share of the spread of single pages that is taken for
// their own, whatever the measuring.
const leastOwn = 0.1

// ownSpread takes the measuring out of a spread of single pages.
func ownSpread(sd, measuring float64) float64 {
	return math.Sqrt(math.Max(leastOwn*sd*leastOwn*sd, sd*sd-measuring))
}

// clean takes the measuring out of the spread of single pages.
func clean(r *mixed.ResidualFit, measuring float64) {
	r.Levels = slices.Clone(r.Levels)
	for k := range r.Levels {
		r.Levels[k].SD = ownSpread(r.Levels[k].SD, measuring)
	}
	r.SD = ownSpread(r.SD, measuring)
}

// sayClean says what is left of the spread of single pages.
func (p *Plan) sayClean(sd, measuring float64) {
	left := ownSpread(sd, measuring)
	p.say("Single pages differ by %s in the pilot; without its measuring error (%s) they differ by %s.", three(sd), three(math.Sqrt(measuring)), three(left))
	if left == leastOwn*sd {
		p.say("The pilot's measuring error accounts for all that its pages differ by, so that a tenth of it is taken for the pages' own.")
	}
}

// takeQuestion takes the question from the plan, or by its words from the
// pilot's study.
func (p *Plan) takeQuestion(s *study.Study, model string) error {
	var asked []hypotheses.Question
	var words []string
	for _, q := range s.Questions {
		if q.Model == model {
			asked, words = append(asked, q), append(words, q.Words)
		}
	}
	if given := p.File.Question; given.Contrast == nil {
		switch at := slices.Index(words, given.Words); {
		case at >= 0:
			p.Setting.Question = asked[at]
		case given.Words == "" && len(asked) == 1:
			p.Setting.Question = asked[0]
		default:
			return p.fault(given.Words, "a contrast, or the words of a question that the pilot asks of the model: “"+strings.Join(words, "”, “")+"”", nearly(given.Words, words), "question", "words")
		}
	}
	return p.settleQuestion()
}

// takeMeasuring takes from the pilot's log how its readings vary.
func (p *Plan) takeMeasuring(s *study.Study) error {
	result, err := s.Wear()
	if err != nil {
		return fmt.Errorf("the pilot's readings tell nothing to plan by: %w", err)
	}
	at, err := p.instrument(s.Log)
	if err != nil {
		return err
	}
	in := s.Log.Instruments[at]
	precision := result.Precision
	m := power.Measuring{Instrument: in, OnPage: known(precision.OnPage, precision.Repeatability), OnZero: known(precision.OnZero, precision.Repeatability),
		Between: known(precision.Between, 0), BetweenDays: known(precision.BetweenDays, 0), Observers: 1}
	m.Zeros = max(1, int(math.Round(float64(result.Counted.Zero)/float64(max(1, result.Counted.Pages)))))
	m.Ground, m.GroundSpread = grounds(s.Log)
	if in.Tile > 0 {
		m.Correction, m.OnTile, m.Drift = s.Measuring.Drift, known(precision.TileSD, m.OnZero), driftOf(result.Drift, in)
	}
	if p.File.Sheet == nil && m.Correction == readings.DriftScale && precision.TileSD > 0 { // else the tile itself is drawn
		m.Scale = precision.TileSD / in.Tile / math.Sqrt(usualTiles)
	}
	p.Setting.Measuring = m
	if p.File.Sheet != nil && m.Drift > 0 {
		p.say("Over a day the instrument drifts by %s there (a standard deviation over days, without the errors of the tile readings); a campaign’s does so too, and is corrected as the study corrects it.", three(m.Drift))
	}
	p.say("Placings repeat to %s on pages and %s on zeros, as in the pilot's log; untouched parchment has a density of %s there (standard deviation %s).", three(m.OnPage), three(m.OnZero), three(m.Ground), three(m.GroundSpread))
	if m.Between > 0 {
		p.say("Observers or instruments differ by %s there beyond repeatability; the observers of a campaign take its days in turn.", three(m.Between))
	}
	if math.IsNaN(precision.BetweenDays) && p.File.Measuring.BetweenDays == nil {
		p.say("The pilot measured no page on two days, so that nothing is known of what days differ by; none is taken. Measure some pages again on another day, and give between_days.")
	}
	return nil
}

// instrument is the one that the plan names, or the one that most readings of
// the pilot were taken with.
func (p *Plan) instrument(log *readings.Log) (int, error) {
	used := make([]int, len(log.Instruments))
	var ids []string
	for _, r := range log.Readings {
		used[r.Instrument]++
	}
	most := 0
	for i, in := range log.Instruments {
		ids = append(ids, in.ID)
		if used[i] > used[most] {
			most = i
		}
	}
	name := p.File.Measuring.Instrument
	if name == "" {
		return most, nil
	}
	if at := slices.Index(ids, name); at >= 0 {
		return at, nil
	}
	return 0, p.fault(name, "one of the pilot's instruments: "+strings.Join(ids, ", "), nearly(name, ids), "measuring", "instrument")
}

// driftOf is what an instrument drifts by over a day, a standard deviation over days, by
// moments: without what the errors of its tile readings make of it.
func driftOf(days []readings.DayDrift, in readings.Instrument) float64 {
	sum, n := 0.0, 0.0
	for _, d := range days {
		if d.Instrument == in.ID && d.To > d.From && !math.IsNaN(d.SlopeSE) {
			length := d.To - d.From
			sum += length * length * (d.Slope*d.Slope - d.SlopeSE*d.SlopeSE)
			n++
		}
	}
	return math.Sqrt(math.Max(0, sum/math.Max(1, n)))
}

// grounds gives the mean density of untouched parchment and how it differs from
// page to page.
func grounds(log *readings.Log) (mean, sd float64) {
	type page struct{ book, page int }
	sums, counts := map[page]float64{}, map[page]float64{}
	for _, r := range log.Readings {
		if r.Target == readings.OnZero && r.Excluded == "" {
			sums[page{r.Book, r.Page}] += r.Density
			counts[page{r.Book, r.Page}]++
		}
	}
	var values []float64
	for at, sum := range sums {
		values = append(values, sum/counts[at])
	}
	slices.Sort(values) // a map has no order, and sums depend on it
	mean, sd = stat.MeanStdDev(values, nil)
	return mean, known(sd, 0)
}

// known is v, or another number where v is none.
func known(v, otherwise float64) float64 {
	if math.IsNaN(v) {
		return otherwise
	}
	return v
}

// near gives a path of the plan file as a path from here.
func (p *Plan) near(path string) string {
	if filepath.IsAbs(path) {
		return path
	}
	return filepath.Join(filepath.Dir(p.Path), filepath.FromSlash(path))
}

// nearly offers the name that is most like the one given.
func nearly(word string, among []string) string {
	if near := table.Nearest(word, among); near != "" {
		return fmt.Sprintf("perhaps %q was meant", near)
	}
	return "use one of these names, written as there"
}
