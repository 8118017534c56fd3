package report

import (
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/hypotheses"
)

func (r *Results) sentenceSheet() sheet {
	m := newSheet("sentences", "The answers in words", r.Sentences())
	m.label("topic", "question, read, pictures, stopped or sure", func(s Sentence) string { return string(s.Topic) })
	m.label("book", "the book's id; empty for the whole study", func(s Sentence) string { return s.Book })
	m.label("text", "the sentence", func(s Sentence) string { return s.Text })
	return m.sheet()
}

func (r *Results) answerSheet() sheet {
	m := newSheet("answers", "The questions asked and their answers", r.Answers)
	m.label("question", "in the scholar's words", func(a hypotheses.Answer) string { return a.Question.Words })
	m.label("model", "the model asked", func(a hypotheses.Answer) string { return a.Question.Model })
	m.label("book", "set where the model is fitted book by book", func(a hypotheses.Answer) string { return a.Book })
	m.label("contrast", "weights of the fixed effects", func(a hypotheses.Answer) string { return contrastText(a.Question.Contrast) })
	m.label("direction", "more, less or either", func(a hypotheses.Answer) string { return a.Question.Direction })
	m.number("smallest", "smallest effect that would matter; 0: not stated", func(a hypotheses.Answer) float64 { return a.Question.Smallest })
	m.label("asked", "before or after seeing the data", func(a hypotheses.Answer) string { return a.Question.Asked })
	m.label("family", "questions adjusted together", func(a hypotheses.Answer) string { return a.Question.Family })
	m.number("estimate", "the effect, in the outcome's unit", func(a hypotheses.Answer) float64 { return a.Effect.Estimate })
	m.number("se", "its standard error", func(a hypotheses.Answer) float64 { return a.Effect.SE })
	m.number("df", "its degrees of freedom", func(a hypotheses.Answer) float64 { return a.Effect.DF })
	m.number("t", "estimate over standard error", func(a hypotheses.Answer) float64 { return a.Effect.T })
	m.number("p", "p-value in the asked direction, alone", func(a hypotheses.Answer) float64 { return a.P })
	m.number("p_adjusted", "error rate over the answers adjusted together at which the interval would just leave out zero in the asked direction", func(a hypotheses.Answer) float64 { return a.Adjusted })
	m.number("against", "p-value against an effect as large as would matter", func(a hypotheses.Answer) float64 { return orNaN(a.Against) })
	m.number("against_adjusted", "error rate over the answers adjusted together at which the interval would just lie short of what would matter", func(a hypotheses.Answer) float64 { return orNaN(a.AgainstAdjusted) })
	m.label("adjustment", "what is held at 5 %: any false claim, or false discovery (Benjamini and Hochberg 1995)", func(a hypotheses.Answer) string {
		if a.Rate {
			return "false discovery"
		}
		return "any false claim"
	})
	m.number("level", "chance that the interval of this answer alone misses", func(a hypotheses.Answer) float64 { return a.Level })
	m.label("correlation", "of the estimate with those of the other answers of the same fit, as a JSON object by their questions", func(a hypotheses.Answer) string {
		if len(a.Correlation) == 0 {
			return ""
		}
		text, err := json.Marshal(a.Correlation)
		if err != nil {
			return ""
		}
		return string(text)
	})
	rests := func(of func(r *hypotheses.Rests) int) func(hypotheses.Answer) float64 {
		return func(a hypotheses.Answer) float64 {
			if a.Rests == nil {
				return math.NaN()
			}
			return float64(of(a.Rests))
		}
	}
	m.number("pages", "pages that the answer rests on", rests(func(r *hypotheses.Rests) int { return r.Pages }))
	m.number("bounds", "of them known only to a bound", rests(func(r *hypotheses.Rests) int { return r.Bounds }))
	m.number("fallen_out", "pages that are not in the model, measured or not", rests(func(r *hypotheses.Rests) int {
		n := 0
		for _, f := range r.Out {
			n += f.Pages
		}
		return n
	}))
	m.label("added", "groups added to the model for this question", func(a hypotheses.Answer) string {
		if a.Rests == nil {
			return ""
		}
		return strings.Join(a.Rests.Added, "; ")
	})
	m.number("p_shifted", "p with the feature pushed round inside the books; empty where not asked for", func(a hypotheses.Answer) float64 {
		if a.CircularShift == nil {
			return math.NaN()
		}
		return a.CircularShift.P
	})
	bootstrap := func(of func(b *hypotheses.Bootstrapped) float64) func(hypotheses.Answer) float64 {
		return func(a hypotheses.Answer) float64 {
			if a.Bootstrapped == nil {
				return math.NaN()
			}
			return of(a.Bootstrapped)
		}
	}
	m.number("p_bootstrap", "p in the asked direction by bootstrap; empty where not asked for", bootstrap(func(b *hypotheses.Bootstrapped) float64 { return b.P }))
	m.number("low_bootstrap", "lower end of the interval by bootstrap", bootstrap(func(b *hypotheses.Bootstrapped) float64 { return b.Low }))
	m.number("high_bootstrap", "upper end of the interval by bootstrap", bootstrap(func(b *hypotheses.Bootstrapped) float64 { return b.High }))
	m.count("together", "answers adjusted together", func(a hypotheses.Answer) int { return a.Together })
	m.number("low", "lower end of the 95 % interval, which holds with those of all answers adjusted together", func(a hypotheses.Answer) float64 { return a.Effect.Low })
	m.number("high", "upper end of that interval", func(a hypotheses.Answer) float64 { return a.Effect.High })
	m.label("verdict", "yes, no or open", func(a hypotheses.Answer) string { return a.Verdict })
	m.label("foreseen", "yes where the question was sealed before the readings and is unchanged; empty where nothing was sealed", func(a hypotheses.Answer) string {
		switch {
		case a.Preregistration == nil:
			return ""
		case a.Preregistration.Preregistered:
			return "yes"
		}
		return "no"
	})
	m.label("sentence", "the answer in words", func(a hypotheses.Answer) string { return a.Sentence })
	return m.sheet()
}

// contrastText writes a contrast with its terms in order of name:
// "1 × picture=yes".
func contrastText(weights map[string]float64) string {
	var parts []string
	for _, term := range slices.Sorted(maps.Keys(weights)) {
		parts = append(parts, fmt.Sprintf("%s × %s", strconv.FormatFloat(weights[term], 'g', -1, 64), term))
	}
	return strings.Join(parts, " + ")
}

func (r *Results) modelSheet() sheet {
	m := newSheet("models", "The models fitted", r.Models)
	m.label("model", "its name", func(m ModelResult) string { return m.Name })
	m.label("book", "set where it is fitted book by book", func(m ModelResult) string { return m.Book })
	m.label("about", "what it is for", func(m ModelResult) string { return m.About })
	m.label("outcome", "the column explained", func(m ModelResult) string { return m.Model.Outcome })
	m.number("n", "rows used", fitted(func(m ModelResult) float64 { return float64(m.Fit.N) }))
	m.number("loglik", "log likelihood, restricted where so estimated", fitted(func(m ModelResult) float64 { return m.Fit.LogLik }))
	m.number("criterion", "−2 log likelihood", fitted(func(m ModelResult) float64 { return m.Fit.MinusTwiceLogLik }))
	m.label("converged", "whether the search ended at a maximum", func(m ModelResult) string {
		switch {
		case m.Fit == nil:
			return ""
		case m.Fit.Converged:
			return "yes"
		}
		return "no"
	})
	m.label("boundary", "random terms estimated at the edge of what is possible", func(m ModelResult) string {
		if m.Fit == nil {
			return ""
		}
		return strings.Join(m.Fit.Boundary, "; ")
	})
	m.number("residual_sd", "residual standard deviation", fitted(func(m ModelResult) float64 { return m.Fit.Residual.SD }))
	m.number("rho", "residual autocorrelation of neighbours", fitted(func(m ModelResult) float64 { return m.Fit.Residual.Rho }))
	m.label("failed", "why it could not be fitted; empty where it could", func(m ModelResult) string { return m.Failed })
	return m.sheet()
}

func (r *Results) fixedSheet() sheet {
	m := newSheet("fixed_effects", "Fixed effects", r.fixedRows())
	m.label("model", "the model's name", func(f fixedRow) string { return f.model.Name })
	m.label("book", "set where it is fitted book by book", func(f fixedRow) string { return f.model.Book })
	m.label("term", "the effect", func(f fixedRow) string { return f.Term })
	m.number("estimate", "in the outcome's unit", func(f fixedRow) float64 { return f.Estimate })
	m.number("se", "standard error", func(f fixedRow) float64 { return f.SE })
	m.number("df", "degrees of freedom, by the fit's method", func(f fixedRow) float64 { return f.DF })
	m.number("t", "estimate over standard error", func(f fixedRow) float64 { return f.T })
	m.number("p", "two-sided p-value", func(f fixedRow) float64 { return f.P })
	m.number("low", "lower end of the 95 % interval", func(f fixedRow) float64 { return f.Low })
	m.number("high", "upper end of the 95 % interval", func(f fixedRow) float64 { return f.High })
	return m.sheet()
}

func (r *Results) randomSheet() sheet {
	m := newSheet("random_effects", "Random effects and residuals", r.randomRows())
	m.label("model", "the model's name", func(f randomRow) string { return f.model.Name })
	m.label("book", "set where it is fitted book by book", func(f randomRow) string { return f.model.Book })
	m.label("by", "the groups; row for the residual", func(f randomRow) string { return f.by })
	m.label("term", "what varies between them", func(f randomRow) string { return f.term })
	m.number("sd", "standard deviation between groups", func(f randomRow) float64 { return f.sd })
	m.count("groups", "number of groups", func(f randomRow) int { return f.groups })
	m.label("with", "the other term of a correlation", func(f randomRow) string { return f.with })
	m.number("correlation", "between the two terms", func(f randomRow) float64 { return f.correlation })
	return m.sheet()
}

func orNaN(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}

// fitted gives a value of the fit, missing where the model failed.
func fitted(value func(ModelResult) float64) func(ModelResult) float64 {
	return func(m ModelResult) float64 {
		if m.Fit == nil {
			return math.NaN()
		}
		return value(m)
	}
}
