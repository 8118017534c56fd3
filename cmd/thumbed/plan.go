package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/study/plan"
	"thumbed/models/study/portion"
)

func init() {
	register(newPlanCommand)
	registerGatherer(plan.Verb, gatherPlan)
	registerDivider(plan.Verb, dividePlan)
}

const planLong = `Says how many books, pages and placings a question needs. Campaigns of each design
are drawn by chance from what a pilot tells, or from what you assume, and each goes
through the model and the question as a real one would. Told are the power (the
share of campaigns that claim the effect), the width of the interval, how often the
test claims what is not there, and what the campaign asks of the books.

Name a study, its study.toml or its folder, to plan for all that it asks: models,
questions, families and books are its own, spreads are what its readings allow, and
claims are read as its answers are, all of them together. Around as many books and
pages as were measured, with one placing and three. Questions on traces are planned for
by their looks: campaigns are drawn from the fitted model, with the books, pages, parts
and observers that the study has.

A plan file says more. Without model under [pilot] it plans for all that the study
asks too, with the designs that it names. With a study that was measured already as the pilot:

  title = "A second campaign"
  [pilot]
  study   = "../pilot"             # study.toml or its folder
  model   = "pictures"             # spreads, books and readings are taken from it
  spreads = "averaged"             # over what the pilot allows; or "as estimated", or "cautious": the upper end
  [question]
  words  = "Do pictures attract handling?"   # one of the pilot's, or with contrast, direction, smallest
  effect = 0.05                    # that the power is for; usual: the smallest that would matter
  [designs]                        # every number with every other
  books      = [4, 8, 12]
  pages      = [40, 80]            # of each book
  placings   = [1, 3]              # on each page
  replicates = 400                 # campaigns drawn of each design
  [aim]
  power = 0.8                      # a design is chosen by power, by width, or by both
  width = 0.08                     # of the interval, in nine campaigns of ten

Without a pilot, in place of [pilot]:

  [model]                          # as a model is written anywhere
  outcome = "wear"
  fixed   = ["picture"]
  [model.levels]
  picture = ["no", "yes"]
  [[model.random]]
  by    = "book"
  terms = ["intercept", "picture"]
  [assumed]                        # standard deviations, density
  page = 0.08                      # between single pages
  [[assumed.random]]               # one for each random term of the model
  sd = { intercept = 0.06, "picture=yes" = 0.03 }
  [layout]                         # of every book
  leaves   = 120
  pictures = 0.1                   # share of its pages; or texts as [[section]]
  [measuring]
  on_page = 0.011                  # of one placing

The folder plan beside the file, or the one that --out names, then holds a page with
charts (index.html), figures, the table of designs and all numbers. A section [sheet]
of the same file is for thumbed sheet, which makes the order of placings.`

const planExample = `  Plan, and look at plan/index.html:
    thumbed plan second.toml

  Plan for all questions of a study:
    thumbed plan pilot/study.toml

  Share the work out among two machines, and put it together:
    thumbed plan second.toml --part 1/2
    thumbed plan second.toml --part 2/2
    thumbed gather parts`

type planOptions struct {
	out  string
	json bool
}

func newPlanCommand() *cobra.Command {
	var asJSON bool
	cmd := withParts(&cobra.Command{
		Use:     "plan PLAN.toml|STUDY [--out DIR] [--json] [--part K/N]",
		Short:   "Plan a campaign: how many books, pages and placings a question needs",
		Long:    planLong,
		Example: planExample,
		Args:    exactly("PLAN.toml, a plan file, or STUDY, a study whose questions are planned for"),
	}, "`DIR` for what comes of it (default: plan, beside the plan file)", func(cmd *cobra.Command, path, out string) error {
		return runPlan(cmd, path, planOptions{out, asJSON})
	}, partOfPlan)
	cmd.Flags().BoolVar(&asJSON, "json", false, "print all numbers as one JSON object; a folder is written only where --out names it")
	return cmd
}

// openPlan reads a plan with all that it names.
func openPlan(stderr io.Writer, path string) (p *plan.Plan, err error) {
	during(stderr, "reading the plan and its pilot", func() { p, err = plan.Open(path) })
	return p, err
}

func runPlan(cmd *cobra.Command, path string, o planOptions) error {
	if plan.Names(path) {
		return runPlans(cmd, path, o)
	}
	p, err := openPlan(cmd.ErrOrStderr(), path)
	if err != nil {
		return err
	}
	return finishPlan(cmd, p, o, func(progress study.Progress) (*report.Plan, error) { return p.Try(context.Background(), progress) })
}

// openPlans reads a study with all that its questions' plans need.
func openPlans(stderr io.Writer, path string) (all *plan.Several, err error) {
	during(stderr, "reading the study", func() { all, err = plan.OpenSeveral(path) })
	return all, err
}

// runPlans plans for all questions of a study.
func runPlans(cmd *cobra.Command, path string, o planOptions) error {
	all, err := openPlans(cmd.ErrOrStderr(), path)
	if err != nil {
		return err
	}
	return finishPlans(cmd, all, o, func(progress study.Progress) (*report.Plans, error) { return all.Try(context.Background(), progress) })
}

// finishPlans tries all plans, writes what comes of them and says it.
func finishPlans(cmd *cobra.Command, all *plan.Several, o planOptions, try func(study.Progress) (*report.Plans, error)) error {
	return finishTried(cmd, all.Path, o, tried[*report.Plans]{try, "writing the pages", all.Write, tellPlans})
}

// finishPlan tries the plan, writes what comes of it and says it.
func finishPlan(cmd *cobra.Command, p *plan.Plan, o planOptions, try func(study.Progress) (*report.Plan, error)) error {
	return finishTried(cmd, p.Path, o, tried[*report.Plan]{try, "writing the page", p.Write, tellDesigns})
}

// A tried is what is done with a plan, or with those of all questions of a study.
type tried[R interface{ JSON() ([]byte, error) }] struct {
	try   func(study.Progress) (R, error)
	doing string // what is said while it is written
	write func(result R, dir string) error
	tell  func(out io.Writer, result R, page string) error
}

// finishTried tries what path names, writes what comes of it and says it.
func finishTried[R interface{ JSON() ([]byte, error) }](cmd *cobra.Command, path string, o planOptions, t tried[R]) error {
	dir := o.out
	if dir == "" && !o.json {
		dir = filepath.Join(folderOf(path), "plan")
	}
	if dir != "" {
		if err := study.CheckFolder(dir); err != nil {
			return err
		}
	}
	stop, release := stopped()
	defer release()
	result, err := runUnless(stop, cmd.ErrOrStderr(), t.try)
	if err != nil {
		return err
	}
	if dir != "" {
		during(cmd.ErrOrStderr(), t.doing, func() { err = t.write(result, dir) })
		if err != nil {
			return err
		}
	}
	if !o.json {
		return t.tell(cmd.OutOrStdout(), result, filepath.Join(dir, "index.html"))
	}
	numbers, err := result.JSON()
	if err != nil {
		return err
	}
	_, err = cmd.OutOrStdout().Write(numbers)
	return err
}

// folderOf is the folder that path is, or that it stands in.
func folderOf(path string) string {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		return path
	}
	return filepath.Dir(path)
}

// tellPlans says what the plans of a study say.
func tellPlans(out io.Writer, results *report.Plans, page string) error {
	for _, one := range results.Plans {
		if err := tellDesigns(out, one, ""); err != nil {
			return err
		}
	}
	for _, left := range results.Left {
		fmt.Fprintln(out, wrap(left, "  ", widthOf(out)))
	}
	_, err := fmt.Fprintf(out, "The page: %s\n", page)
	return err
}

// tellDesigns says what the plan says, in sentences.
func tellDesigns(out io.Writer, result *report.Plan, page string) error {
	style := styleOf(out)
	var b strings.Builder
	b.WriteString(style.strong(result.Result.Question.Words) + "\n")
	for _, s := range result.Result.Sentences {
		b.WriteString(wrap(s, "  ", widthOf(out)) + "\n")
	}
	if page != "" {
		fmt.Fprintf(&b, "\nThe page: %s\n", page)
	}
	_, err := io.WriteString(out, b.String())
	return err
}

// A planned is a plan, or those of all questions of a study.
type planned interface {
	Work() (portion.Work, error)
	Part(ctx context.Context, share portion.Portion, progress study.Progress) (*portion.File, error)
}

// openEither reads what path names: a plan, or a study whose questions are planned for.
// beside is the folder that what comes of it goes into as a rule.
func openEither(stderr io.Writer, path string) (p planned, beside string, err error) {
	if plan.Names(path) {
		all, err := openPlans(stderr, path)
		return all, folderOf(path), err
	}
	one, err := openPlan(stderr, path)
	return one, folderOf(path), err
}

// partOfPlan draws one share of the campaigns.
func partOfPlan(cmd *cobra.Command, path string, share portion.Portion, out string) error {
	p, beside, err := openEither(cmd.ErrOrStderr(), path)
	if err != nil {
		return err
	}
	work, err := p.Work()
	if err != nil {
		return err
	}
	if out == "" {
		out = filepath.Join(beside, "parts")
	}
	return computePart(cmd, work, share, out, func(progress study.Progress) (*portion.File, error) {
		return p.Part(context.Background(), share, progress)
	})
}

// dividePlan lays out the campaigns of a plan; see [divider].
func dividePlan(cmd *cobra.Command, path string) (work portion.Work, results string, err error) {
	p, beside, err := openEither(cmd.ErrOrStderr(), path)
	if err != nil {
		return work, "", err
	}
	work, err = p.Work()
	return work, filepath.Join(beside, "plan"), err
}

// gatherPlan puts the shares of a plan together; see [gatherer].
func gatherPlan(cmd *cobra.Command, whole *portion.Whole, out string) error {
	if path := whole.Work.Source; plan.Names(path) {
		all, err := openPlans(cmd.ErrOrStderr(), path)
		if err != nil {
			return err
		}
		return finishPlans(cmd, all, planOptions{out: out}, func(study.Progress) (*report.Plans, error) { return all.Gather(whole) })
	}
	p, err := openPlan(cmd.ErrOrStderr(), whole.Work.Source)
	if err != nil {
		return err
	}
	return finishPlan(cmd, p, planOptions{out: out}, func(study.Progress) (*report.Plan, error) { return p.Gather(whole) })
}
