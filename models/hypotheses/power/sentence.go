package power

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/outcome"
	"thumbed/models/wording"
)

// sentences say what the plan comes to, the choice first.
func (r *Result) sentences() []string {
	out := r.choice()
	if said := r.undecided(); said != "" {
		out = append(out, said)
	}
	out = append(out, r.strongest())
	if said := r.uncertain(); said != "" {
		out = append(out, said)
	}
	out = append(out, r.check())
	if said := r.absence(); said != "" {
		out = append(out, said)
	}
	return out
}

// choice names the design of least cost that reaches the aim, then what it takes.
func (r *Result) choice() []string {
	if r.Aim.Power == 0 && r.Aim.Width == 0 {
		return []string{"No aim is stated, so that no design is chosen: state one under [aim], such as power = 0.8."}
	}
	if r.Best < 0 {
		if slices.ContainsFunc(r.Designs, func(t Tried) bool { return t.Reaches == Perhaps }) {
			return []string{fmt.Sprintf("No design is sure to reach the aim (%s).", r.aim())}
		}
		return []string{fmt.Sprintf("None of the designs tried reaches the aim (%s).", r.aim()),
			fmt.Sprintf("Try more books before more pages%s, or ask for a larger effect.", map[bool]string{false: ", and more pages before more placings"}[r.Looks])}
	}
	t := &r.Designs[r.Best]
	touches, work := r.takes()
	return []string{t.words() + " reach the aim (" + r.aim() + ").",
		fmt.Sprintf("Of the designs that do, this one asks least of the books: %s %s and %s turns to an opening, about %s hours of %s on %s. It claims %s in %s of campaigns.",
			whole(t.Placings), touches, whole(t.Turns), whole(math.Ceil(t.Hours)), work, wording.Plain(int(t.Days), "day", "days"), r.Planned("an effect", r.Effect), t.Power.words())}
}

// takes is what a campaign takes of the books, and what that work is called.
func (r *Result) takes() (touches, work string) {
	if r.Looks {
		return "looks", "looking"
	}
	return "placings on pages and zeros", "measuring"
}

// aim words the aim.
func (r *Result) aim() string {
	var parts []string
	if r.Aim.Power > 0 {
		parts = append(parts, "a power of "+percent(r.Aim.Power))
	}
	if r.Aim.Width > 0 {
		parts = append(parts, fmt.Sprintf("an interval no wider than %s in nine campaigns of ten", r.width(r.Aim.Width)))
	}
	return strings.Join(parts, " and ")
}

// undecided names cheaper designs that may reach the aim too.
func (r *Result) undecided() string {
	var names []string
	for k := range r.Designs {
		t := &r.Designs[k]
		if t.Reaches == Perhaps && (r.Best < 0 || dearer(&r.Designs[r.Best], t)) {
			names = append(names, fmt.Sprintf("%s (%s)", t.words(), t.Power.words()))
		}
	}
	if len(names) == 0 {
		return ""
	}
	return fmt.Sprintf("%d campaigns of each design do not tell whether the aim is reached by %s: give more replicates to know.", r.Replicates, wording.List(names))
}

// strongest names the design of greatest power, where it is not the chosen one.
func (r *Result) strongest() string {
	best := 0
	for k := range r.Designs {
		if r.Designs[k].Power.Value > r.Designs[best].Power.Value {
			best = k
		}
	}
	t := &r.Designs[best]
	interval := "its interval"
	switch r.Widths {
	case asShare:
		interval = "the interval of the share asked about"
	case asRate:
		interval = "the interval of the rate asked about"
	}
	return fmt.Sprintf("The greatest power found is %s, with %s; %s is %s wide on average, and in nine campaigns of ten no wider than %s.",
		t.Power.words(), t.words(), interval, r.width(t.Width), r.width(t.WidthNinety))
}

// told is the design that sentences on one design speak of: the chosen one, else
// that of the greatest power.
func (r *Result) told() *Tried {
	best := max(r.Best, 0)
	for k := range r.Designs {
		if r.Best < 0 && r.Designs[k].Power.Value > r.Designs[best].Power.Value {
			best = k
		}
	}
	return &r.Designs[best]
}

// uncertain tells what the pilot leaves open.
func (r *Result) uncertain() string {
	t := r.told()
	if t.Band == nil {
		return ""
	}
	said := fmt.Sprintf("The pilot does not know its spreads well: within what it allows for them the power of %s lies between %s and %s in eight cases of ten; the share told is their average.",
		t.words(), percent(t.Band.Low), percent(t.Band.High))
	if t.Matters != "" {
		said += fmt.Sprintf(" Most hangs on the %s: what measures that better makes the plan surer.", t.Matters)
	}
	return said
}

// oddity is the chance with which any of the designs is said to miss the error
// rate though none does (Bonferroni over the designs).
const oddity = 0.05

// check tells whether the test keeps its error rate where there is no effect, by
// the binomial distribution of false claims.
func (r *Result) check() string {
	how := "either way"
	if r.directed() {
		how = "in the asked direction"
	}
	nominal := r.told().nominal(r)
	var loose, cautious []string
	for k := range r.Designs {
		t := &r.Designs[k]
		chance := distuv.Binomial{N: float64(t.Campaigns), P: t.nominal(r)}
		wrong := math.Round(t.False.Value * float64(t.Campaigns))
		surely := oddity / float64(len(r.Designs))
		switch {
		case 1-chance.CDF(wrong-1) < surely:
			loose = append(loose, fmt.Sprintf("%s (%s)", t.words(), t.False.words()))
		case chance.CDF(wrong) < surely:
			cautious = append(cautious, t.words())
		}
	}
	head := fmt.Sprintf("Where there is no effect, a claim %s should come by chance in %s of campaigns.", how, percent(nominal))
	switch {
	case len(loose) > 0:
		return head + fmt.Sprintf(" It comes more often with %s: do not trust the claims of such a design at their face value.", wording.List(loose))
	case len(cautious) > 0:
		return head + fmt.Sprintf(" It comes more rarely with %s, where the model leaves room for more variation than there is; with all others as often as chance allows.", wording.List(cautious))
	}
	return head + " So it does with all designs, within the error of so many draws."
}

// nominal is the error rate of the design's own claims in the asked direction.
func (t *Tried) nominal(r *Result) float64 {
	rate := r.Level
	if t.Together > 0 {
		rate = t.Alone
	}
	if r.directed() {
		rate /= 2
	}
	return rate
}

// absence tells how often an effect that would matter could be ruled out.
func (r *Result) absence() string {
	if r.Question.Smallest == 0 {
		return ""
	}
	best := 0
	for k := range r.Designs {
		if r.Designs[k].Absent.Value > r.Designs[best].Absent.Value {
			best = k
		}
	}
	t := &r.Designs[best]
	matters := "one as large as would matter (" + r.amount(r.Question.Smallest) + ")"
	if r.Looks {
		matters = "the smallest difference that would matter"
	}
	return fmt.Sprintf("If there is no effect, %s is ruled out in at most %s of campaigns, with %s.", matters, t.Absent.words(), t.words())
}

// Planned is the effect that is planned for: of traces as the difference of probabilities or
// rates that it comes to, where the question states one.
func (r *Result) Planned(effect string, v float64) string {
	switch smallest := r.Question.Smallest; {
	case !r.Looks || smallest == 0:
		return effect + " of " + r.amount(v)
	case r.Unit == outcome.Logarithm:
		return fmt.Sprintf("a difference of %g in the rate", smallest)
	default:
		return fmt.Sprintf("a difference of %g in a hundred", math.Round(1000*smallest)/10)
	}
}

func (r *Result) directed() bool {
	return r.Question.Direction == "more" || r.Question.Direction == "less"
}

// notes say what stands behind the numbers.
func (r *Result) notes() []string {
	notes := r.family()
	notes = append(notes, fmt.Sprintf("%d campaigns of each design were drawn twice from the same random numbers (seed %d), with the effect and without, and each went through the model and the question as a real one would. Intervals of shares are Wilson’s, 95 %%.", r.Replicates, r.Seed))
	notes = append(notes, r.silence()...)
	notes = append(notes, r.shortage()...)
	if k := slices.IndexFunc(r.Designs, func(t Tried) bool { return t.Boundary.Low > 0.1 }); k >= 0 {
		t := &r.Designs[k]
		notes = append(notes, fmt.Sprintf("A variance comes out as zero, or a correlation as ±1, in %s of campaigns with %s. Such a campaign still answers, but cannot tell that part of the variation: plan with more groups, or with a simpler model.", t.Boundary.words(), t.words()))
	}
	return append(notes, "Power is for the effect stated, not for the one found in a pilot: a pilot’s own estimate is too uncertain to plan by, and power worked out from it says nothing that its p-value does not (Hoenig and Heisey 2001, The American Statistician 55, 19–24).")
}

// family tells with how many others the answer's interval holds at once.
func (r *Result) family() []string {
	t := r.told()
	switch {
	case t.Together == 0:
		return []string{"The question is planned for alone. Where a study asks several, the interval of each is wider, and the power less: name the study under [pilot], and none of its models, to plan for all that it asks."}
	case t.Together == 1:
		return nil
	}
	return []string{fmt.Sprintf("Claims are read as the study reads them: the intervals of %d answers hold at once at %s, so that this one’s alone holds at %s, with %s.",
		t.Together, percent(1-r.Level), percent(1-t.Alone), t.words())}
}

// silence tells which campaigns gave no answer, and why: a note for each reason.
func (r *Result) silence() []string {
	silent := map[string][]string{}
	var reasons []string
	for k := range r.Designs {
		t := &r.Designs[k]
		if t.Failed == 0 {
			continue
		}
		if silent[t.Why] == nil {
			reasons = append(reasons, t.Why)
		}
		silent[t.Why] = append(silent[t.Why], fmt.Sprintf("%d of %d with %s", t.Failed, t.Campaigns, t.words()))
	}
	var notes []string
	for _, why := range reasons {
		notes = append(notes, fmt.Sprintf("Campaigns that gave no answer count as claiming nothing: %s. The reason met most often: %s.", wording.List(silent[why]), strings.TrimSuffix(why, ".")))
	}
	return notes
}

// shortage tells where the books have fewer pages than a design asks for.
func (r *Result) shortage() []string {
	var notes []string
	told := map[[2]int]bool{}
	for k := range r.Designs {
		t := &r.Designs[k]
		if at := [2]int{t.Books, t.Pages}; t.PagesMean < 0.999*float64(t.Books*t.Pages) && !told[at] {
			told[at] = true
			notes = append(notes, fmt.Sprintf("Not all books have %s to measure: %s of %s come to %s on average.",
				wording.Plain(t.Pages, "page", "pages"), wording.Plain(t.Books, "book", "books"), wording.Plain(t.Pages, "page", "pages"), whole(t.PagesMean)))
		}
	}
	return notes
}

// words name a design.
func (t *Tried) words() string {
	books := fmt.Sprintf("%s of %s", wording.Plain(t.Books, "book", "books"), wording.Plain(t.Pages, "page", "pages"))
	if t.looks {
		return books
	}
	return fmt.Sprintf("%s with %s a page", books, wording.Plain(t.Design.Placings, "placing", "placings"))
}

// words write a share with its interval, in whole per cent, or tenths where it
// is small.
func (s Share) words() string {
	return fmt.Sprintf("%s (%s to %s)", percent(s.Value), strings.TrimSuffix(percent(s.Low), " %"), percent(s.High))
}

func percent(share float64) string {
	digits := 0
	if share < 0.1 || share > 0.99 && share < 1 {
		digits = 1
	}
	return strings.TrimSuffix(strconv.FormatFloat(100*share, 'f', digits, 64), ".0") + " %"
}

// amount writes a size of the effect in its unit, with three digits.
func (r *Result) amount(v float64) string {
	said := strings.Replace(strconv.FormatFloat(v, 'g', 3, 64), "-", "−", 1)
	if r.Unit == outcome.Logarithm {
		return said + " on the " + r.Unit
	}
	return said + " " + r.Unit
}

// width is the width of an interval in words.
func (r *Result) width(v float64) string {
	switch r.Widths {
	case asShare:
		return whole(100*v) + " in a hundred"
	case asRate:
		return strconv.FormatFloat(v, 'g', 3, 64)
	}
	return r.amount(v)
}

func whole(v float64) string { return strconv.FormatFloat(math.Round(v), 'f', 0, 64) }

// Text writes the result for reading: the sentences, a table of the designs, the
// notes.
func (r *Result) Text(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n", r.Question.Words)
	for _, s := range r.Sentences {
		fmt.Fprintf(&b, "%s\n", s)
	}
	b.WriteByte('\n')
	rows := tabwriter.NewWriter(&b, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(rows, "books\tpages\tplacings\tpower\tfalse claims\twidth\tnine of ten\ttouches\thours\taim\t")
	for _, t := range r.Designs {
		fmt.Fprintf(rows, "%d\t%d\t%d\t%s\t%s\t%.3g\t%.3g\t%s\t%.1f\t%s\t\n", t.Books, t.Pages, t.Design.Placings, t.Power.words(), percent(t.False.Value), t.Width, t.WidthNinety, whole(t.Placings), t.Hours, t.Reaches)
	}
	rows.Flush()
	for _, note := range r.Notes {
		fmt.Fprintf(&b, "\nNote. %s\n", note)
	}
	_, err := io.WriteString(w, b.String())
	return err
}
