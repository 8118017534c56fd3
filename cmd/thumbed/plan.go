package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"thumbed/models/hypotheses/power"
	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/study/plan"
	"thumbed/models/study/portion"
)

func init() {
	register(newPlanCommand)
	registerGatherer("plan", finishPlan)
}

const planLong = `Says how many books, pages and placings a question needs. Campaigns of each design
are drawn by chance from what a pilot tells, or from what you assume, and each goes
through the model and the question as a real one would. Told are the power (the
share of campaigns that claim the effect), the width of the interval, how often the
test claims what is not there, and what the campaign asks of the books.

The plan is a TOML file. With a study that was measured already as the pilot:

  title = "A second campaign"
  [pilot]
  study   = "../pilot"             # study.toml or its folder
  model   = "pictures"             # spreads, books and readings are taken from it
  spreads = "as estimated"         # or "cautious": the upper end of what the pilot allows
  [question]
  words  = "Do pictures draw the hand?"   # one of the pilot's, or with contrast, direction, smallest
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
charts (index.html), figures, the table of designs and all numbers.`

const planExample = `  Plan, and look at plan/index.html:
    thumbed plan second.toml

  Share the work out among four machines, and put it together:
    thumbed plan second.toml --part 1/4 --out parts
    thumbed gather parts --out plan`

type planOptions struct {
	out, part string
	json      bool
}

func newPlanCommand() *cobra.Command {
	var o planOptions
	cmd := &cobra.Command{
		Use:     "plan PLAN.toml [--out DIR] [--json] [--part K/N]",
		Short:   "Plan a campaign: how many books, pages and placings a question needs",
		Long:    planLong,
		Example: planExample,
		Args:    exactly("PLAN.toml, a plan file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if cmd.Flags().Changed("out") && o.out == "" {
				return usagef("--out needs the name of a folder")
			}
			if !cmd.Flags().Changed("part") {
				return runPlan(cmd, args[0], o)
			}
			share, err := portion.Parse(o.part)
			if err != nil {
				return usagef("--part: %v", err)
			}
			if o.out == "" || o.json {
				return usagef("--part goes with --out, the folder or file for the part, and without --json")
			}
			return partOfPlan(cmd, args[0], share, o.out)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&o.out, "out", "", "`DIR` for what comes of it (default: plan, beside the plan file); of a part, a folder or file")
	flags.BoolVar(&o.json, "json", false, "print all numbers as one JSON object; a folder is written only where --out names it")
	flags.StringVar(&o.part, "part", "", "`K/N`: do the K-th of N shares of the work; thumbed gather puts them together")
	return cmd
}

// openPlan reads a plan with all that it names.
func openPlan(stderr io.Writer, path string) (p *plan.Plan, err error) {
	during(stderr, "reading the plan and its pilot", func() { p, err = plan.Open(path) })
	return p, err
}

func runPlan(cmd *cobra.Command, path string, o planOptions) error {
	p, err := openPlan(cmd.ErrOrStderr(), path)
	if err != nil {
		return err
	}
	dir := planFolder(p, o)
	if dir != "" {
		if err := study.CheckFolder(dir); err != nil {
			return err
		}
	}
	campaigns, err := drawCampaigns(cmd.ErrOrStderr(), p, portion.Portion{})
	if err != nil {
		return err
	}
	return tellPlan(cmd, p, campaigns, dir, o.json)
}

// planFolder is where the plan's page goes; empty where only JSON is asked for.
func planFolder(p *plan.Plan, o planOptions) string {
	if o.out != "" || o.json {
		return o.out
	}
	return filepath.Join(filepath.Dir(p.Path), "plan")
}

// drawCampaigns draws with progress, and stops at once where it is told to.
func drawCampaigns(stderr io.Writer, p *plan.Plan, share portion.Portion) ([]power.Campaign, error) {
	ctx, release := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer release()
	bar := newProgress(stderr)
	defer bar.end()
	campaigns, err := p.Campaigns(ctx, share, func(done, total int) { bar.tell(done, total, "campaigns") })
	if errors.Is(err, context.Canceled) {
		return nil, errors.New("stopped before the end; nothing was written")
	}
	return campaigns, err
}

// tellPlan puts the campaigns together, writes the folder and says what the plan
// says.
func tellPlan(cmd *cobra.Command, p *plan.Plan, campaigns []power.Campaign, dir string, asJSON bool) error {
	result, err := p.Result(campaigns)
	if err != nil {
		return err
	}
	if dir != "" {
		during(cmd.ErrOrStderr(), "writing the page", func() { err = p.Write(result, dir) })
		if err != nil {
			return err
		}
	}
	if asJSON {
		numbers, err := result.JSON()
		if err != nil {
			return err
		}
		_, err = cmd.OutOrStdout().Write(numbers)
		return err
	}
	return tellDesigns(cmd.OutOrStdout(), result, filepath.Join(dir, "index.html"))
}

// tellDesigns says what the plan says, in sentences.
func tellDesigns(out io.Writer, result *report.Plan, page string) error {
	style := styleOf(out)
	var b strings.Builder
	b.WriteString(style.strong(result.Result.Question.Words) + "\n")
	for _, s := range result.Result.Sentences {
		b.WriteString(wrap(s, "  ", widthOf(out)) + "\n")
	}
	fmt.Fprintf(&b, "\nThe page: %s\n", page)
	_, err := io.WriteString(out, b.String())
	return err
}

// partOfPlan draws one share of the campaigns into a file.
func partOfPlan(cmd *cobra.Command, path string, share portion.Portion, out string) error {
	p, err := openPlan(cmd.ErrOrStderr(), path)
	if err != nil {
		return err
	}
	work, err := p.Work()
	if err != nil {
		return err
	}
	if filepath.Ext(out) != ".json" {
		out = filepath.Join(out, share.Name())
	}
	done, err := portion.Done(out, work, share)
	if err != nil {
		return err
	}
	if !done {
		campaigns, err := drawCampaigns(cmd.ErrOrStderr(), p, share)
		if err != nil {
			return err
		}
		file, err := portion.New(work, share, study.ThisBuild().Processor, campaigns)
		if err != nil {
			return err
		}
		if err := file.Write(out); err != nil {
			return err
		}
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "Part %s: %s\n", share, out)
	return err
}

// finishPlan puts the parts of a plan together; see [gatherer].
func finishPlan(cmd *cobra.Command, whole *portion.Whole, out string) error {
	p, err := openPlan(cmd.ErrOrStderr(), whole.Work.Source)
	if err != nil {
		return err
	}
	work, err := p.Work()
	if err != nil {
		return err
	}
	if !work.Same(whole.Work) {
		return fmt.Errorf("%s, or the pilot that it names, is no longer what the parts were drawn by: put it back, or draw all parts again", whole.Work.Source)
	}
	campaigns, err := portion.Decode[power.Campaign](whole)
	if err != nil {
		return err
	}
	return tellPlan(cmd, p, campaigns, planFolder(p, planOptions{out: out}), false)
}
