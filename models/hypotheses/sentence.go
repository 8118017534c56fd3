package hypotheses

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"thumbed/models/outcome"
	"thumbed/models/wording"
)

// sentence words the answer: verdict, what it rests on, effect with interval, and
// what the interval says to the question.
func (a *Answer) sentence() string {
	said := wording.Capital(a.Verdict) + ": "
	if a.Rests != nil {
		said += a.Rests.Sentence + " "
	}
	if a.Told != nil {
		said += a.Told.Words() + " " + a.toldMeaning()
	} else {
		said += a.effectSentence()
	}
	if a.Caution != "" {
		said += " " + a.Caution
	}
	if a.Rests != nil && a.Rests.Decided != "" {
		said += " " + a.Rests.Decided
	}
	if a.Question.Asked == "after" {
		said += " " + askedAfter
	}
	return said
}

// effectSentence tells the effect with its interval.
func (a *Answer) effectSentence() string {
	return fmt.Sprintf("%s effect of %s is %s (95 %% interval %s to %s%s). %s", article(a.Rests != nil), a.of(), a.amount(a.Effect.Estimate, true),
		a.amount(a.Effect.Low, false), a.amount(a.Effect.High, false), a.over(), a.meaning())
}

// askedAfter is the caution on a question that was asked when its data had been
// seen.
const askedAfter = "It was asked after the data were seen: a finding to test on other books, not a test."

func article(begins bool) string {
	if begins {
		return "The"
	}
	return "the"
}

// over says over how many answers an interval holds.
func (a *Answer) over() string {
	switch {
	case a.Together < 2:
		return ""
	case a.Rate:
		return fmt.Sprintf(", in a family of %d answers of which, on average, at most 5 %% of those told as yes or no have an interval that misses", a.Together)
	}
	return fmt.Sprintf(", holding for %d answers at once", a.Together)
}

// test words the statistic and the p-values.
func (a *Answer) test() string {
	of := ""
	if a.ByDesign {
		of = " (those of the design, since a variance came out as zero or near it)"
	}
	said := fmt.Sprintf("t = %s on %s degrees of freedom%s; %s %s", signed(a.Effect.T, 2), degrees(a.Effect.DF), of, a.sides(), probability(a.P))
	if a.Together > 1 {
		way := "two-sided and adjusted over %d answers %s"
		if a.Rate {
			way = "two-sided and adjusted for the rate of false discoveries over the %d answers of its family %s"
		}
		said += ", " + fmt.Sprintf(way, a.Together, probability(a.Adjusted))
	}
	if a.Told != nil {
		said += "; " + a.ratioWords()
	}
	if a.Verdict == No && a.AgainstAdjusted != nil {
		said += "; against " + a.bar() + " " + probability(*a.AgainstAdjusted)
	}
	return said + "."
}

func (a *Answer) sides() string {
	if a.Question.direction() == either {
		return "two-sided"
	}
	return "one-sided"
}

// bar names what Against tests against.
func (a *Answer) bar() string {
	if a.Question.Smallest == 0 {
		return "any effect in the asked direction"
	}
	return "an effect that would matter"
}

// meaning says what the interval tells about the question asked.
func (a *Answer) meaning() string {
	switch a.Verdict {
	case Yes:
		return a.yes()
	case No:
		return a.no()
	}
	return a.open()
}

func (a *Answer) yes() string {
	said := fmt.Sprintf("It goes with %s %s", a.way(), a.outcome())
	switch {
	case a.Question.Smallest == 0:
		return said + "."
	case a.beyond(a.Question.Smallest):
		return said + fmt.Sprintf(", and all of the interval lies beyond %s, the smallest effect that would matter.", a.smallest())
	}
	return said + fmt.Sprintf("; whether by as much as %s, the smallest effect that would matter, stays open.", a.smallest())
}

func (a *Answer) no() string {
	s := a.Question.Smallest
	switch {
	case s > 0 && a.beyond(0):
		return fmt.Sprintf("There is an effect, but all of the interval lies short of %s, the smallest that would matter.", a.smallest())
	case a.Question.direction() == either:
		return fmt.Sprintf("Any effect, one way or the other, is smaller than %s, the smallest that would matter.", a.smallest())
	case a.Question.direction() == more && a.Effect.High < 0:
		return fmt.Sprintf("All of the interval lies on the other side: it goes with less %s, not more.", a.outcome())
	case a.Question.direction() == less && a.Effect.Low > 0:
		return fmt.Sprintf("All of the interval lies on the other side: it goes with more %s, not less.", a.outcome())
	}
	return fmt.Sprintf("An effect in the asked direction as large as %s, the smallest that would matter, is ruled out.", a.smallest())
}

func (a *Answer) open() string {
	alone := *a
	alone.Effect.Low, alone.Effect.High = a.Interval(level)
	switch {
	case a.Caution != "":
		return "The interval would bear a no."
	case alone.beyond(0) && !a.beyond(0):
		return fmt.Sprintf("Taken alone it is distinguishable from none, but among %d answers one such may come by chance.", a.Together)
	case alone.shortOfMattering() && a.Question.Smallest > 0 && a.Against != nil:
		return fmt.Sprintf("Taken alone it would be too small to matter, but among %d answers one such may come by chance.", a.Together)
	case a.P <= level && a.Together == 1:
		return "The one-sided test alone would pass, but the 95 % interval takes in zero, and no more is claimed than it bears."
	case a.Question.Smallest > 0:
		return fmt.Sprintf("The readings neither distinguish it from none nor rule out one of %s, the smallest that would matter; more pages or placings may.", a.smallest())
	}
	return "The readings do not distinguish it from none. That does not show that there is none: to ask that, state the smallest effect that would matter."
}

// way is the estimate's direction in words.
func (a *Answer) way() string {
	if a.Effect.Estimate < 0 {
		return less
	}
	return more
}

// outcome is what the effect is an effect on, wear where In has not told.
func (a *Answer) outcome() string {
	if a.Outcome == "" {
		return outcome.Wear
	}
	return a.Outcome
}

// smallest words the smallest effect that would matter, in the asked direction.
func (a *Answer) smallest() string {
	s := a.Question.Smallest
	if a.Question.direction() == less {
		s = -s
	}
	if a.Factor() {
		return "a factor of " + plain(math.Exp(s))
	}
	return strings.TrimSpace(plain(s) + " " + a.Unit)
}

// amount writes a size of the effect, rounded to what its standard error bears
// (two digits of it: JCGM 100:2008, 7.2.6).
func (a *Answer) amount(v float64, unit bool) string {
	if a.Factor() {
		factor := signed(math.Exp(v), decimals(a.Effect.SE*math.Exp(a.Effect.Estimate)))
		if unit {
			return "a factor of " + factor
		}
		return factor
	}
	said := signed(v, decimals(a.Effect.SE))
	if unit && a.Unit != "" {
		said += " " + a.Unit
	}
	return said
}

// decimals is the number of decimals that shows an uncertainty with two digits.
func decimals(uncertainty float64) int {
	return min(6, max(0, 1-int(math.Floor(math.Log10(uncertainty)))))
}

// signed writes v with so many decimals, a true minus sign and no negative zero.
func signed(v float64, decimals int) string {
	said := strconv.FormatFloat(v, 'f', decimals, 64)
	if digits, negative := strings.CutPrefix(said, "-"); negative {
		if strings.Trim(digits, "0.") == "" {
			return digits
		}
		return "−" + digits
	}
	return said
}

// plain writes v as the scholar wrote it.
func plain(v float64) string {
	return strings.Replace(strconv.FormatFloat(v, 'g', 4, 64), "-", "−", 1)
}

// number writes a value in a message, as it would be typed.
func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func degrees(df float64) string {
	if math.IsInf(df, 1) {
		return "unlimited"
	}
	return signed(df, 1)
}

func probability(p float64) string {
	switch {
	case p < 0.0001:
		return "p < 0.0001"
	case p < 0.001:
		return "p = " + signed(p, 4)
	case p > 0.99:
		return "p > 0.99"
	case p < 0.1:
		return "p = " + signed(p, 3)
	}
	return "p = " + signed(p, 2)
}

// Text writes answers for reading, each under its question.
func Text(w io.Writer, answers []Answer) error {
	var b strings.Builder
	for _, a := range answers {
		b.WriteString(a.Question.Words)
		if a.Book != "" {
			fmt.Fprintf(&b, " (book %s)", a.Book)
		}
		fmt.Fprintf(&b, "\n  %s\n  %s\n", a.Sentence, a.Test)
		if said := a.When(); said != "" {
			fmt.Fprintf(&b, "  %s.\n", wording.Capital(said))
		}
		for _, again := range a.Again() {
			fmt.Fprintf(&b, "  %s\n", again)
		}
	}
	if len(answers) > 0 {
		b.WriteString("Wear is evidence of handling, not of belief.\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}
