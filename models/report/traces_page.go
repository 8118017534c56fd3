package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/generalised"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/report/grid"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// A tracesView is what the page shows of traces.
type tracesView struct {
	Traces     grid.Grid // what was looked at, and how far observers agree
	Answers    grid.Grid
	Shares     []*figureView
	Coding     grid.Grid
	Strips     []*figureView
	Said       []string // of agreement and of prints, in full
	States     grid.Grid
	Pairs      grid.Grid
	Grades     grid.Grid
	Confusions []*figureView
	Models     []traceModelView
}

type traceModelView struct {
	ID, Title, About, Facts, Failed string
	Notes                           []string
	Effects, Means                  grid.Grid
	Inferences                      []grid.Grid // what else the model asks for
	Expected                        []*figureView
}

func (r *Results) tracesView(shelf *figureShelf) *tracesView {
	if !r.looked() {
		return nil
	}
	t := r.Traces
	v := &tracesView{Answers: r.toldGrid(), Traces: r.traceGrid(), Coding: r.codingGrid(), States: r.stateGrid(), Pairs: r.agreedGrid(), Grades: r.gradeGrid()}
	v.Shares = shelf.take(sharesPart, v.States.Name)
	v.Strips = shelf.take(stripPart, "")
	v.Confusions = shelf.take(confusionPart, v.Pairs.Name)
	v.Said = t.said()
	for k, m := range t.Models {
		view := r.traceModelView(k, m)
		view.Expected = shelf.take(expectedName(k), "")
		v.Models = append(v.Models, view)
	}
	return v
}

// said tells of agreement and of prints, in full.
func (t *TraceResults) said() []string {
	var out []string
	for _, a := range t.Agreement {
		out = append(out, a.Words)
	}
	for _, p := range t.Prints {
		out = append(out, p.Words)
	}
	return wording.TypesetAll(out)
}

// total adds up the things of those states that are asked for.
func (t *TraceResults) total(of func(traces.State) bool) traces.State {
	var sum traces.State
	for _, s := range t.States {
		if of(s) {
			sum.Things += s.Things
			sum.NotLooked += s.NotLooked
			sum.Nothing += s.Nothing
			sum.There += s.There
			sum.Unclear += s.Unclear
			sum.Looks += s.Looks
		}
	}
	return sum
}

// traceGrid tells of each trace on how much of what was looked at it is, over all books,
// and how far observers agree.
func (r *Results) traceGrid() grid.Grid {
	g := grid.Grid{Name: "traces-looked-at", Title: "What was looked at, and how far observers agree on what was coded more than once: alpha is 1 where they agree fully, 0 where as by chance.",
		Heads: grid.Heads("Trace", "Looked at", "There#", "Cannot be told#", "Not looked at#", "Coded more than once#", "Agreement (alpha)#", "Higher values")}
	for i := range r.Traces.Coding {
		t := &r.Traces.Coding[i]
		sum := r.Traces.total(func(s traces.State) bool { return s.Trace == t.Name })
		again, alpha, higher := 0, grid.Instead("not known"), "not known"
		for _, a := range r.Traces.Agreement {
			if a.Trace == t.Name {
				again, alpha, higher = a.Things, alphaCell(a.Alpha), higherValues(a)
			}
		}
		g.Add(grid.Words(wording.Capital(r.Labels.Column(t.Name))), grid.Words(thingsOf(t, sum.Things-sum.NotLooked)), grid.Whole(sum.There), grid.Whole(sum.Unclear), grid.Whole(sum.NotLooked), grid.Whole(again), alpha, grid.Words(higher))
	}
	return g
}

// thingsOf counts the things that a trace is looked for on.
func thingsOf(t *traces.Trace, n int) string {
	switch {
	case len(t.Parts) > 0 && t.On == traces.OnPictures:
		return wording.Count(n, "part of a picture", "parts of pictures")
	case len(t.Parts) > 0:
		return wording.Count(n, "part of a page", "parts of pages")
	case t.On == traces.OnPictures:
		return wording.Count(n, "picture", "pictures")
	}
	return wording.Count(n, "page", "pages")
}

// toldGrid are the answers on traces as probabilities and rates.
func (r *Results) toldGrid() grid.Grid {
	g := grid.Grid{Name: "trace-answers", Title: "Questions on traces, as probabilities and rates averaged over books, pages and observers", Note: "The verdicts hold with those of all questions adjusted together; each interval here is of its own number alone.",
		Heads: grid.Heads("Question", "Verdict", "Asked about", "How often#", "Against", "How often#", "What")}
	for _, a := range r.Answers {
		t := a.Told
		if t == nil {
			continue
		}
		g.Add(grid.Words(r.askedOf(a)), grid.Words(wording.Capital(a.Verdict)), grid.Words(wording.Capital(t.Level)), sideCell(t, t.Asked),
			grid.Words(wording.Capital(t.Other)), sideCell(t, t.Against), grid.Words(wording.Capital(t.Outcome+t.Per)))
	}
	return g
}

// sideCell is one side of an answer with its interval.
func sideCell(t *hypotheses.Told, m generalised.Mean) grid.Cell {
	return grid.Shown(m.Mean, t.Estimate(m))
}

// ratioCell is the ratio that an effect on the scale of a link comes to.
func ratioCell(estimate, low, high float64) grid.Cell {
	ratio := math.Exp(estimate)
	return grid.Shown(ratio, wording.RatioEstimate(ratio, math.Exp(low), math.Exp(high)))
}

// askedOf is a question with the book that it is asked of.
func (r *Results) askedOf(a hypotheses.Answer) string {
	if a.Book == "" {
		return a.Question.Words
	}
	return a.Question.Words + " " + r.shortByID(a.Book) + "."
}

func (r *Results) codingGrid() grid.Grid {
	g := grid.Grid{Name: "coding-book", Title: "The coding book: what was looked for, and by what each grade is told.", Heads: grid.Heads("Trace", "Grade", "What must be seen")}
	for _, t := range r.Traces.Coding {
		about := t.About
		if t.Kind == mixed.Counts {
			about += "; one is " + t.One
			if t.Per != "" {
				about += "; counted in " + t.Per
			}
		}
		if len(t.Parts) > 0 {
			about += " (parts: " + wording.List(t.Parts) + ")"
		}
		g.Add(grid.Words(wording.Capital(r.Labels.Column(t.Name))), grid.Words(""), grid.Words(wording.Sentence(about)))
		for _, grade := range t.Grades {
			g.Add(grid.Words(""), grid.Words(grade.Name), grid.Words(wording.Sentence(grade.About)))
		}
	}
	return g
}

func (r *Results) stateGrid() grid.Grid {
	g := grid.Grid{Name: "trace-states", Title: "Things in their three states: looked at and there, looked at and nothing there, cannot be told; and those that nobody looked at.",
		Heads: grid.Heads("Trace", "Book", "Part", "Looked for#", "There#", "Nothing there#", "Cannot be told#", "Not looked at#", "Looks left out#"), Long: len(r.Traces.States) > 40}
	for _, s := range r.Traces.States {
		g.Add(grid.Words(wording.Capital(r.Labels.Column(s.Trace))), grid.Words(r.shortByID(s.Book)), grid.Words(s.Part), grid.Whole(s.Things), grid.Whole(s.There), grid.Whole(s.Nothing), grid.Whole(s.Unclear), grid.Whole(s.NotLooked), grid.Whole(s.Excluded))
	}
	return g
}

// higherValues names the observers who are shown to give the higher values.
func higherValues(a traces.Agreement) string {
	var higher []string
	for _, p := range a.Pairs {
		switch {
		case p.One == p.Other || p.P >= claimRate:
		case p.Higher > p.Lower:
			higher = append(higher, p.Other+" above "+p.One)
		default:
			higher = append(higher, p.One+" above "+p.Other)
		}
	}
	return cmp.Or(wording.List(higher), "not shown of anyone")
}

// alphaCell is alpha with its interval, where it has one.
func alphaCell(alpha traces.Estimate) grid.Cell {
	if math.IsNaN(alpha.Low) {
		return grid.Number(alpha.Value, 2)
	}
	return grid.Shown(alpha.Value, wording.Estimate(alpha.Value, alpha.Low, alpha.High, 2))
}

func (r *Results) agreedGrid() grid.Grid {
	g := grid.Grid{Name: "trace-agreement", Title: "Agreement on what was coded more than once: Krippendorff’s alpha over all looks at a trace, Cohen’s kappa of each pair weighted by squared distances of grades, and who gives the higher value.",
		Heads: grid.Heads("Trace", "Alpha#", "Observers", "Things#", "Same#", "Kappa#", "Second higher#", "Second lower#", "p#"), Empty: "Nothing was coded more than once, so that nothing is known of how far observers agree: have a share coded twice."}
	for _, a := range r.Traces.Agreement {
		for _, p := range a.Pairs {
			kappa := grid.Instead("")
			if p.Kappa != nil {
				kappa = grid.Shown(*p.Kappa, wording.Estimate(*p.Kappa, p.Low, p.High, 2))
			}
			g.Add(grid.Words(wording.Capital(r.Labels.Column(a.Trace))), alphaCell(a.Alpha), grid.Words(p.One+", "+p.Other), grid.Whole(p.Things), grid.Whole(p.Same), kappa, grid.Whole(p.Higher), grid.Whole(p.Lower), grid.Shown(p.P, wording.PValue(p.P)))
		}
	}
	return g
}

func (r *Results) gradeGrid() grid.Grid {
	g := grid.Grid{Name: "trace-grades", Title: "Where one look of a pair gave a value, how often the other gave it too.", Heads: grid.Heads("Trace", "Value", "Times given#", "Given by both#", "Otherwise most often")}
	for _, a := range r.Traces.Agreement {
		for _, l := range a.Grades {
			g.Add(grid.Words(wording.Capital(r.Labels.Column(a.Trace))), grid.Words(l.Level), grid.Whole(l.Given), grid.Shown(l.Both, wording.Percent(l.Both)), grid.Words(l.With))
		}
	}
	return g
}

func (r *Results) traceModelView(k int, m TraceModel) traceModelView {
	v := traceModelView{ID: fmt.Sprintf("trace-model-%d", k+1), Title: wording.Capital("“" + m.Name + "”"), About: wording.Sentence(m.About), Failed: wording.Typeset(wording.Sentence(m.Failed))}
	if m.Book != "" {
		v.Title += " in " + r.bookNameByID(m.Book)
	}
	if m.Fit == nil {
		return v
	}
	v.Facts = r.traceFacts(m)
	v.Notes = fitNotes(&m.Fit.Inferences)
	others := m.Fit.Inferences
	others.Adjusted = nil // shown as Means
	v.Inferences = InferenceTables("inference-of-"+v.ID, &others, r.Labels, m.Model.Levels)
	for _, a := range m.Allowed {
		v.Notes = append(v.Notes, wording.Typeset(a.Words))
	}
	ratio := "Odds ratio#"
	if m.Model.Kind == mixed.Counts {
		ratio = "Ratio of rates#"
	}
	v.Effects = grid.Grid{Name: fmt.Sprintf("trace-effects-%d", k+1), Title: "Effects on the scale of the link; each with its own 95 % interval.", Heads: grid.Heads("Effect", "Estimate#", "Standard error#", ratio, "t#", "p#")}
	for _, c := range m.Fit.Fixed {
		if c.Term == interceptTerm {
			continue
		}
		places := wording.Decimals(c.SE)
		v.Effects.Add(grid.Words(wording.Capital(r.Labels.Term(c.Term, m.Model.Levels))), grid.Shown(c.Estimate, wording.Estimate(c.Estimate, c.Low, c.High, places)), grid.Number(c.SE, places),
			ratioCell(c.Estimate, c.Low, c.High), grid.Number(c.T, 2), grid.Shown(c.P, wording.PValue(c.P)))
	}
	v.Means = grid.Grid{Name: fmt.Sprintf("trace-means-%d", k+1), Title: "What the model expects, averaged over the looks as they are otherwise and over books, pages and observers.", Heads: grid.Heads("Feature", "Value", "Expected#")}
	for _, a := range m.Fit.Adjusted {
		of, expected := a.Of, wording.PercentEstimate(a.Mean, a.Low, a.High)
		if m.Model.Kind == mixed.Counts {
			of, expected = "count", wording.EstimateByWidth(a.Mean, a.Low, a.High)
		}
		v.Means.Add(grid.Words(wording.Capital(r.Labels.Level(a.Column, a.Level))), grid.Words(of), grid.Shown(a.Mean, expected))
	}
	return v
}

// traceFacts say what was fitted to what.
func (r *Results) traceFacts(m TraceModel) string {
	kind := "A cumulative model of the grades"
	switch m.Model.Kind {
	case mixed.YesNo:
		kind = "A model of yes or no"
	case mixed.Counts:
		kind = "A " + m.Model.Spread + " model of the counts"
	}
	said := fmt.Sprintf("%s of %s by the %s link, over %s (log likelihood %s; %s).", kind, r.Labels.Column(m.Model.Outcome), m.Model.Link, wording.Count(m.Fit.N, "look", "looks"), wording.Fixed(m.Fit.LogLik, 3), m.Fit.Approximation)
	var between []string
	intervals := deviationsOf(&m.Fit.Inferences, mixed.GroupDeviation)
	for _, random := range m.Fit.Random {
		for k, term := range random.Terms {
			name := r.Labels.Groups(random.By)
			if term != interceptTerm {
				name = r.Labels.Term(term, m.Model.Levels) + " between " + name
			}
			within := ""
			if len(intervals) > 0 {
				within = " (" + noDeviation + ")"
				if i := intervals[0]; finite(i.Low) && finite(i.High) {
					within = " (" + wording.Interval(i.Low, i.High, 2) + ")"
				}
				intervals = intervals[1:]
			}
			between = append(between, fmt.Sprintf("%s %s%s", name, wording.Fixed(random.SD[k], 2), within))
		}
	}
	if len(between) > 0 {
		said += " Standard deviations on that scale, with 95 % intervals: " + wording.List(between) + "."
	}
	if len(m.Usual) > 0 {
		var usual []string
		for _, by := range m.Usual {
			usual = append(usual, r.Labels.Groups([]string{by}))
			if by == traces.ColumnObserver {
				usual = append(usual, "how each drifts along a book")
			}
		}
		said += " Of these, " + wording.List(usual) + " are added unless the study file names them."
	}
	said += r.daysUntold(m)
	if m.Again > 0 {
		said += fmt.Sprintf(" %s at things that another look of the model is at do not enter it: they tell how far observers agree.", wording.Capital(wording.Count(m.Again, "look", "looks")))
	}
	return wording.Typeset(said)
}

// daysUntold says of a model without a term of days why it has none; empty where it has
// one, and of a corpus, whose looks are not kept.
func (r *Results) daysUntold(m TraceModel) string {
	if slices.ContainsFunc(m.Model.Random, func(by mixed.Random) bool { return slices.Contains(by.By, traces.ColumnDay) }) || r.Traces.Looks == nil {
		return ""
	}
	days, observers, books, visits := map[[2]string]bool{}, map[string]bool{}, map[int]bool{}, map[[3]string]bool{}
	for _, look := range r.Traces.Looks.All {
		if look.Kept() && r.Traces.Coding[look.Trace].Name == m.Model.Outcome && (m.Book == "" || m.Book == r.Books[look.Book].Book.ID) {
			days[[2]string{look.Observer, look.Day}], observers[look.Observer], books[look.Book] = true, true, true
			visits[[3]string{r.Books[look.Book].Book.ID, look.Observer, look.Day}] = true
		}
	}
	switch {
	case len(days) == len(observers):
		return " Each observer looked on one day: a severity that differs from day to day is not to be told from that of observers."
	case len(days) == len(books) && len(days) == len(visits):
		return " Each book was looked at on a day of its own: a severity that differs from day to day is not to be told from what books differ by."
	}
	return fmt.Sprintf(" Whether an observer’s severity differs from day to day is not told from so few days (%s in all): it has no term.", wording.Count(len(days), "day of an observer", "days of observers"))
}

// touchedFinding tells what was seen of traces in one book: what is claimed of it, else
// which part is most often of the highest grade.
func (r *Results) touchedFinding(i int) *Finding {
	if !r.looked() || !slices.ContainsFunc(r.Traces.Looks.All, func(l traces.Look) bool { return l.Book == i && l.Kept() }) {
		return nil
	}
	id := r.Books[i].Book.ID
	f := &Finding{P: 1}
	if a := r.clearestTold(id); a != nil {
		t := a.Told
		f.Clear, f.P = true, a.Adjusted
		asked, against := often(t)
		f.Words = wording.Capital(t.Level) + ": " + asked
		f.Detail = fmt.Sprintf("%s; rest %s", t.Outcome+t.Per, against)
		f.Numbers = []Number{{Name: t.Level, Value: t.Asked.Mean, Low: t.Asked.Low, High: t.Asked.High}, {Name: t.Other, Value: t.Against.Mean, Low: t.Against.Low, High: t.Against.High}}
		return f
	}
	var most *traces.State
	for k := range r.Traces.States {
		s := &r.Traces.States[k]
		if s.Book == id && len(s.Shares) > 0 && s.There > 0 && (most == nil || top(s) > top(most)) {
			most = s
		}
	}
	if most == nil {
		sum := r.Traces.total(func(s traces.State) bool { return s.Book == id })
		f.Words, f.Detail = fmt.Sprintf("Traces on %d", sum.There), "of "+wording.Count(sum.Things-sum.NotLooked, "thing", "things")+" looked at"
		return f
	}
	last := most.Shares[len(most.Shares)-1]
	f.Words = wording.Capital(r.Labels.Column(most.Trace))
	if most.Part != "" {
		f.Words += " most on the " + most.Part
	}
	f.Detail = fmt.Sprintf("%s on %s of %d looked at", last.Level, wording.Percent(last.Share), most.There+most.Nothing)
	f.Numbers = []Number{{Name: "share of " + last.Level, Value: last.Share, Low: last.Least.Low, High: last.Least.High, Unit: "share"}}
	return f
}

func top(s *traces.State) float64 { return s.Shares[len(s.Shares)-1].Share }

// often are how often in a hundred looks something is there on either side; rates as they
// are.
func often(t *hypotheses.Told) (asked, against string) {
	if t.Rate {
		return wording.Fixed(t.Asked.Mean, 2), wording.Fixed(t.Against.Mean, 2)
	}
	return wording.Fixed(100*t.Asked.Mean, 0) + " in 100", wording.Fixed(100*t.Against.Mean, 0)
}

// clearestTold is the yes on traces of the least adjusted p in a book, or over all books
// where it names none; nil where there is no yes.
func (r *Results) clearestTold(book string) *hypotheses.Answer {
	var best *hypotheses.Answer
	for i := range r.Answers {
		a := &r.Answers[i]
		if a.Told != nil && a.Book == book && a.Verdict == hypotheses.Yes && (best == nil || a.Adjusted < best.Adjusted) {
			best = a
		}
	}
	return best
}

// touchedHeadline is the clearest claim on traces over all books in one sentence; empty
// where there is none.
func (r *Results) touchedHeadline() string {
	best := r.clearestTold("")
	if best == nil {
		return ""
	}
	t := best.Told
	asked, against := often(t)
	return fmt.Sprintf("Over all books, %s: %s %s, %s %s.", t.Outcome+t.Per, t.Level, asked, t.Other, against)
}

// ShowTraces shows what was seen of traces in books, without a study around it.
func ShowTraces(books []*codex.Book, t *TraceResults, labels wording.Labels) (Shown, error) {
	r := &Results{Traces: t, Labels: labels}
	for _, b := range books {
		r.Books = append(r.Books, BookResult{Book: b})
	}
	return shown(t.said(), nil, []grid.Grid{r.traceGrid(), r.codingGrid(), r.stateGrid(), r.agreedGrid(), r.gradeGrid()}, r.traceSketches()...)
}
